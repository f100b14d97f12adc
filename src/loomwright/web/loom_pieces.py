"""Pieces of the loom page that are the same for every reader of a rig, as markup, made once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from loomwright.facts import colours
from loomwright.findings.model import Finding
from loomwright.jobs.spools import OnTheShelf
from loomwright.loom.disconnects import wire_side
from loomwright.loom.results import LoomWire
from loomwright.web.service import Opened
from loomwright.web.units import Units
from loomwright.web.view import TEMPLATES, written
from loomwright.web.work.looms import CutOut, Harnessed

At = Mapping[str, tuple[Finding, ...]]


@dataclass(frozen=True, slots=True)
class Around:
    """What the pieces of one page share: the findings at each place, their numbers, where the rig's pages begin."""

    at: At
    number_of: Mapping[Finding, int]
    url: str
    units: Units


def sections(opened: Opened, harness: Harnessed, around: Around) -> dict[str, Markup]:
    """Bundles, disconnects and the ring-out."""

    def make(_: object) -> dict[str, Markup]:
        a = around
        return {
            "bundles": _macro("bundles", harness, a.at, a.number_of, a.url, a.units),
            "disconnects": _macro("disconnects", harness.loom, a.at, a.number_of, a.url),
            "ring_out": _macro("ring_out", harness.loom.ring_out),
        }

    made: dict[str, Markup] = _kept(opened, "loom", around, make)
    return made


def cutting(opened: Opened, cut: CutOut, harness: Harnessed, shelf: OnTheShelf, around: Around) -> Markup:
    """Cutting plan and shopping list."""
    name = f"cutting {hash(shelf)}"
    made: Markup = _kept(
        opened, name, around, lambda _: _macro("cutting", cut, harness, shelf.aside, around.units)
    )
    return made


def rows(opened: Opened, wires: tuple[LoomWire, ...], chosen: str, around: Around) -> dict[str, Markup]:
    """The row of each wire in the list, by its number."""

    def row(w: LoomWire, lit: bool = False) -> Markup:
        return _macro("row", w, around.at.get(w.id), around.number_of, around.url, around.units, lit)

    made: dict[str, Markup] = _kept(opened, "wires", around, lambda _: {w.id: row(w) for w in wires})
    picked = next((w for w in wires if w.id == chosen), None)
    return made if picked is None else {**made, picked.id: row(picked, True)}


def _kept(opened: Opened, name: str, around: Around, make: Any) -> Any:
    return opened.worked.once(f"{name} {around.url} {around.units}", make)


def _macro(name: str, *given: object) -> Markup:
    return written("loom_parts.html", name, *given)


TEMPLATES.globals.update(colour_words=colours.words, wire_side=wire_side)
