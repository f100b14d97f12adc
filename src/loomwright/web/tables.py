"""Rows of the rig page: items and wires of the text, with the figures of the study where there is one."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import get_args

from loomwright.facts import conductors, fuses
from loomwright.power.columns import figures
from loomwright.rig.model import FuseSpec, Kind, Part, Rig, Wire
from loomwright.rig.once import once
from loomwright.study import Study
from loomwright.web import catalogues
from loomwright.web.draft import Draft, DraftItem, DraftWire
from loomwright.web.units import Units, figure

MOST_FOUND = 24


@dataclass(frozen=True, slots=True)
class WireRow:
    """One wire: as written, as settled, and its worst state over the cases that it must stand for ever."""

    id: str
    start: str
    end: str
    kind: str
    size: str
    length_mm: float | None
    most_a: float | None = None
    hottest_c: float | None = None
    limit_c: float | None = None
    drop_mv: float | None = None

    @property
    def too_hot(self) -> bool:
        return self.hottest_c is not None and self.limit_c is not None and self.hottest_c > self.limit_c


@dataclass(frozen=True, slots=True)
class WireCells:
    """A wire's row as it is read: in the reader's units, and no finer than shown."""

    id: str
    start: str
    end: str
    size: str
    length: str
    most: str
    hottest: str
    limit: str
    drop: str
    too_hot: bool


@dataclass(frozen=True, slots=True)
class ItemRow:
    """One item of the text."""

    id: str
    title: str
    family: str
    place: str
    fuses_a: tuple[str, ...]
    wires: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlaceRow:
    """One place of the text. ``temperature_c`` is None where the rig's own air counts."""

    id: str
    temperature_c: float | None
    comes_off: bool
    engine_space: bool
    wet: bool
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PanelRow:
    """One panel of the text."""

    id: str
    place: str
    space_mm: float | None
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RunRow:
    """One run of the text, with the wires that follow it where the study has settled them."""

    key: str
    between: tuple[str, ...]
    length_mm: float | None
    hazards: tuple[str, ...]
    cover: tuple[str, ...]
    wires: tuple[str, ...]


def places(draft: Draft) -> tuple[PlaceRow, ...]:
    """Every place, in the order of the file."""
    rows = []
    for name in draft.places:
        table = draft.table("place", name)
        flags = [table.get(k) is True for k in ("comes_off", "engine_space", "wet")]
        inside = tuple(i.id for i in draft.items if i.place == name)
        rows.append(PlaceRow(name, _figure(table.get("temperature_c")), flags[0], flags[1], flags[2], inside))
    return tuple(rows)


def panels(draft: Draft) -> tuple[PanelRow, ...]:
    """Every panel, in the order of the file."""
    found = draft.raw.get("panel", {})
    rows = []
    for name in found if isinstance(found, dict) else ():
        table = draft.table("panel", name)
        on = tuple(i.id for i in draft.items if draft.table("item", i.id).get("panel") == name)
        rows.append(PanelRow(name, str(table.get("place", "")), _figure(table.get("space_mm")), on))
    return tuple(rows)


def runs(draft: Draft, study: Study | None) -> tuple[RunRow, ...]:
    """Every run, in the order of the file."""
    along: dict[int, list[str]] = {}
    for wire in study.rig.wires if study is not None else ():
        for number in wire.route:
            along.setdefault(number, []).append(wire.id)
    return tuple(
        RunRow(
            r.key, r.between, _figure(r.table.get("length_mm")), _words(r.table.get("hazards")),
            _words(r.table.get("cover")), tuple(along.get(n, ())),
        )
        for n, r in enumerate(draft.runs)
    )  # fmt: skip


def _figure(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def _words(value: object) -> tuple[str, ...]:
    return tuple(map(str, value)) if isinstance(value, list) else ()


def items(draft: Draft) -> tuple[ItemRow, ...]:
    """Every item, in the order of the file."""
    ends = draft.ends
    return tuple(
        ItemRow(
            i.id, i.part.title if i.part else f"{i.part_id}: not in the catalogue", i.part.family if i.part else "",
            i.place, i.fuses_a, tuple(w.id for w in ends.get(i.id, ())),
        )
        for i in draft.items
    )  # fmt: skip


def wires(draft: Draft, study: Study | None) -> tuple[WireRow, ...]:
    """Every wire, in the order of the file."""
    settled = {w.id: w for w in study.rig.wires} if study is not None else {}
    return tuple(_row(w, settled.get(w.id), study) for w in draft.wires)


def by_kind(
    rows: Sequence[WireRow], rig: Rig | None, units: Units
) -> tuple[tuple[str, tuple[WireCells, ...]], ...]:
    """The wires of each kind that the rig has; those whose kind is not known yet come last, without a name."""
    kinds = {w.id: w.kind for w in rig.wires} if rig is not None else {}
    groups = {kind: [r for r in rows if kinds.get(r.id, "") == kind] for kind in (*get_args(Kind), "")}
    return tuple((kind, tuple(_cells(r, units) for r in some)) for kind, some in groups.items() if some)


def _cells(r: WireRow, units: Units) -> WireCells:
    return WireCells(
        r.id, r.start, r.end, units.size(r.size), units.mm(r.length_mm), figure(r.most_a, 1),
        units.celsius(r.hottest_c), units.celsius(r.limit_c), figure(r.drop_mv, 0), r.too_hot,
    )  # fmt: skip


def _row(w: DraftWire, settled: Wire | None, study: Study | None) -> WireRow:
    if settled is None or study is None:
        return WireRow(w.id, w.start, w.end, "", w.size, float(w.length_mm) if _is_number(w.length_mm) else None)
    size = settled.size.label if settled.size else "open"
    if w.size == "auto":
        size += " (auto)"
    bolted = settled.size is not None and settled.size.system == "bolted"
    length = None if bolted else settled.length_mm
    worst = worst_states(study).get(w.id)
    if worst is None:
        return WireRow(w.id, w.start, w.end, settled.kind, size, length)
    return WireRow(
        w.id, w.start, w.end, settled.kind, size, length, worst.most_a, None if bolted else worst.hottest_c,
        None if bolted else worst.limit_c, worst.drop_mv,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Worst:
    """The worst of a wire over the cases that it must stand for ever, each figure in the case that is worst for it."""

    most_a: float
    drop_mv: float
    hottest_c: float
    limit_c: float


_NONE = Worst(0.0, 0.0, -math.inf, -math.inf)


@once
def worst_states(study: Study) -> Mapping[str, Worst]:
    """The worst of every wire that carries supply current."""
    found: dict[str, Worst] = {}
    for states in [c.wires for k, c in study.power.cases.items() if k[1] != "sine"]:
        amps, drop = figures(states, "amps_a"), figures(states, "drop_mv")
        hot, limit = figures(states, "temperature_c"), figures(states, "limit_c")
        for name in amps:
            old = found.get(name, _NONE)
            hottest_c, limit_c = max((old.hottest_c, old.limit_c), (hot[name], limit[name]))
            found[name] = Worst(
                max(old.most_a, abs(amps[name])), max(old.drop_mv, abs(drop[name])), hottest_c, limit_c
            )
    return found


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


@cache
def sizes() -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Conductor sizes on offer, by system."""
    names = {"AWG": "AWG (ASTM B258)", "SAE": "SAE, thinner", "mm2": "Metric"}
    return tuple((title, tuple(s.label for s in conductors.sizes(system))) for system, title in names.items())


@cache
def ratings(item: DraftItem) -> tuple[str, ...]:
    """Fuses that a holder takes."""
    if item.part is None or not isinstance(item.part.spec, FuseSpec):
        return ()
    spec = item.part.spec
    return tuple(f"{r:g}" for r in fuses.ratings_a(spec.type) if r <= spec.max_rating_a)


def ways(item: DraftItem) -> int:
    """How many fuses the rig file gives for an item."""
    if item.part is None or item.part.family not in ("fuse_holder", "fused_block"):
        return 0
    return max(item.part.ways, 1)


def find_parts(words: str, own: str = "") -> tuple[Part, ...]:
    """Parts of the catalogue, the shop's own among them, that hold every word and can be placed in a rig."""
    return tuple(p for p in catalogues.search(own, words) if p.terminals)
