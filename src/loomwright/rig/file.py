"""The rig file: TOML in, a settled rig out, or every problem at once.

Format 1, described key by key in :mod:`loomwright.rig.keys`. In messages, lists count from 1, as the eye does:
``wire[3] (P3).from``, ``run[2].between``.

Lengths: a wire without ``length_mm`` takes the best way along the runs between the places of its ends
(:mod:`loomwright.rig.routes`), with the tails of its items and the slack of its places, or 150 mm where both ends share
a place (:data:`loomwright.rig.routes.LEAD_MM`). The frame is everywhere: a wire that lands on it
stays in the place of its other end.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from loomwright.errors import InputError
from loomwright.rig.catalogue import Catalogue, beside, builtin
from loomwright.rig.items import find_part, make_item
from loomwright.rig.keys import HeadKeys, ItemKeys, LimitKeys, PlaceKeys, RunKeys, VehicleKeys, WireKeys
from loomwright.rig.migrate import to_current
from loomwright.rig.model import Item, Limits, Place, Rig, Run, Vehicle
from loomwright.rig.panels import read_panels
from loomwright.rig.plan import Panel
from loomwright.rig.read import MAX_WIRES, read_tables, read_text, too_many_wires
from loomwright.rig.report import Report
from loomwright.rig.routes import Routes
from loomwright.rig.supply import check_supply
from loomwright.rig.tables import check, dotted, rows, subtable
from loomwright.rig.wires import Ends, check_joins, make_wires, read_rows, wire_places
from loomwright.rig.words import ID_RULE, bad_id, show


def load(path: str | Path) -> Rig:
    """The rig in a file, with the user's catalogues beside it.

    Raises
    ------
    InputError
        With every problem in the rig file and in the catalogues.
    """
    path = Path(path)
    text = read_text(path)
    try:
        catalogue = beside(path)
    except InputError as error:
        try:
            _parse(text, str(path), path.name, builtin(), path.parent)
        except InputError as more:
            about_parts = (".part",)
            rest = [p for p in more.problems if not p.place.endswith(about_parts)]
            raise InputError([*error.problems, *rest]) from None
        raise
    return _parse(text, str(path), path.name, catalogue, path.parent)


def parse(text: str, file_name: str, catalogue: Catalogue | None = None) -> Rig:
    """The rig in a text; ``catalogue`` is the built-in one where left out.

    Raises
    ------
    InputError
        With every problem found.
    """
    return _parse(text, file_name, file_name, catalogue or builtin(), None)


def _parse(text: str, shown: str, name: str, catalogue: Catalogue, folder: Path | None) -> Rig:
    return make(to_current(read_tables(text, shown), shown), name, catalogue, folder, Report(shown))


def make(
    data: Mapping[str, object],
    name: str,
    catalogue: Catalogue,
    folder: Path | None,
    report: Report,
    *,
    finished: bool = True,
) -> Rig:
    """The rig in the tables of a file; ``finished`` False where items may still want their wires.

    Raises
    ------
    InputError
        With every problem found, those that the report held already among them.
    """
    head = check(HeadKeys, _head(data), report, dotted(""))
    vehicle = check(VehicleKeys, data.get("vehicle", {}), report, dotted("vehicle"))
    limits = check(LimitKeys, data.get("limits", {}), report, dotted("limits"))
    ambient_c = head.ambient_c if head is not None else 25.0
    places = _places(data, ambient_c, report)
    runs = _runs(data, places, report)
    panels = read_panels(data, places, report, folder)
    items, broken = _items(data, places, panels, catalogue, report, folder)
    raw = rows(data, "wire", report)
    if len(raw) > MAX_WIRES:
        raise too_many_wires(report.file, len(raw))
    checked = [
        check(WireKeys, w, report, dotted(p)) for w, p in zip(raw, wire_places(raw), strict=True)
    ]
    ends = Ends(items, frozenset(broken))
    wire_rows = read_rows(raw, checked, ends, report)
    settled, kinds = check_joins(wire_rows, ends, report)
    usable = {k: v for k, v in places.items() if v is not None}
    routes = Routes([r for r in runs if r is not None])
    unsure = any(r is None for r in runs)
    wires = make_wires(wire_rows, settled, kinds, routes, usable, unsure, report)
    if finished and not ends.lost:
        check_supply(settled, [r.link for r in wire_rows], kinds, ends.doubtful, report)
    made = _vehicle(vehicle or VehicleKeys(), items, broken, report)
    report.raise_if_any()
    assert head is not None
    assert limits is not None
    return Rig(
        title=head.title,
        file=name,
        ambient_c=head.ambient_c,
        vehicle=made,
        places=usable,
        runs=tuple(r for r in runs if r is not None),
        items=settled,
        wires=tuple(w for w in wires if w is not None),
        limits=Limits(
            limits.drop_v, limits.session_h, limits.session_engine, limits.session_programme, limits.listening_mm
        ),
        bundle_basis=head.bundle_basis,
        notes=head.notes,
        stage=head.stage,
        demo=head.demo,
        panels={k: v for k, v in panels.items() if v is not None},
    )


def _head(data: Mapping[str, object]) -> dict[str, object]:
    return {k: v for k, v in data.items() if k not in HeadKeys.beside}


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


def _vehicle(keys: VehicleKeys, items: Mapping[str, Item], broken: set[str], report: Report) -> Vehicle:
    batteries = sorted(i.id for i in items.values() if i.part.family == "battery")
    start = keys.start_battery
    if start is not None and start not in batteries and start not in broken:
        report.unknown("vehicle.start_battery", "a battery", start, batteries)
    if start is None and len(batteries) == 1:
        start = batteries[0]
    if keys.cruise_rpm < keys.idle_rpm:
        report.add(
            "vehicle.cruise_rpm", f"at least idle_rpm = {keys.idle_rpm:g}", f"{keys.cruise_rpm:g}",
            "Correct one of the two.",
        )  # fmt: skip
    return Vehicle(
        kind=keys.kind, drive=keys.drive, idle_rpm=keys.idle_rpm, cruise_rpm=keys.cruise_rpm, crank_a=keys.crank_a,
        crank_min_v=keys.crank_min_v, start_battery=start,
    )  # fmt: skip


