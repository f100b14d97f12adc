"""The sheets that a build step is looked at on: those of the wiring diagram, as they stand in the pack."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256

from loomwright.drawing import svg
from loomwright.drawing.marks import Group, Mark
from loomwright.drawing.sheets import diagrams
from loomwright.steps.results import Look
from loomwright.study import Study

MOST = 4
"""Sheets that a step is shown on; what is on none of them is found by its sheet and zone."""


@dataclass(frozen=True, slots=True)
class Shown:
    """One sheet as an ``svg`` element in the page's colours, its number, and the wires and items on it."""

    id: str
    words: str
    svg: str
    wires: frozenset[str]
    items: frozenset[str]

    @property
    def mark(self) -> str:
        """Changes with the drawing: a sheet that was fetched once under it holds for ever."""
        return sha256(self.svg.encode()).hexdigest()[:16]


def drawn(study: Study) -> tuple[Shown, ...]:
    """The sheets of the wiring diagram with the numbers they have in the pack; empty where there is nothing to draw."""
    out = []
    for number, sheet in enumerate(diagrams(study), 1):
        if sheet.id.startswith("wiring"):
            found = list(_refs(sheet.drawing.marks))
            out.append(Shown(
                sheet.id, f"Sheet {number}", svg.render(sheet.drawing, css_colours=True).partition("\n")[2],
                frozenset(ref for kind, ref in found if kind == "wire"),
                frozenset(ref for kind, ref in found if kind == "item"),
            ))  # fmt: skip
    return tuple(out)


def to_show(shown: Sequence[Shown], look: Look | None) -> tuple[Shown, ...]:
    """The fewest sheets that show what a step is about, as far as a simple choice finds them; most of it first."""
    if look is None:
        return ()
    left = {("wire", w) for w in look.wires} or {("item", i) for i in look.items}
    out: list[Shown] = []
    while left and len(out) < MOST:
        best = max(shown, key=lambda s: len(left & _on(s)), default=None)
        if best is None or not left & _on(best):
            break
        left -= _on(best)
        out.append(best)
    return tuple(out)


def _on(sheet: Shown) -> set[tuple[str, str]]:
    return {("wire", w) for w in sheet.wires} | {("item", i) for i in sheet.items}


def _refs(marks: Iterable[Mark]) -> Iterator[tuple[str, str]]:
    for mark in marks:
        if isinstance(mark, Group):
            if mark.kind in ("wire", "item") and mark.ref:
                yield mark.kind, mark.ref
            yield from _refs(mark.marks)
