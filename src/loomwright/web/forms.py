"""Forms for the tables of a rig file, made from the keys that they may hold.

A key that the rig file knows has a field: what it may hold, its unit and its meaning come from the same model that
checks the file. Only what was changed is written.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Literal

from annotated_types import MaxLen
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from loomwright.errors import InputError
from loomwright.rig import holds, impedance
from loomwright.rig.edit import Value
from loomwright.rig.report import Report
from loomwright.web.units import Units

Shape = Literal["number", "text", "prose", "one", "many", "tick", "two", "pairs", "rows", "figures", "names"]
Given = Mapping[str, "str | list[str]"]
LABELS = {
    "ambient_c": "Hottest air", "as_sold": "What the reel says", "bundle_basis": "Bundles are derated",
    "charge_pct": "Charge at the start", "comes_off": "Comes off", "crank_a": "Starter draws",
    "crank_min_v": "Least volts while cranking", "cruise_rpm": "Engine speed, cruise", "demo": "Invented data",
    "drop_v": "Most volts lost", "engine_space": "In the engine space", "from": "From", "from_joint": "Joint at from",
    "id": "Number on its label", "idle_rpm": "Engine speed, idle", "insulation_c": "Insulation",
    "listening_mm": "To the nearest ear", "measured_mohm": "Resistance as measured",
    "at_mm": "Place on the panel: across, down", "corners_mm": "Corners: across, down, bulge",
    "edge_mm": "Body to the edge, at least", "entry_mm": "Wires leave at: across, down", "fixed": "Stays where it is",
    "holes_mm": "Holes: across, down, diameter", "keep_outs_mm": "Keep free: across, down, width, height",
    "layer": "Layer, 2 on spacers",
    "outline_file": "File of a traced outline", "panel": "On the panel", "pull_out_mm": "Comes out by",
    "screw_edge_mm": "Screw to the edge, at least", "spacer_mm": "Spacers of a second layer",
    "space_mm": "Free height above it", "turn_deg": "Turned clockwise", "turns": "Turns that are welcome",
    "upright": "It stands upright",
    "alignment": "Kind", "channels": "On channels", "high_pass_hz": "Nothing below", "low_pass_hz": "Nothing above",
    "limit_w": "Limiter", "slope_db": "How steep",
    "bend_radius_mm": "Tightest bend on the way", "hole_mm": "Smallest hole on the way", "key": "Keying fitted",
    "slack_mm": "Spare wire at each end", "sockets": "Half with the sockets", "supports_mm": "Widest between supports",
    "tail_mm": "From the end of the runs to its terminals",
    "box_l": "Net volume of the box", "gains_v": "Line input for full output, channel by channel",
    "impedance": "Impedance as measured",
    "impedance_file": "File with the impedance", "mounting": "Mounted in", "port_hz": "Box tuned to",
    "remote_off_ms": "Remote output dead after", "remote_on_ms": "Remote output live after",
    "min_amp_v": "Least volts at the amplifiers", "engine": "Engine, for these volts",
    "programme": "How loud, for these volts", "stock": "Wire sizes in stock", "returns": "Amplifiers return by",
    "block_places": "Fused blocks only at", "kind": "What it is",
    "wrong_fuse_sizes": "Wires stand a fuse too large by, sizes",
    "resistance_factor": "Battery resistance against new",
    "session_engine": "Engine in that time", "session_h": "Listening time",
    "session_programme": "How loud in that time", "temperature_c": "Hottest air here", "to": "To",
    "to_joint": "Joint at to", "via": "Led over these places, in order", "wet": "Water reaches it",
}  # fmt: skip
_PROSE_FROM = 1000
_PAIR = re.compile(r"\s*(\d+)\s*[+&-]\s*(\d+)\s*")


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a form.

    ``value`` is what the file has, as shown; ``usual`` is what counts where it is left out; ``choices`` are what the
    file would hold, each with how it is shown.
    """

    name: str
    label: str
    shape: Shape
    unit: str
    hint: str
    value: str | tuple[str, ...]
    choices: tuple[tuple[str, str], ...]
    usual: str
    required: bool
    most: int


def fields(
    model: type[BaseModel], names: Iterable[str], table: Mapping[str, Any], units: Units,
    choices: Mapping[str, Sequence[str]],
) -> tuple[Field, ...]:  # fmt: skip
    """The fields for some keys of a table. ``choices`` are those that depend on the rig: places, batteries, joints."""
    return tuple(_field(model, name, table.get(name), units, choices.get(name)) for name in names)


def _field(
    model: type[BaseModel], name: str, value: Any, units: Units, choices: Sequence[str] | None
) -> Field:
    field, unit = _empty(model, name, units, choices is not None), holds.unit(name)
    found = field.choices if choices is None else tuple((c, c) for c in choices)
    return replace(field, value=_shown(field.shape, value, unit, units), choices=found)


@lru_cache(1000)
def _empty(model: type[BaseModel], name: str, units: Units, offered: bool) -> Field:
    """The field for a key before it has a value: what follows from the key alone."""
    info = holds.keys(model)[name]
    shape = _shape(name, info, offered)
    asked = holds.asked(info)
    inside = asked.element().choices if shape == "many" else asked.choices
    default = None if info.is_required() else info.get_default(call_default_factory=True)
    unit = holds.unit(name)
    most = next((m.max_length for m in info.metadata if isinstance(m, MaxLen)), 200)
    return Field(
        name=name,
        label=LABELS.get(name, words(name, unit)),
        shape=shape,
        unit=units.name(unit),
        hint=(info.description or "").replace("`", ""),
        value=_shown(shape, None, unit, units),
        choices=tuple((str(c), units.shown(c, unit)) for c in inside),
        usual="" if shape in ("many", "two", "rows", "figures", "names") else str(_shown(shape, default, unit, units)),
        required=info.is_required(),
        most=most,
    )


def _shape(name: str, info: FieldInfo, offered: bool) -> Shape:
    asked = holds.asked(info)
    if name == "between":
        return "two"
    if name == "bridged":
        return "pairs"
    if name == "impedance":
        return "rows"
    if asked.is_list and asked.element().is_list:
        return "rows"
    if asked.is_list and asked.element().annotation is float:
        return "figures"
    if asked.is_list:
        return "many" if asked.element().choices or offered else "names"
    if asked.choices or offered:
        return "one"
    if asked.annotation is bool:
        return "tick"
    if asked.annotation is str:
        return "prose" if any(m.max_length > _PROSE_FROM for m in info.metadata if isinstance(m, MaxLen)) else "text"
    return "number"


def words(name: str, unit: str) -> str:
    """What a key without a label of its own is called: its name without its unit."""
    stem = name.rpartition("_")[0] if unit and "_" in name else name
    return stem.replace("_", " ").capitalize()


def _shown(shape: Shape, value: Any, unit: str, units: Units) -> str | tuple[str, ...]:
    if shape in ("many", "two"):
        return tuple(str(v) for v in value) if isinstance(value, list) else ()
    if shape == "pairs":
        return ", ".join(" + ".join(map(str, p)) for p in value) if isinstance(value, list) else ""
    if shape == "names":
        return ", ".join(map(str, value)) if isinstance(value, list) else ""
    if shape == "figures":
        return ", ".join(f"{v:.12g}" for v in value) if isinstance(value, list) else ""
    if shape == "rows":
        return "\n".join(" ".join(f"{v:.12g}" for v in row) for row in value) if isinstance(value, list) else ""
    if shape == "tick":
        return "yes" if value is True else ""
    if shape == "number":
        return units.shown(value, unit)
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)


def changes(
    model: type[BaseModel], table: Mapping[str, Any], given: Given, units: Units
) -> dict[str, Value | None]:
    """The keys that a filled-in form changes, as the file would hold them; None for a key that was emptied."""
    known = holds.keys(model)
    out: dict[str, Value | None] = {}
    for name, typed in given.items():
        field = _field(model, name, table.get(name), units, None)
        new = tuple(typed) if isinstance(typed, list) else typed.replace("\r\n", "\n").strip()
        if field.shape == "many" and sorted(new) == sorted(field.value):
            continue
        was = field.value.strip() if isinstance(field.value, str) else field.value
        if new != was and not (new == field.usual and not was):
            out[name] = _value(field, new, known[name], units)
    return out


def _value(field: Field, new: str | tuple[str, ...], info: FieldInfo, units: Units) -> Value | None:
    if isinstance(new, tuple):
        element = holds.asked(info).element()
        numbers = element.annotation is int or any(isinstance(c, int) for c in element.choices)
        found: list[Any] = [units.typed(v) for v in new] if numbers else list(new)
        return found or ([] if field.required else None)
    if field.shape == "tick":
        return True if new else None
    if not new:
        return "" if field.required and field.shape in ("text", "prose", "one") else None
    if field.shape == "number":
        return units.typed(new, holds.unit(field.name))
    if field.shape == "pairs":
        found = [_PAIR.fullmatch(p) for p in new.split(",")]
        return [[int(p[1]), int(p[2])] for p in found if p] if all(found) else new
    if field.shape == "names":
        return [name for part in new.split(",") if (name := part.strip())]
    if field.shape == "figures":
        return [units.typed(v) or 0 for v in re.split(r"[;\s]+|,\s+", new) if v]
    if field.shape == "rows":
        return _curve(new) if field.name == "impedance" else _rows(new, units, holds.unit(field.name))
    if any(isinstance(c, int) for c in holds.asked(info).choices):
        return units.typed(new)
    return new


def _rows(text: str, units: Units, unit: str) -> list[list[Any]]:
    """One list of figures for each line. What is no figure stays as it was typed, for the check to say so."""
    lines = [re.split(r"[;\s]+|,\s+", line.strip()) for line in text.splitlines() if line.strip()]
    return [[units.typed(v, unit) for v in line if v] for line in lines]


def _curve(text: str) -> list[list[float]]:
    """Rows of hertz, ohm and degrees from columns as a meter exports them. Raises InputError with the lines."""
    report = Report("impedance")
    found = impedance.parse(text, report)
    if found is None:
        raise InputError([replace(p, place=f"impedance, {p.place}") for p in report.problems])
    return [list(row) for row in zip(found.frequency_hz, found.ohm, found.degrees, strict=True)]
