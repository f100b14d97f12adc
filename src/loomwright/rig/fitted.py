"""What is fitted where: the places, runs, panels and items of a rig file.

A file that was edited is mostly the file that it was before. Tables that were read before are not read again, unless
there was something to say about them.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock

from loomwright.rig.catalogue import Catalogue
from loomwright.rig.items import find_part, make_item
from loomwright.rig.joins import Link
from loomwright.rig.keys import ItemKeys, PlaceKeys, RunKeys
from loomwright.rig.model import Item, Kind, Place, Run, Wire
from loomwright.rig.panels import read_panels
from loomwright.rig.plan import Panel
from loomwright.rig.report import Report
from loomwright.rig.routes import Routes
from loomwright.rig.tables import check, dotted, rows, subtable
from loomwright.rig.words import ID_RULE, bad_id, show

TABLES = ("place", "run", "panel", "item")
MOST = 32
"""So many are remembered, those that were asked for last."""


@dataclass(eq=False)
class Joined:
    """Ends of wires that were read without a complaint, and the wires that were made between them, by content."""

    links: Sequence[Link]
    items: Mapping[str, Item]
    kinds: Mapping[str, Kind]
    wires: dict[tuple[str, frozenset[int]], Wire] = field(default_factory=dict)


@dataclass(eq=False)
class Fitted:
    """None stands for a place, a run or a panel that cannot be used; ``broken`` are the items that cannot.

    ``joined`` holds the ways in which these items were wired before, by what names the ends.
    """

    places: Mapping[str, Place | None]
    runs: Sequence[Run | None]
    panels: Mapping[str, Panel | None]
    items: Mapping[str, Item]
    broken: frozenset[str]
    catalogue: Catalogue
    joined: OrderedDict[object, Joined] = field(default_factory=OrderedDict)

    def __post_init__(self) -> None:
        self.usable = {k: v for k, v in self.places.items() if v is not None}
        self.unsure = any(r is None for r in self.runs)
        self.routes = Routes([r for r in self.runs if r is not None])


_KNOWN: OrderedDict[tuple[str, float], Fitted] = OrderedDict()
_ONE_AT_A_TIME = Lock()


def read(
    data: Mapping[str, object], ambient_c: float, catalogue: Catalogue, folder: Path | None, report: Report
) -> Fitted:
    """What the tables say; the same object for the same tables, unless they name files in a ``folder``."""
    if folder is not None:
        return _read(data, ambient_c, catalogue, folder, report)
    key = repr([data.get(name) for name in TABLES]), ambient_c
    with _ONE_AT_A_TIME:
        known = _KNOWN.get(key)
        if known is not None and known.catalogue is catalogue:
            _KNOWN.move_to_end(key)
            return known
    before = len(report.problems)
    made = _read(data, ambient_c, catalogue, folder, report)
    if len(report.problems) == before:
        with _ONE_AT_A_TIME:
            _KNOWN[key] = made
            if len(_KNOWN) > MOST:
                _KNOWN.popitem(last=False)
    return made


def _read(
    data: Mapping[str, object], ambient_c: float, catalogue: Catalogue, folder: Path | None, report: Report
) -> Fitted:
    places = _places(data, ambient_c, report)
    runs = _runs(data, places, report)
    panels = read_panels(data, places, report, folder)
    items, broken = _items(data, places, panels, catalogue, report, folder)
    return Fitted(places, runs, panels, items, frozenset(broken), catalogue)


def _id(kind: str, name: str, report: Report) -> None:
    if reason := bad_id(name):
        report.add(f"{kind}.{show(name)[1:-1]}", f"an id: {ID_RULE}", reason, f"Rename the {kind}.")


def _places(data: Mapping[str, object], ambient_c: float, report: Report) -> dict[str, Place | None]:
    """Places by id; None for one that cannot be used."""
    places: dict[str, Place | None] = {}
    for name, table in subtable(data, "place", report).items():
        _id("place", name, report)
        keys = check(PlaceKeys, table, report, dotted(f"place.{name}"))
        places[name] = None
        if keys is not None:
            temperature = ambient_c if keys.temperature_c is None else keys.temperature_c
            places[name] = Place(name, temperature, keys.comes_off, keys.engine_space, keys.wet, keys.slack_mm)
    return places


def _runs(data: Mapping[str, object], places: Mapping[str, Place | None], report: Report) -> list[Run | None]:
    runs: list[Run | None] = []
    seen: dict[frozenset[str], int] = {}
    for n, table in enumerate(rows(data, "run", report), 1):
        keys = check(RunKeys, table, report, dotted(f"run[{n}]"))
        runs.append(None)
        if keys is None:
            continue
        a, b = keys.between
        unknown = [(i, p) for i, p in enumerate((a, b), 1) if p not in places]
        for i, p in unknown:
            report.unknown(f"run[{n}].between[{i}]", "a place", p, sorted(places))
        if a == b:
            report.add(f"run[{n}].between", "two places", f"{show(a)} twice", "Correct one of the two, or take it out.")
        elif (first := seen.setdefault(frozenset((a, b)), n)) != n:
            report.add(
                f"run[{n}].between", f"places that run {first} does not join already", show([a, b]),
                "Take one of the two runs out, or give the second way a place of its own in between.",
            )  # fmt: skip
        elif not unknown:
            runs[-1] = Run(
                (a, b), keys.length_mm, tuple(keys.hazards), tuple(keys.cover), keys.hole_mm, keys.bend_radius_mm,
                keys.supports_mm,
            )  # fmt: skip
    return runs


def _items(
    data: Mapping[str, object],
    places: Mapping[str, Place | None],
    panels: Mapping[str, Panel | None],
    catalogue: Catalogue,
    report: Report,
    folder: Path | None,
) -> tuple[dict[str, Item], set[str]]:
    """Items by id, and the ids of those that cannot be used."""
    items: dict[str, Item] = {}
    broken: set[str] = set()
    for name, table in subtable(data, "item", report).items():
        _id("item", name, report)
        keys = check(ItemKeys, table, report, dotted(f"item.{name}"))
        raw_part = table.get("part") if isinstance(table, dict) else None
        part = find_part(name, raw_part, catalogue, report) if isinstance(raw_part, str) and raw_part else None
        if keys is not None and keys.place not in places:
            report.unknown(f"item.{name}.place", "a place", keys.place, sorted(places))
        if part is None or bad_id(name):
            broken.add(name)
        elif keys is None:
            items[name] = Item(name, part, "")
        else:
            items[name] = make_item(name, keys, part, panels, report, folder)
    return items, broken
