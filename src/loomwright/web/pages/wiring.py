"""Writes to a rig: wires, items, fuses, undo and redo. Each keeps the file's comments and names the revision it saw."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response

from loomwright.rig import edit, edit_vehicle
from loomwright.rig.catalogue import Catalogue
from loomwright.rig.keys import ItemKeys, WireKeys
from loomwright.web import draft, forms, tables
from loomwright.web.pages.saving import AT, Back, Field, Many, Maybe, Seen, saved
from loomwright.web.units import number, read
from loomwright.web.view import bench_of, go

router = APIRouter(tags=["writes"])
From = Annotated[Literal["rig", "findings", "loom", "drafts", "advice", "advice/amplifiers", "panel"], Form()]
Columns = Annotated[str | None, Form(max_length=200_000)]


@router.post(AT + "/begin")
def begin(request: Request, job_id: str, stage: str, source: Field = "empty") -> Response:
    """Put a first rig into a stage."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    if not opened.begun:
        bench.begin_stage(opened, source)
    return go(f"{opened.url}/rig")


@router.post(AT + "/undo")
def undo(request: Request, job_id: str, stage: str, back: From = "rig") -> Response:
    """Take the last save back."""
    opened = bench_of(request).opened(job_id, stage)
    bench_of(request).store.undo(opened.job.id, opened.stage)
    return go(f"{opened.url}/{back}")


@router.post(AT + "/redo")
def redo(request: Request, job_id: str, stage: str, back: From = "rig") -> Response:
    """Take the last undo back."""
    opened = bench_of(request).opened(job_id, stage)
    bench_of(request).store.redo(opened.job.id, opened.stage)
    return go(f"{opened.url}/{back}")


@router.post(AT + "/wire")
def set_wire(
    request: Request, job_id: str, stage: str, wire: Field, based_on: Seen, size: Field,
    length_mm: Field = "", metal: Maybe = None, insulation_c: Maybe = None, cover: Many = [],  # noqa: B006
    new_id: Annotated[str | None, Form(alias="id", max_length=200)] = None,
    start: Annotated[str | None, Form(alias="from", max_length=200)] = None,
    to: Maybe = None, from_joint: Maybe = None, to_joint: Maybe = None, measured_mohm: Maybe = None,
    as_sold: Maybe = None, colour: Maybe = None, via: Maybe = None, units: Field = "", back: Back = "rig",
) -> Response:  # fmt: skip
    """Change a wire: size, length, metal, insulation, cover, number, ends and joints."""
    rest = {
        "metal": metal, "insulation_c": insulation_c, "id": new_id, "from": start, "to": to, "from_joint": from_joint,
        "to_joint": to_joint, "measured_mohm": measured_mohm, "as_sold": as_sold, "colour": colour, "via": via,
    }  # fmt: skip
    given: dict[str, str | list[str]] = {
        "size": size, "length_mm": length_mm, "cover": cover, **{k: v for k, v in rest.items() if v is not None},
    }  # fmt: skip

    def change(text: str) -> str:
        keys = forms.changes(WireKeys, draft.read(text).table("wire", wire), given, read(units))
        return edit.set_wire(text, wire, **keys)

    after = {"wire": (new_id or "").strip() or wire}
    typed = {**given, "units": units}
    return saved(request, job_id, stage, based_on, change, f"Wire {wire}", {"wire": wire}, typed, after, back)


@router.post(AT + "/wire/remove")
def remove_wire(request: Request, job_id: str, stage: str, wire: Field, based_on: Seen) -> Response:
    """Take a wire out."""
    return saved(
        request, job_id, stage, based_on, lambda text: edit.remove_wire(text, wire), f"Wire {wire} taken out",
        {"wire": wire}, {}, after={},
    )  # fmt: skip


@router.post(AT + "/wire/add")
def add_wire(
    request: Request, job_id: str, stage: str, start: Field, to: Field, wire: Field, size: Field, based_on: Seen,
    length_mm: Field = "", units: Field = "",
) -> Response:  # fmt: skip
    """Draw a wire from terminal to terminal."""
    parts = bench_of(request).opened(job_id, stage).parts

    def change(text: str) -> str:
        length = read(units).typed(length_mm, "mm")
        drawn = edit.add_wire(text, wire, start, to, size, **({} if length is None else {"length_mm": length}))
        return _fused(_fused(drawn, start, parts), to, parts)

    chosen = {"start": start, "to": to}
    typed = {"wire": wire, "size": size, "length_mm": length_mm, "units": units}
    return saved(request, job_id, stage, based_on, change, f"Wire {wire} drawn", chosen, typed, after={"wire": wire})


@router.post(AT + "/item")
def set_item(
    request: Request, job_id: str, stage: str, item: Field, place: Field, based_on: Seen, fuse: Many = [],  # noqa: B006
    name: Maybe = None, part: Maybe = None, comes_off: Maybe = None, charge_pct: Maybe = None,
    resistance_factor: Maybe = None, bridged: Maybe = None, mounting: Maybe = None, box_l: Maybe = None,
    port_hz: Maybe = None, impedance: Columns = None, impedance_file: Maybe = None, gains_v: Maybe = None,
    remote_on_ms: Maybe = None, remote_off_ms: Maybe = None, tail_mm: Maybe = None, key: Maybe = None,
    sockets: Maybe = None, panel: Maybe = None, at_mm: Maybe = None, turn_deg: Maybe = None, layer: Maybe = None,
    fixed: Maybe = None, turns: Many = [], units: Field = "",  # noqa: B006
) -> Response:  # fmt: skip
    """Change an item: place, fuses, name, part, and what its kind of part has."""
    rest = {"part": part, "comes_off": comes_off, "charge_pct": charge_pct, "resistance_factor": resistance_factor,
            "bridged": bridged, "mounting": mounting, "box_l": box_l, "port_hz": port_hz, "impedance": impedance,
            "impedance_file": impedance_file, "gains_v": gains_v, "remote_on_ms": remote_on_ms,
            "remote_off_ms": remote_off_ms, "tail_mm": tail_mm, "key": key, "sockets": sockets, "panel": panel,
            "at_mm": at_mm, "turn_deg": turn_deg, "layer": layer, "fixed": fixed}  # fmt: skip
    given: dict[str, str | list[str]] = {"place": place, **{k: v for k, v in rest.items() if v is not None}}
    if panel is not None:
        given["turns"] = turns
    new_name = (name or "").strip() or item

    def change(text: str) -> str:
        was = draft.read(text).item(item)
        if was is None:
            return edit.set_item(text, item, place=place)
        keys = forms.changes(ItemKeys, draft.read(text).table("item", item), given, read(units))
        text = edit.set_item(text, item, **keys) if keys else text
        if fuse and len(was.fuses_a) != len(fuse):
            text = edit.set_item(text, item, fuses_a=[_rating(f) for f in fuse])
        else:
            for way, rating in enumerate(fuse, 1):
                if was.fuses_a[way - 1] != rating:
                    text = edit.set_fuse(text, item, way, _rating(rating))
        return edit_vehicle.rename_item(text, item, new_name) if new_name != item else text

    typed = {**given, "fuse": fuse, "name": new_name, "units": units}
    after = {"item": new_name}
    return saved(request, job_id, stage, based_on, change, f"Item {item}", {"item": item}, typed, after)


@router.post(AT + "/item/add")
def add_item(
    request: Request, job_id: str, stage: str, item: Field, part: Field, place: Field, based_on: Seen, find: Field = ""
) -> Response:
    """Add an item from the catalogue."""
    parts = bench_of(request).opened(job_id, stage).parts

    def change(text: str) -> str:
        made = draft.DraftItem(item, part, parts.part(part), place, ())
        count = tables.ways(made)
        fuses: list[float | str] = ["auto"] if count == 1 else [0] * count
        return edit.add_item(text, item, part, place, **({"fuses_a": fuses} if fuses else {}))

    chosen = {"add": "item", "find": find}
    typed = {"item": item, "part": part, "place": place}
    return saved(request, job_id, stage, based_on, change, f"Item {item} added", chosen, typed, after={"item": item})


@router.post(AT + "/item/remove")
def remove_item(request: Request, job_id: str, stage: str, item: Field, based_on: Seen) -> Response:
    """Take an item out, and the wires that end on it."""

    def change(text: str) -> str:
        for wire in draft.read(text).at(item):
            text = edit.remove_wire(text, wire.id)
        return edit.remove_item(text, item)

    return saved(
        request, job_id, stage, based_on, change, f"Item {item} taken out", {"item": item}, {}, after={}
    )


def _fused(text: str, ref: str, parts: Catalogue) -> str:
    """A wire on an empty way gets a fuse, to be sized."""
    name, _, terminal = ref.partition(".")
    item = draft.read(text, parts).item(name)
    if item is None or tables.ways(item) < 2 or not terminal.startswith("out"):
        return text
    way = int(terminal[3:]) if terminal[3:].isdigit() else 0
    empty = 0 < way <= len(item.fuses_a) and item.fuses_a[way - 1] == "0"
    return edit.set_fuse(text, name, way, "auto") if empty else text


def _rating(text: str) -> float | str:
    given = number(text)
    return 0 if given is None else given
