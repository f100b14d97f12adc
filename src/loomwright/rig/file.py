"""The rig file: TOML in, a settled rig out, or every problem at once.

Format 1, described key by key in :mod:`loomwright.rig.keys`. In messages, lists count from 1, as the eye does:
``wire[3] (P3).from``, ``run[2].between``.

Lengths: a wire without ``length_mm`` takes the best way along the runs between the places of its ends
(:mod:`loomwright.rig.routes`), with the tails of its items and the slack of its places, or 150 mm where both ends share
a place (:data:`loomwright.rig.routes.LEAD_MM`). The frame is everywhere: a wire that lands on it
stays in the place of its other end.
"""

from __future__ import annotations

from collections.abc import Mapping, Set
from pathlib import Path

from loomwright.errors import InputError
from loomwright.rig import fitted, wiring
from loomwright.rig.catalogue import Catalogue, beside, builtin
from loomwright.rig.keys import HeadKeys, LimitKeys, VehicleKeys
from loomwright.rig.migrate import to_current
from loomwright.rig.model import Item, Limits, Rig, Vehicle
from loomwright.rig.read import read_tables, read_text
from loomwright.rig.report import Report
from loomwright.rig.tables import check, dotted


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
    parts = fitted.read(data, ambient_c, catalogue, folder, report)
    wired = wiring.read(data, parts, report, finished=finished)
    made = _vehicle(vehicle or VehicleKeys(), parts.items, parts.broken, report)
    report.raise_if_any()
    assert head is not None
    assert limits is not None
    return Rig(
        title=head.title,
        file=name,
        ambient_c=head.ambient_c,
        vehicle=made,
        places=parts.usable,
        runs=tuple(r for r in parts.runs if r is not None),
        items=wired.items,
        wires=wired.wires,
        limits=Limits(
            limits.drop_v, limits.session_h, limits.session_engine, limits.session_programme, limits.listening_mm
        ),
        bundle_basis=head.bundle_basis,
        notes=head.notes,
        stage=head.stage,
        demo=head.demo,
        panels={k: v for k, v in parts.panels.items() if v is not None},
    )


def _head(data: Mapping[str, object]) -> dict[str, object]:
    return {k: v for k, v in data.items() if k not in HeadKeys.beside}


def _vehicle(keys: VehicleKeys, items: Mapping[str, Item], broken: Set[str], report: Report) -> Vehicle:
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


