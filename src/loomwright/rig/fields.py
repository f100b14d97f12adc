"""Every key of a rig file and of a catalogue as a row: what the reference page prints."""

from __future__ import annotations

from dataclasses import dataclass

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from loomwright.rig.holds import holds, keys, unit
from loomwright.rig.keys import (
    BandKeys,
    ItemKeys,
    LimitKeys,
    PanelKeys,
    PlaceKeys,
    RigKeys,
    RunKeys,
    VehicleKeys,
    WireKeys,
)
from loomwright.rig.part_keys import PART_KEYS, CatalogueKeys, TerminalKeys
from loomwright.rig.plan_keys import PlanKeys
from loomwright.rig.words import show

RIG_TABLES: tuple[tuple[str, type[BaseModel]], ...] = (
    ("top of the file", RigKeys),
    ("[vehicle]", VehicleKeys),
    ("[limits]", LimitKeys),
    ("[place.name]", PlaceKeys),
    ("[[run]]", RunKeys),
    ("[panel.name]", PanelKeys),
    ("[item.name]", ItemKeys),
    ("bands of an item", BandKeys),
    ("[[wire]]", WireKeys),
)
_SUBTABLES = ("vehicle", "limits", "place", "run", "panel", "item", "wire", "part")


@dataclass(frozen=True, slots=True)
class Row:
    """One key: the table it stands in, what it may hold, its unit, its default (empty: required), what it means."""

    table: str
    key: str
    type: str
    unit: str
    default: str
    description: str


def all_keys() -> tuple[Row, ...]:
    """Keys of the rig file, table by table, in the order in which they are best written."""
    return tuple(row for table, model in RIG_TABLES for row in rows_of(table, model))


def catalogue_keys() -> tuple[Row, ...]:
    """Keys of a catalogue: its head, then every family's part."""
    tables: list[tuple[str, type[BaseModel]]] = [("top of the catalogue", CatalogueKeys)]
    tables.append(("[part.name.terminal.group]", TerminalKeys))
    tables.append(("[part.name.plan]", PlanKeys))
    tables += [(f"[part.name], {family}", model) for family, model in PART_KEYS.items()]
    return tuple(row for table, model in tables for row in rows_of(table, model))


def rows_of(table: str, model: type[BaseModel]) -> list[Row]:
    """The keys of one table."""
    return [
        Row(
            table,
            name,
            holds(field),
            unit(name),
            _default(field),
            field.description or "",
        )
        for name, field in keys(model).items()
        if name not in _SUBTABLES or table not in ("top of the file", "top of the catalogue")
    ]


def _default(field: FieldInfo) -> str:
    if field.is_required():
        return ""
    value = field.get_default(call_default_factory=True)
    return "left out" if value in (None, [], {}, "") else f"{value:g}" if isinstance(value, float) else show(value)
