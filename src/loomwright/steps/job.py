"""What the builders of steps work from: the study of one rig, and what of it is on the vehicle already."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from loomwright.loom.results import LoomResult, LoomWire
from loomwright.protection.graph import is_bolted
from loomwright.rig.model import Item, Kind, Rig, Wire
from loomwright.steps.results import Look, Step
from loomwright.steps.times import duration
from loomwright.study import Study

CLASSES: dict[Kind, str] = {
    "power": "power", "ground": "power", "remote": "signal", "line": "signal", "speaker": "speaker",
}  # fmt: skip
IN_LOOM = ("connector", "splice")
"""Families that belong to the harness and lie on the bench with it."""


@dataclass(frozen=True)
class Job:
    """One build. ``as_found`` is the rig on the vehicle before the work; None where there is none."""

    study: Study
    as_found: Rig | None = None

    @property
    def rig(self) -> Rig:
        """The rig that is built, sizes settled."""
        return self.study.rig

    @property
    def loom(self) -> LoomResult:
        """Its loom."""
        return self.study.loom

    @cached_property
    def kept_items(self) -> frozenset[str]:
        """Items that are there already: the same id, part and place."""
        if self.as_found is None:
            return frozenset()
        old = self.as_found.items
        return frozenset(
            i.id for i in self.rig.items.values()
            if i.id in old and old[i.id].part.id == i.part.id and old[i.id].place == i.place
        )  # fmt: skip

    @cached_property
    def kept_wires(self) -> frozenset[str]:
        """Wires that are there already: the same id, ends, size, metal and length, between items that stay."""
        if self.as_found is None:
            return frozenset()
        old = {w.id: w for w in self.as_found.wires}
        stay = self.kept_items
        return frozenset(
            w.id for w in self.study.given.wires
            if w.id in old and not is_bolted(w) and _alike(w, old[w.id])
            and {w.start.partition(".")[0], w.end.partition(".")[0]} <= stay
        )  # fmt: skip

    @cached_property
    def made(self) -> tuple[LoomWire, ...]:
        """The wires that are made and laid."""
        return tuple(w for w in self.loom.wires if w.id not in self.kept_wires)

    @cached_property
    def order(self) -> dict[str, int]:
        """Wire id -> its place in the rig."""
        return {w.id: n for n, w in enumerate(self.rig.wires)}

    def place_of(self, ref: str) -> str:
        """The place of the item behind ``item.terminal``."""
        return self.rig.item_of(ref).place

    def end_places(self, wire: LoomWire | Wire) -> tuple[str, str]:
        """Places of the two ends, sorted. The frame is everywhere: it counts as the place of the other end."""
        a, b = self.rig.item_of(wire.start), self.rig.item_of(wire.end)
        first = b.place if a.part.family == "frame" else a.place
        second = first if b.part.family == "frame" else b.place
        return (min(first, second), max(first, second))

    def run_key(self, run: int) -> str:
        """Name of a run (from 1) that stays when other runs come or go: its places. No two runs join the same two."""
        return "~".join(sorted(self.rig.runs[run - 1].between))

    def way_key(self, wire: LoomWire) -> str:
        """Name of the way that a wire takes: its runs, or the places of its ends where it takes none."""
        if not wire.runs:
            return "at " + "~".join(dict.fromkeys(self.end_places(wire)))
        there = [self.run_key(k) for k in wire.runs]
        return ">".join(min(there, there[::-1]))


def _alike(a: Wire, b: Wire) -> bool:
    return (
        {a.start, a.end} == {b.start, b.end}
        and a.metal == b.metal
        and (a.size and a.size.label) == (b.size and b.size.label)
        and abs(a.length_mm - b.length_mm) < 0.5
    )


@dataclass
class Notes:
    """Steps as they are written down, and which of them later ones wait for."""

    steps: list[Step] = field(default_factory=list)

    def of(self, *phases: str) -> list[str]:
        """Ids of the steps of some phases, so far."""
        return [s.id for s in self.steps if s.phase in phases]

    def has(self, step_id: str) -> bool:
        """Whether there is a step of that id."""
        return any(s.id == step_id for s in self.steps)


def blank(step_id: str, phase: str, title: str, text: Sequence[str]) -> Step:
    """A step with nothing but its words; the builders fill in the rest."""
    return Step(
        id=step_id, number=0, phase=phase, title=title, text=tuple(text), after=(), wires=(), items=(),  # type: ignore[arg-type]
        joints=(), runs=(), makes=(), routes=(), tools=(), consumables=(), torques=(), cautions=(),
        time=duration(), measures=(), gate="", energises=False, look=None,
    )  # fmt: skip


def look_at(job: Job, wires: Iterable[str] = (), items: Iterable[str] = ()) -> Look | None:
    """What to look at: the view that shows most of these wires; without wires, the power view."""
    wires, items = tuple(wires), tuple(i for i in items if i in job.rig.items)
    if not wires and not items:
        return None
    kinds = [job.rig.wire(w).kind for w in wires]
    signals = sum(k not in ("power", "ground") for k in kinds)
    shows = "signals" if kinds and signals * 2 > len(kinds) else "power"
    return Look("signals" if shows == "signals" else "power", wires, items)


def listed(names: Iterable[str]) -> str:
    """Names in a row."""
    return ", ".join(names)


def counted(number: int, noun: str) -> str:
    """``1 wire``, ``2 wires``."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def of_family(items: Iterable[Item], *families: str) -> list[Item]:
    """Items of some families, in the order given."""
    return [i for i in items if i.part.family in families]
