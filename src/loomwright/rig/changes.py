"""Changes to a rig file as values: made by one piece, shown to a reader, applied by another.

A change names one key of one wire, item or run, of the vehicle or of the limits, or one fuse, or it is a new wire or
item. :func:`apply` puts a row of them
into the text of a rig file, comments and order kept; :func:`told` says each one in words, as it is before and after.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import tomli

from loomwright.rig import edit, edit_vehicle
from loomwright.rig.edit import Value
from loomwright.rig.holds import unit

ARROW = "\u2192"
_NAMES = {
    "insulation_c": "insulation", "measured_mohm": "measured resistance", "as_sold": "sold as", "from": "starts at",
    "to": "ends at", "from_joint": "joint at its start", "to_joint": "joint at its end", "length_mm": "length",
}  # fmt: skip
_UNITS = {"C": "\u00b0C", "mohm": "m\u03a9"}
_USUAL: Mapping[str, object] = {"metal": "copper", "insulation_c": 105}


@dataclass(frozen=True, slots=True)
class WireKey:
    """A key of a wire, as the file calls it; None takes the key out."""

    wire: str
    key: str
    value: Value | None


@dataclass(frozen=True, slots=True)
class ItemKey:
    """A key of an item; None takes the key out."""

    item: str
    key: str
    value: Value | None


@dataclass(frozen=True, slots=True)
class RunKey:
    """A key of a run, counted from 1; None takes the key out."""

    run: int
    key: str
    value: Value | None


@dataclass(frozen=True, slots=True)
class Fuse:
    """The fuse of one way, counted from 1 [A]."""

    item: str
    way: int
    rating_a: float


@dataclass(frozen=True, slots=True)
class NewWire:
    """A wire that is added; ``keys`` are those beside id, ends and size."""

    wire: str
    start: str
    end: str
    size: str
    keys: tuple[tuple[str, Value], ...] = ()


@dataclass(frozen=True, slots=True)
class NewItem:
    """An item that is added; ``keys`` are those beside part and place."""

    item: str
    part: str
    place: str
    keys: tuple[tuple[str, Value], ...] = ()


@dataclass(frozen=True, slots=True)
class TableKey:
    """A key of ``[vehicle]`` or ``[limits]``; None takes the key out."""

    table: Literal["vehicle", "limits"]
    key: str
    value: Value | None


Change = WireKey | ItemKey | RunKey | Fuse | NewWire | NewItem | TableKey


def apply(text: str, changes: Iterable[Change]) -> str:
    """The text of a rig file with every change made, in order.

    Raises
    ------
    UnknownName
        Where the file has no such wire, item, run or way, or has the new wire already.
    InputError
        Where the text is not TOML.
    """
    for change in changes:
        match change:
            case WireKey():
                text = edit.set_wire(text, change.wire, **{change.key: change.value})
            case ItemKey():
                text = edit.set_item(text, change.item, **{change.key: change.value})
            case RunKey():
                text = edit.set_run(text, change.run, **{change.key: change.value})
            case Fuse():
                text = edit.set_fuse(text, change.item, change.way, change.rating_a)
            case NewWire():
                text = edit.add_wire(text, change.wire, change.start, change.end, change.size, **dict(change.keys))
            case NewItem():
                text = edit.add_item(text, change.item, change.part, change.place, **dict(change.keys))
            case TableKey():
                text = edit_vehicle.set_table(text, change.table, {change.key: change.value})
    return text


def told(text: str, changes: Sequence[Change]) -> tuple[str, ...]:
    """Each change in words, with what the file says now: ``P3: size 8 AWG → 4 AWG``."""
    try:
        data = tomli.loads(text)
    except ValueError:
        data = {}
    return tuple(_told(data, c) for c in changes)


def _told(data: Mapping[str, Any], change: Change) -> str:
    match change:
        case WireKey():
            wire: Mapping[str, Any] = next((w for w in data.get("wire", []) if w.get("id") == change.wire), {})
            return f"{change.wire}: {_key(wire, change.key, change.value)}"
        case ItemKey():
            return f"{change.item}: {_key(data.get('item', {}).get(change.item, {}), change.key, change.value)}"
        case RunKey():
            runs = data.get("run", [])
            run: Mapping[str, Any] = runs[change.run - 1] if 0 < change.run <= len(runs) else {}
            return f"run {change.run}: {_key(run, change.key, change.value)}"
        case Fuse():
            fuses = data.get("item", {}).get(change.item, {}).get("fuses_a", [])
            now = fuses[change.way - 1] if 0 < change.way <= len(fuses) else None
            way = f" in way {change.way}" if len(fuses) > 1 else ""
            return f"{change.item}: fuse{way} {_said('fuses_a', now)} {ARROW} {_said('fuses_a', change.rating_a)}"
        case NewWire():
            return f"{change.wire}: a new wire, {change.size}, from {change.start} to {change.end}"
        case NewItem():
            return f"{change.item}: a new item, {change.part}, in {change.place}"
        case TableKey():
            return f"{change.table}: {_key(data.get(change.table, {}), change.key, change.value)}"


def _key(table: Mapping[str, Any], key: str, value: Value | None) -> str:
    name = _NAMES.get(key, key)
    return f"{name} {_said(key, table.get(key, _USUAL.get(key)))} {ARROW} {_said(key, value)}"


def _said(key: str, value: object) -> str:
    if value is None or value == []:
        return "the usual one" if key.endswith("_joint") else "none"
    if isinstance(value, list | tuple):
        return " and ".join(str(v) for v in value)
    if isinstance(value, int | float) and not isinstance(value, bool):
        mark = "A" if key == "fuses_a" else unit(key)
        return f"{value:g} {_UNITS.get(mark, mark)}".strip()
    return str(value)
