"""Writes to what a rig says of the vehicle: its head, the vehicle, the limits, places and runs."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter, Request
from fastapi.responses import Response

from loomwright.rig import edit_panels, edit_vehicle
from loomwright.rig.keys import HeadKeys, Keys, LimitKeys, PanelKeys, PlaceKeys, RunKeys, VehicleKeys
from loomwright.web import draft, forms
from loomwright.web.pages.saving import AT, Back, Field, Many, Maybe, Prose, Seen, saved
from loomwright.web.units import read

router = APIRouter(tags=["writes"])


@router.post(AT + "/about")
def set_about(
    request: Request, job_id: str, stage: str, based_on: Seen, title: Prose, ambient_c: Field,
    bundle_basis: Field = "from 3", demo: Field = "", notes: Prose = "", units: Field = "",
) -> Response:  # fmt: skip
    """Change what stands at the top of the rig file."""
    given = {"title": title, "ambient_c": ambient_c, "bundle_basis": bundle_basis, "demo": demo, "notes": notes}

    def change(text: str) -> str:
        return edit_vehicle.set_head(text, forms.changes(HeadKeys, draft.read(text).raw, given, read(units)))

    typed = {**given, "units": units}
    return saved(request, job_id, stage, based_on, change, "The rig as a whole", {"table": "about"}, typed)


@router.post(AT + "/vehicle")
def set_vehicle(
    request: Request, job_id: str, stage: str, based_on: Seen, kind: Field = "other", drive: Field = "petrol",
    idle_rpm: Field = "", cruise_rpm: Field = "", crank_a: Field = "", crank_min_v: Field = "",
    start_battery: Field = "", units: Field = "",
) -> Response:  # fmt: skip
    """Change the vehicle: what it is, its engine and its starter."""
    given = {"kind": kind, "drive": drive, "idle_rpm": idle_rpm, "cruise_rpm": cruise_rpm, "crank_a": crank_a,
             "crank_min_v": crank_min_v, "start_battery": start_battery}  # fmt: skip
    return _table(request, job_id, stage, based_on, "vehicle", VehicleKeys, given, units, "The vehicle")


@router.post(AT + "/limits")
def set_limits(
    request: Request, job_id: str, stage: str, based_on: Seen, drop_v: Field = "", session_h: Field = "",
    session_engine: Field = "idle", session_programme: Field = "music", listening_mm: Maybe = None,
    units: Field = "",
) -> Response:  # fmt: skip
    """Change the limits that the owner wants kept."""
    given = {"drop_v": drop_v, "session_h": session_h, "session_engine": session_engine,
             "session_programme": session_programme}  # fmt: skip
    if listening_mm is not None:
        given["listening_mm"] = listening_mm
    return _table(request, job_id, stage, based_on, "limits", LimitKeys, given, units, "Limits")


def _table(
    request: Request, job_id: str, stage: str, based_on: int, table: Literal["vehicle", "limits"], model: type[Keys],
    given: forms.Given, units: str, note: str,
) -> Response:  # fmt: skip
    def change(text: str) -> str:
        raw = draft.read(text).raw.get(table, {})
        keys = forms.changes(model, raw if isinstance(raw, dict) else {}, given, read(units))
        return edit_vehicle.set_table(text, table, keys)

    return saved(request, job_id, stage, based_on, change, note, {"table": table}, {**given, "units": units})


@router.post(AT + "/place")
def set_place(
    request: Request, job_id: str, stage: str, based_on: Seen, place: Field, name: Field, temperature_c: Field = "",
    comes_off: Field = "", engine_space: Field = "", wet: Field = "", slack_mm: Maybe = None, units: Field = "",
    back: Back = "rig",
) -> Response:  # fmt: skip
    """Change a place, and its name wherever the rig file names it."""
    given = _place(temperature_c, comes_off, engine_space, wet, slack_mm)
    new_name = name.strip() or place

    def change(text: str) -> str:
        keys = forms.changes(PlaceKeys, draft.read(text).table("place", place), given, read(units))
        return edit_vehicle.set_place(text, place, keys, new_name)

    typed = {**given, "name": name, "units": units}
    after = {"place": new_name}
    return saved(request, job_id, stage, based_on, change, f"Place {place}", {"place": place}, typed, after, back)


@router.post(AT + "/place/add")
def add_place(
    request: Request, job_id: str, stage: str, based_on: Seen, name: Field, temperature_c: Field = "",
    comes_off: Field = "", engine_space: Field = "", wet: Field = "", slack_mm: Maybe = None, units: Field = "",
) -> Response:  # fmt: skip
    """Add a place."""
    given = _place(temperature_c, comes_off, engine_space, wet, slack_mm)
    new_name = name.strip()

    def change(text: str) -> str:
        return edit_vehicle.add_place(text, new_name, forms.changes(PlaceKeys, {}, given, read(units)))

    typed = {**given, "name": name, "units": units}
    note, after = f"Place {new_name} added", {"place": new_name}
    return saved(request, job_id, stage, based_on, change, note, {"add": "place"}, typed, after)


@router.post(AT + "/place/remove")
def remove_place(request: Request, job_id: str, stage: str, place: Field, based_on: Seen) -> Response:
    """Take a place out that nothing stands in and no run leads to."""

    def change(text: str) -> str:
        return edit_vehicle.remove_place(text, place)

    note = f"Place {place} taken out"
    return saved(request, job_id, stage, based_on, change, note, {"place": place}, {}, after={})


@router.post(AT + "/run")
def set_run(
    request: Request, job_id: str, stage: str, based_on: Seen, run: Field, between: Many, length_mm: Field = "",
    hazards: Many = [], cover: Many = [], hole_mm: Maybe = None, bend_radius_mm: Maybe = None,  # noqa: B006
    supports_mm: Maybe = None, units: Field = "", back: Back = "rig",
) -> Response:  # fmt: skip
    """Change a run: its places, its length, what can hurt a wire there and what protects it."""
    given: dict[str, str | list[str]] = {
        "between": between, "length_mm": length_mm, "hazards": hazards, "cover": cover,
        **_measured(hole_mm, bend_radius_mm, supports_mm),
    }  # fmt: skip

    def change(text: str) -> str:
        found = draft.read(text).run(run)
        keys = forms.changes(RunKeys, found.table if found else {}, given, read(units))
        return edit_vehicle.set_run(text, run.split("."), keys)

    typed = {**given, "units": units}
    after = {"run": ".".join(between)}
    return saved(request, job_id, stage, based_on, change, f"Run {_called(run)}", {"run": run}, typed, after, back)


@router.post(AT + "/run/add")
def add_run(
    request: Request, job_id: str, stage: str, based_on: Seen, between: Many, length_mm: Field = "",
    hazards: Many = [], cover: Many = [], hole_mm: Maybe = None, bend_radius_mm: Maybe = None,  # noqa: B006
    supports_mm: Maybe = None, units: Field = "",
) -> Response:  # fmt: skip
    """Add a run between two places."""
    rest: dict[str, str | list[str]] = {
        "length_mm": length_mm, "hazards": hazards, "cover": cover, **_measured(hole_mm, bend_radius_mm, supports_mm)
    }  # fmt: skip

    def change(text: str) -> str:
        return edit_vehicle.add_run(text, between, forms.changes(RunKeys, {}, rest, read(units)))

    typed = {"between": between, **rest, "units": units}
    note = f"Run {_called('.'.join(between))} added"
    after = {"run": ".".join(between)}
    return saved(request, job_id, stage, based_on, change, note, {"add": "run"}, typed, after)


@router.post(AT + "/run/remove")
def remove_run(request: Request, job_id: str, stage: str, run: Field, based_on: Seen) -> Response:
    """Take a run out."""

    def change(text: str) -> str:
        return edit_vehicle.remove_run(text, run.split("."))

    return saved(
        request, job_id, stage, based_on, change, f"Run {_called(run)} taken out", {"run": run}, {}, after={}
    )


@router.post(AT + "/panel")
def set_panel(
    request: Request, job_id: str, stage: str, based_on: Seen, panel: Field, name: Field, place: Field,
    width_mm: Field = "", height_mm: Field = "", corners_mm: Prose = "", outline_file: Field = "",
    holes_mm: Prose = "",
    keep_outs_mm: Prose = "", space_mm: Field = "", entry_mm: Field = "", material: Field = "plywood",
    thickness_mm: Field = "", upright: Field = "", pull_out_mm: Field = "", edge_mm: Field = "",
    screw_edge_mm: Field = "", spacer_mm: Field = "", units: Field = "",
) -> Response:  # fmt: skip
    """Change a panel, and its name wherever the rig file names it."""
    given = _panel(place, width_mm, height_mm, corners_mm, outline_file, holes_mm, keep_outs_mm, space_mm, entry_mm,
                   material, thickness_mm, upright, pull_out_mm, edge_mm, screw_edge_mm, spacer_mm)  # fmt: skip
    new_name = name.strip() or panel

    def change(text: str) -> str:
        keys = forms.changes(PanelKeys, draft.read(text).table("panel", panel), given, read(units))
        return edit_panels.set_panel(text, panel, keys, new_name)

    typed = {**given, "name": name, "units": units}
    after = {"panel": new_name}
    return saved(request, job_id, stage, based_on, change, f"Panel {panel}", {"panel": panel}, typed, after)


@router.post(AT + "/panel/add")
def add_panel(
    request: Request, job_id: str, stage: str, based_on: Seen, name: Field, place: Field, width_mm: Field = "",
    height_mm: Field = "", corners_mm: Prose = "", outline_file: Field = "",
    holes_mm: Prose = "", keep_outs_mm: Prose = "",
    space_mm: Field = "", entry_mm: Field = "", material: Field = "plywood", thickness_mm: Field = "",
    upright: Field = "", pull_out_mm: Field = "", edge_mm: Field = "", screw_edge_mm: Field = "",
    spacer_mm: Field = "", units: Field = "",
) -> Response:  # fmt: skip
    """Add a panel."""
    given = _panel(place, width_mm, height_mm, corners_mm, outline_file, holes_mm, keep_outs_mm, space_mm, entry_mm,
                   material, thickness_mm, upright, pull_out_mm, edge_mm, screw_edge_mm, spacer_mm)  # fmt: skip
    new_name = name.strip()

    def change(text: str) -> str:
        return edit_panels.add_panel(text, new_name, forms.changes(PanelKeys, {}, given, read(units)))

    typed = {**given, "name": name, "units": units}
    note, after = f"Panel {new_name} added", {"panel": new_name}
    return saved(request, job_id, stage, based_on, change, note, {"add": "panel"}, typed, after)


@router.post(AT + "/panel/remove")
def remove_panel(request: Request, job_id: str, stage: str, panel: Field, based_on: Seen) -> Response:
    """Take a panel out that nothing is mounted on."""

    def change(text: str) -> str:
        return edit_panels.remove_panel(text, panel)

    note = f"Panel {panel} taken out"
    return saved(request, job_id, stage, based_on, change, note, {"panel": panel}, {}, after={})


def _panel(
    place: str, width_mm: str, height_mm: str, corners_mm: str, outline_file: str, holes_mm: str, keep_outs_mm: str,
    space_mm: str,
    entry_mm: str, material: str, thickness_mm: str, upright: str, pull_out_mm: str, edge_mm: str,
    screw_edge_mm: str, spacer_mm: str,
) -> dict[str, str | list[str]]:  # fmt: skip
    return {
        "place": place, "width_mm": width_mm, "height_mm": height_mm, "corners_mm": corners_mm,
        "outline_file": outline_file, "holes_mm": holes_mm,
        "keep_outs_mm": keep_outs_mm, "space_mm": space_mm, "entry_mm": entry_mm, "material": material,
        "thickness_mm": thickness_mm, "upright": upright, "pull_out_mm": pull_out_mm, "edge_mm": edge_mm,
        "screw_edge_mm": screw_edge_mm, "spacer_mm": spacer_mm,
    }  # fmt: skip


def _place(
    temperature_c: str, comes_off: str, engine_space: str, wet: str, slack_mm: str | None
) -> dict[str, str]:
    given = {"temperature_c": temperature_c, "comes_off": comes_off, "engine_space": engine_space, "wet": wet}
    return given if slack_mm is None else {**given, "slack_mm": slack_mm}


def _measured(hole_mm: str | None, bend_radius_mm: str | None, supports_mm: str | None) -> dict[str, str]:
    given = {"hole_mm": hole_mm, "bend_radius_mm": bend_radius_mm, "supports_mm": supports_mm}
    return {k: v for k, v in given.items() if v is not None}


def _called(run: str) -> str:
    return " to ".join(run.split("."))
