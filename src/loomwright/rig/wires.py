"""Wires from their tables: ends, sizes, joints, ways and lengths."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from loomwright.errors import UnknownName
from loomwright.facts import colours, conductors, harness, joints
from loomwright.rig import sizes
from loomwright.rig.items import terminal_names
from loomwright.rig.joins import Link, crowded, settle_kinds, zero_loops
from loomwright.rig.keys import WireKeys
from loomwright.rig.model import Item, Kind, Place, Wire, WireSize
from loomwright.rig.report import Report
from loomwright.rig.routes import LEAD_MM, Routes, Way
from loomwright.rig.words import ID_RULE, bad_id, nearest, show, some

MAX_LENGTH_MM = 50_000.0


@dataclass
class Row:
    """One wire as read: its raw table, its keys where they hold, its ends where they are known."""

    place: str
    id: str
    raw: Mapping[str, object]
    keys: WireKeys | None
    link: Link


@dataclass
class Ends:
    """Which items there are, and which were named in an end that could not be resolved."""

    items: Mapping[str, Item]
    broken: frozenset[str]                     # items in the file that cannot be used
    doubtful: set[str] = field(default_factory=set)
    lost: bool = False                         # an end that may belong anywhere

    def resolve(self, place: str, value: object, report: Report) -> str | None:
        """``item.terminal`` where both exist; else None, with the problem in the report."""
        if not isinstance(value, str):
            self.lost = True
            return None
        item_id, dot, name = value.partition(".")
        if any(value == b or value.startswith(f"{b}.") for b in self.broken):
            return None
        if item_id not in self.items or not dot:
            self._lost(place, value, item_id, report)
            return None
        names = terminal_names(self.items, item_id)
        if name not in names:
            self.doubtful.add(item_id)
            near = nearest(name, names)
            remedy = f'Did you mean "{item_id}.{near}"?' if near else "Use one of its terminals."
            if self.items[item_id].part.family == "connector" and name[:1] in ("a", "b") and name[1:].isdigit():
                remedy = f"It has {len(names) // 2} contacts: use a free one, or a connector with more."
            report.add(place, f"a terminal of {item_id}: {some(names, 30)}", show(value), remedy)
            return None
        return value

    def _lost(self, place: str, value: str, item_id: str, report: Report) -> None:
        known = [*self.items, *self.broken]
        near = nearest(item_id, known)
        if item_id in self.items:
            near = item_id
            remedy = f"Name one of its terminals: {some(terminal_names(self.items, item_id), 30)}."
        else:
            remedy = f'Did you mean "{near}"?' if near else f"Use one of the items: {some(sorted(known))}."
        report.add(place, "a terminal, written item.terminal", show(value), remedy)
        if near is None:
            self.lost = True
        else:
            self.doubtful.add(near)


def read_rows(raw: Sequence[object], checked: Sequence[WireKeys | None], ends: Ends, report: Report) -> list[Row]:
    """Ids and ends of every wire, those with other mistakes included."""
    rows: list[Row] = []
    seen: dict[str, str] = {}
    for table, keys, place in zip(raw, checked, wire_places(raw), strict=True):
        if not isinstance(table, dict):
            ends.lost = True
            continue
        wire_id = table.get("id") if isinstance(table.get("id"), str) else ""
        assert isinstance(wire_id, str)
        if wire_id:
            if reason := bad_id(wire_id):
                report.add(f"{place}.id", f"an id: {ID_RULE}", reason, "Renumber the wire.")
            if wire_id in seen:
                report.add(
                    f"{place}.id", "a number that no other wire has", f"{show(wire_id)}, also {seen[wire_id]}",
                    "Renumber one of the two.",
                )  # fmt: skip
            if wire_id in ends.items or wire_id in ends.broken:
                report.add(
                    f"{place}.id", "a number that no item has", f"{show(wire_id)}, also an item", "Renumber the wire."
                )
            seen.setdefault(wire_id, place)
        start = ends.resolve(f"{place}.from", table.get("from"), report)
        end = ends.resolve(f"{place}.to", table.get("to"), report)
        if start is not None and start == end:
            report.add(f"{place}.to", "another terminal than the one it starts at", show(end), "Correct one end.")
        link = Link(place, wire_id or place, start, end, bolted=str(table.get("size")).strip().lower() == "bolted")
        rows.append(Row(place, wire_id, table, keys, link))
    return rows


def wire_places(raw: Sequence[object]) -> list[str]:
    """What each wire is called in messages: ``wire[3] (P3)``, counted from 1."""
    places = []
    for n, table in enumerate(raw, 1):
        wire_id = table.get("id") if isinstance(table, dict) else None
        places.append(f"wire[{n}] ({_label(wire_id)})" if isinstance(wire_id, str) and wire_id else f"wire[{n}]")
    return places


def _label(wire_id: str) -> str:
    return show(wire_id)[1:-1]


def check_joins(rows: Sequence[Row], ends: Ends, report: Report) -> tuple[dict[str, Item], dict[str, Kind]]:
    """Kinds settled; unlike kinds, crowded terminals and bolted loops reported."""
    links = [r.link for r in rows if r.link.start is None or r.link.start != r.link.end]
    settled = settle_kinds(ends.items, links, report)
    crowded(ends.items, links, report)
    zero_loops(links, report)
    return settled


def in_turn(
    kinds: Sequence[Kind | None], make: Callable[[int, frozenset[int]], Wire | None]
) -> list[Wire | None]:
    """Every wire, in the order of the file. ``make`` makes one by its number, with the runs it is to keep out of.

    Feeds and returns go first, so that line leads can keep out of their runs where there is another way.
    """
    made: dict[int, Wire | None] = {}
    feeds: set[int] = set()
    for k in sorted(range(len(kinds)), key=lambda k: (kinds[k] == "line", k)):
        wire = made[k] = make(k, frozenset(feeds) if kinds[k] == "line" else frozenset())
        if wire is not None and kinds[k] in ("power", "ground"):
            feeds.update(wire.route)
    return [made[k] for k in range(len(kinds))]


@dataclass(frozen=True, slots=True)
class Ways:
    """Where a wire may go: the runs, the places, and the runs that it is to keep out of."""

    routes: Routes
    places: Mapping[str, Place]
    unsure: bool
    apart: frozenset[int]

    def known(self, *names: str) -> bool:
        """Whether a missing way between these places is a mistake in the file."""
        return not self.unsure and all(n in self.places for n in names)


def make_wire(
    row: Row, items: Mapping[str, Item], kind: Kind | None, ways: Ways, report: Report
) -> Wire | None:
    """The wire; None, with the problems in the report, where it cannot be made."""
    keys, link = row.keys, row.link
    if keys is None:
        return None
    size = _size(row.place, keys, kind, report)
    first = _joint(f"{row.place}.from_joint", keys.from_joint, report)
    last = _joint(f"{row.place}.to_joint", keys.to_joint, report)
    if link.start is None or link.end is None or kind is None or link.start == link.end:
        return None
    bolted = size is not None and size.system == "bolted"
    if bolted and keys.measured_mohm is not None:
        report.add(
            f"{row.place}.measured_mohm", "no resistance on a bolted joint", f"{keys.measured_mohm:g}",
            "Take it out, or give the wire its size.",
        )  # fmt: skip
    at = [items[r.partition(".")[0]] for r in (link.start, link.end)]
    length, slack, route = _length(row, bolted, at, ways, report)
    _colour(row, keys, report)
    if size is None and keys.size != "auto":
        return None
    usual = [items[r.partition(".")[0]].part.terminal(r.partition(".")[2]).joint for r in (link.start, link.end)]
    if bolted:
        usual = ["bolted", "bolted"]
    return Wire(
        id=row.id,
        start=link.start,
        end=link.end,
        kind=kind,
        size=size,
        metal=keys.metal,
        length_mm=length,
        route=route,
        insulation_c=keys.insulation_c,
        joints=(first or usual[0], last or usual[1]),
        cover=tuple(keys.cover),
        measured_mohm=keys.measured_mohm,
        length_given=keys.length_mm is not None,
        as_sold=keys.as_sold,
        colour=keys.colour,
        via=tuple(keys.via),
        slack_mm=slack,
    )


def _places(ends: Sequence[Item]) -> tuple[str, str]:
    """Places of a wire's two ends. The frame is everywhere: a wire that lands on it stays where its other end is."""
    a, b = ends
    if a.part.family == "frame":
        return b.place, b.place
    return a.place, a.place if b.part.family == "frame" else b.place


def _size(place: str, keys: WireKeys, kind: Kind | None, report: Report) -> WireSize | None:
    if keys.size == "auto":
        if kind in ("remote", "line", "speaker"):
            remedy = "Choose it; auto is for power and ground."
            report.add(f"{place}.size", f"a size, for a {kind} wire", '"auto"', remedy)
        return None
    try:
        row = conductors.parse_size(keys.size)
    except UnknownName:
        report.add(f"{place}.size", sizes.FORM, show(keys.size), sizes.advice(keys.size))
        return None
    if row.system == "bolted" and kind not in (None, "power", "ground"):
        remedy = "Only power and ground are bolted together."
        report.add(f"{place}.size", f"a size, for a {kind} wire", '"bolted"', remedy)
    return WireSize(row.label, row.system, row.area_mm2, row.diameter_mm)


def _colour(row: Row, keys: WireKeys, report: Report) -> None:
    if keys.colour is not None and not colours.known(keys.colour):
        letters = list(colours.letters())
        near = nearest(keys.colour, letters)
        remedy = f'Did you mean "{near}"?' if near else "Write the colours one after the other, two letters each."
        report.add(f"{row.place}.colour", f"letters of IEC 60757: {some(letters, 20)}", show(keys.colour), remedy)


def _joint(place: str, name: str | None, report: Report) -> str | None:
    if name is None:
        return None
    known = list(joints.names())
    if name not in known:
        report.unknown(place, "a joint", name, known)
        return None
    return name


def _length(
    row: Row, bolted: bool, ends: Sequence[Item], ways: Ways, report: Report
) -> tuple[float, float, tuple[int, ...]]:
    """Length of a wire, the slack in it [mm], and its runs."""
    assert row.keys is not None
    given = row.keys.length_mm
    here, there = _places(ends)
    if bolted:
        if here != there and ways.known(here, there):
            report.add(
                f"{row.place}.size", "ends in one place, where two terminals are bolted together",
                f"{here} and {there}", "Give the wire its size, or move one of the items.",
            )  # fmt: skip
        if given is not None:
            report.add(f"{row.place}.length_mm", "no length on a bolted joint", f"{given:g}", "Take it out.")
        if row.keys.via:
            report.add(f"{row.place}.via", "no way for a bolted joint", some(row.keys.via), "Take it out.")
        return 0.0, 0.0, ()
    way = _way(row, here, there, ways, report)
    if way is None:
        return given or 0.0, 0.0, ()
    if given is not None:
        return given, 0.0, way.runs
    slack = sum(_slack_mm(i, ways.places[i.place]) for i in ends if i.place in ways.places) if way.runs else 0.0
    length = (way.length_mm if way.runs else LEAD_MM) + sum(i.tail_mm for i in ends) + slack
    if length > MAX_LENGTH_MM:
        report.add(
            f"{row.place}.length_mm", f"at most {MAX_LENGTH_MM:,.0f} mm", f"{length:,.0f} mm along the runs",
            "Check the lengths of the runs.",
        )  # fmt: skip
    return length, slack, way.runs


def _way(row: Row, here: str, there: str, ways: Ways, report: Report) -> Way | None:
    """The way of a wire, over the places that it names; None where there is none."""
    assert row.keys is not None
    via = row.keys.via
    strange = [p for p in via if p not in ways.places]
    if strange:
        for name in dict.fromkeys(strange):
            report.unknown(f"{row.place}.via", "a place of the rig", name, list(ways.places))
        return None
    way, gap = ways.routes.over((here, *via, there), ways.apart)
    if way is None:
        if via and ways.routes.way(*gap) is not None:
            report.add(
                f"{row.place}.via", "a way that takes each run once",
                f"one that goes from {gap[0]} to {gap[1]} by a run that it took before",
                "Name the places in the order that the wire meets them, and leave out those beside its way.",
            )  # fmt: skip
        elif via and ways.known(*gap):
            report.add(
                f"{row.place}.via", f"runs that lead from {gap[0]} to {gap[1]}", "none",
                "Add the missing run, or lead the wire over other places.",
            )  # fmt: skip
        elif row.keys.length_mm is None and ways.known(here, there):
            report.add(
                f"{row.place}.length_mm", f"runs that lead from {here} to {there}, or a length", "neither",
                "Add the missing run, or measure the wire and give length_mm.",
            )  # fmt: skip
    return way


def _slack_mm(item: Item, place: Place) -> float:
    """Spare wire at the end of a run [mm]: what the place says, else the usual."""
    if place.slack_mm is not None:
        return place.slack_mm
    off = item.part.family == "connector" or place.comes_off or item.comes_off
    return harness.slack_mm("service") + (harness.slack_mm("comes_off") if off else 0.0)
