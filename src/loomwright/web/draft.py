"""A rig's text as far as it goes: items and wires of a file that may still be unfinished.

The tables and pickers of the rig page read this, so that a rig can be built from nothing: an amplifier stands in the
table before its feed does.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any, Literal

import tomlkit

from loomwright.errors import InputError, LoomwrightError, Problem
from loomwright.rig.catalogue import Catalogue, builtin
from loomwright.rig.joins import PASS_REMOTE, Link, group_of, settle_kinds
from loomwright.rig.model import Item, Kind, Part, Terminal
from loomwright.rig.read import tables
from loomwright.rig.report import Report

_IN_USE_CHARS = 200_000
_NUMBERED = re.compile(r"(wire|run)\[\d+\]")


@dataclass(frozen=True, slots=True)
class DraftItem:
    """One item of the text. ``part`` is None where the catalogue has none of that name."""

    id: str
    part_id: str
    part: Part | None
    place: str
    fuses_a: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DraftWire:
    """One wire of the text, its values as written; empty where the file leaves them out."""

    id: str
    start: str
    end: str
    size: str
    length_mm: str
    metal: str
    insulation_c: str
    cover: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DraftRun:
    """One run of the text: its two places, and its table as written."""

    between: tuple[str, ...]
    table: Mapping[str, Any]

    @property
    def key(self) -> str:
        """The run's name in an address; an id has no full stop."""
        return ".".join(self.between)


@dataclass(frozen=True, slots=True)
class Draft:
    """What the text holds."""

    title: str
    places: tuple[str, ...]
    items: tuple[DraftItem, ...]
    wires: tuple[DraftWire, ...]
    runs: tuple[DraftRun, ...] = ()
    raw: Mapping[str, Any] = field(default_factory=dict)

    def item(self, item_id: str) -> DraftItem | None:
        return next((i for i in self.items if i.id == item_id), None)

    def wire(self, wire_id: str) -> DraftWire | None:
        return next((w for w in self.wires if w.id == wire_id), None)

    def run(self, key: str) -> DraftRun | None:
        """The run that a key such as ``seat.left_case`` names, either way round."""
        return next((r for r in self.runs if sorted(r.between) == sorted(key.split("."))), None)

    def table(self, kind: str, name: str) -> Mapping[str, Any]:
        """The table of a place, an item or a wire as written; empty where there is none."""
        if kind == "wire":
            return next((w for w in _list(self.raw, "wire") if w.get("id") == name), {})
        found = _table(self.raw, kind).get(name, {})
        return found if isinstance(found, Mapping) else {}

    def at(self, item_id: str) -> tuple[DraftWire, ...]:
        """The wires that end on an item."""
        return tuple(self.ends.get(item_id, ()))

    @property
    def ends(self) -> dict[str, list[DraftWire]]:
        """The wires that end on each item, once each."""
        found: dict[str, list[DraftWire]] = {}
        for w in self.wires:
            for item_id in {w.start.partition(".")[0], w.end.partition(".")[0]}:
                found.setdefault(item_id, []).append(w)
        return found


def read(text: str, catalogue: Catalogue | None = None) -> Draft:
    """What the text holds; an empty draft where it is not TOML. Texts in use are read once."""
    parts = catalogue or builtin()
    return _read(text) if parts is builtin() and len(text) <= _IN_USE_CHARS else _made(text, parts)


@lru_cache(maxsize=32)
def _read(text: str) -> Draft:
    return _made(text, builtin())


def _made(text: str, parts: Catalogue) -> Draft:
    try:
        data = tables(text)
    except ValueError:
        return Draft("", (), (), ())
    return Draft(
        title=str(data.get("title", "")),
        places=tuple(_table(data, "place")),
        items=tuple(_item(k, v, parts) for k, v in _table(data, "item").items() if isinstance(v, Mapping)),
        wires=tuple(_wire(w) for w in _list(data, "wire")),
        runs=tuple(DraftRun(tuple(_texts(r.get("between"))), r) for r in _list(data, "run")),
        raw=data,
    )


def _table(data: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    found = data.get(name, {})
    return found if isinstance(found, Mapping) else {}


def _list(data: Mapping[str, Any], name: str) -> list[Mapping[str, Any]]:
    found = data.get(name, [])
    return [t for t in found if isinstance(t, Mapping)] if isinstance(found, list) else []


def _item(item_id: str, table: Mapping[str, Any], catalogue: Catalogue) -> DraftItem:
    part_id = str(table.get("part", ""))
    part = None
    if part_id in catalogue.tables:
        try:
            part = catalogue.part(part_id)
        except LoomwrightError:
            part = None
    return DraftItem(item_id, part_id, part, str(table.get("place", "")), tuple(_texts(table.get("fuses_a"))))


def _wire(table: Mapping[str, Any]) -> DraftWire:
    def word(key: str) -> str:
        value = table.get(key, "")
        return f"{value:g}" if isinstance(value, float) else str(value)

    return DraftWire(
        id=word("id"), start=word("from"), end=word("to"), size=word("size"), length_mm=word("length_mm"),
        metal=word("metal"), insulation_c=word("insulation_c"), cover=tuple(_texts(table.get("cover"))),
    )  # fmt: skip


def _texts(value: Any) -> Iterable[str]:
    return [f"{v:g}" if isinstance(v, float) else str(v) for v in value] if isinstance(value, list) else []


def unfinished(problem: Problem) -> bool:
    """True for what is only still to be done: a wire that an item waits for, a battery that is not there yet."""
    place = problem.place
    return place == "item" or (
        place.startswith("item.") and place.count(".") == 1 and not problem.expected.startswith("an id")
    )


def check(before: Iterable[Problem], after: Iterable[Problem]) -> None:
    """Refuse an edit that is unsound itself, by the problems of the text before and after it.

    What was wrong before, and what is only unfinished, does not stand in its way.

    Raises
    ------
    InputError
        With the problems that the edit brought.
    """
    known = {_same(p) for p in before}
    new = [p for p in after if not unfinished(p) and _same(p) not in known]
    if new:
        raise InputError(new)


def _same(problem: Problem) -> Problem:
    """The problem without the number of the wire or run in the file, which moves as these come and go."""
    return replace(problem, place=_NUMBERED.sub(r"\1", problem.place))


def fitting(draft: Draft, start: str) -> dict[str, Kind]:
    """The terminals that a wire from ``start`` may end on, each with the kind of wire it would be.

    The kinds join, and both ends have room left.
    """
    every = terminals(draft)
    items = parts_of(draft)
    known = {f"{i.id}.{t.name}": t for i, t in every}
    links = links_of(draft, known)
    count = Counter(ref for link in links for ref in (link.start, link.end))
    if start not in known or count[start] >= known[start].max_wires:
        return {}
    before, _ = _settled(items, links)
    found: dict[object, Kind | None] = {}
    out: dict[str, Kind] = {}
    for end, terminal in known.items():
        if end.partition(".")[0] == start.partition(".")[0] or count[end] >= terminal.max_wires:
            continue
        alike = _alike(items, end, terminal.kind, count)
        if alike not in found:
            complaints, kinds = _settled(items, [*links, Link("new wire", "new wire", start, end)])
            found[alike] = kinds["new wire"] if complaints <= before else None
        kind = found[alike]
        if kind is not None:
            out[end] = kind
    return out


def _alike(items: Mapping[str, Item], ref: str, kind: Kind, count: Counter[str | None]) -> object:
    """What ends have in common that may be joined to the same ends."""
    item_id, _, name = ref.partition(".")
    family = items[item_id].part.family
    group = group_of(items, ref)
    if group is None:
        return kind, family in PASS_REMOTE, name == "remote_out", family == "relay" and name in ("85", "86")
    others = (f"{item_id}.{t.name}" for t in items[item_id].part.terminals)
    return group if any(count[r] for r in others if group_of(items, r) == group) else "nothing on it"


def _settled(items: Mapping[str, Item], links: list[Link]) -> tuple[int, dict[str, Kind]]:
    report = Report("")
    _, kinds = settle_kinds(items, links, report)
    return len(report.problems), kinds


def parts_of(draft: Draft) -> dict[str, Item]:
    """The items that the catalogue has a part for, with their fuses as written."""
    return {i.id: Item(i.id, i.part, i.place, _fuses(i.fuses_a)) for i in draft.items if i.part is not None}


def links_of(draft: Draft, known: Iterable[str]) -> list[Link]:
    """The wires with two different ends that are known, the first of each number."""
    refs = set(known)
    found = {w.id: w for w in reversed(draft.wires) if w.id and w.start != w.end and {w.start, w.end} <= refs}
    return [Link(w.id, w.id, w.start, w.end) for w in draft.wires if found.get(w.id) is w]


def _fuses(written: Iterable[str]) -> tuple[float | Literal["auto"], ...]:
    out: list[float | Literal["auto"]] = []
    for text in written:
        try:
            out.append("auto" if text == "auto" else float(text))
        except ValueError:
            out.append(0.0)
    return tuple(out)


def terminals(draft: Draft) -> tuple[tuple[DraftItem, Terminal], ...]:
    """Every terminal of the draft, with its item."""
    return tuple((i, t) for i in draft.items if i.part is not None for t in i.part.terminals)


def next_id(taken: Iterable[str], stem: str) -> str:
    """The first free id of a stem: ``P1``, ``P2``.."""
    used = set(taken)
    return next(f"{stem}{n}" for n in range(1, len(used) + 2) if f"{stem}{n}" not in used)


def empty_rig(title: str, stage: str) -> str:
    """A rig with a title and one place, to build in."""
    document = tomlkit.document()
    for key, value in (("format", 1), ("title", title), ("stage", stage), ("ambient_c", 35)):
        document[key] = value
    return tomlkit.dumps(document) + "\n[place.seat]\n"
