"""The shop's stock: spools of wire with what is left, fuses, connectors, sheets of board and other things by count."""

from __future__ import annotations

import dataclasses
from typing import Any, get_args

from sqlalchemy import select
from sqlalchemy.orm import Session

from loomwright.errors import InputError, Problem, UnknownName
from loomwright.facts import conductors, fuses
from loomwright.jobs.errors import Overtaken
from loomwright.jobs.fields import check_id, line, new_id, number, problem, unknown
from loomwright.jobs.ledger import Ledger, now
from loomwright.jobs.model import StockLine
from loomwright.jobs.schema import StockRow
from loomwright.rig.model import Metal
from loomwright.rig.plan import Material
from loomwright.rig.words import nearest, plain, some

KINDS = ("wire", "fuse", "connector", "sheet", "other")
METALS: tuple[str, ...] = get_args(Metal)
COLOURS = ("BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "TQ")
"""Colour letters of IEC 60757."""
MAX_LENGTH_MM = 10_000_000.0
MAX_COUNT = 1_000_000
SHEET_MM, THICKNESS_MM = (50.0, 5000.0), (1.0, 50.0)
MATERIALS: tuple[str, ...] = get_args(Material)
_KEPT = {
    "wire": ("part", "size", "metal", "insulation_c", "colour", "length_mm", "note"),
    "fuse": ("part", "type", "rating_a", "count", "note"),
    "connector": ("part", "count", "note"),
    "sheet": ("material", "thickness_mm", "length_mm", "width_mm", "count", "note"),
    "other": ("part", "count", "note"),
}
_EMPTY = {f.name: f.default for f in dataclasses.fields(StockLine) if f.default is not dataclasses.MISSING}


class Stock(Ledger):
    """Lines of the stock."""

    def stock(self, removed: bool = False) -> tuple[StockLine, ...]:
        """All lines: wires by size, then fuses, connectors and the rest; or those that were taken off the list."""
        gone = StockRow.deleted_at.is_not(None) if removed else StockRow.deleted_at.is_(None)
        with self._read() as session:
            return tuple(sorted(map(as_line, session.scalars(select(StockRow).where(gone))), key=_order))

    def stock_line(self, line_id: str) -> StockLine:
        """One line. Raises UnknownName."""
        with self._read() as session:
            return as_line(_row(session, line_id))

    def add_stock(self, given: StockLine, by: str = "") -> StockLine:
        """A new line; id, number and time of what is given do not count. Raises InputError."""
        sound = checked(given)
        with self._write() as session:
            row = StockRow(id=new_id(), number=1, at=now(), by=line("by", by), **_columns(sound))
            session.add(row)
            self._log_shop(session, "stock", row.id, by)
            session.flush()
            return as_line(row)

    def save_stock(self, given: StockLine, by: str = "") -> StockLine:
        """Change a line; ``given.number`` says which one the writer saw.

        Raises
        ------
        Overtaken
            Where somebody else changed the line since. Nothing is written.
        InputError, UnknownName
            Where a field cannot be used, or there is no such line.
        """
        sound = checked(given)
        with self._write() as session:
            row = _row(session, given.id)
            if _columns(as_line(row)) == _columns(sound):
                return as_line(row)
            if row.number != given.number:
                raise Overtaken(as_line(row))
            for key, value in _columns(sound).items():
                setattr(row, key, value)
            row.number += 1
            row.at, row.by = now(), line("by", by)
            self._log_shop(session, "stock", row.id, by)
            return as_line(row)

    def remove_stock(self, line_id: str, by: str = "") -> StockLine:
        """Take a line off the list; :meth:`restore_stock` brings it back."""
        return self._strike_stock(line_id, True, by)

    def restore_stock(self, line_id: str, by: str = "") -> StockLine:
        """Bring a line back."""
        return self._strike_stock(line_id, False, by)

    def _strike_stock(self, line_id: str, out: bool, by: str) -> StockLine:
        with self._write() as session:
            row = _row(session, line_id)
            if (row.deleted_at is not None) != out:
                row.deleted_at = now() if out else None
                row.number += 1
                self._log_shop(session, "stock", row.id, by)
            return as_line(row)


def checked(given: StockLine) -> StockLine:
    """The line with every field in its normal form; fields that its kind does not have are emptied.

    Raises
    ------
    InputError
        With every problem found.
    """
    if given.kind not in KINDS:
        raise problem("kind", f"one of {', '.join(KINDS)}", f'"{plain(str(given.kind), 40)}"', "Choose one.", "stock")
    found: list[Problem] = []
    kept: dict[str, Any] = {}
    checks = _OF_SHEETS if given.kind == "sheet" else _CHECKS
    for key in _KEPT[given.kind]:
        try:
            kept[key] = checks[key](getattr(given, key))
        except InputError as error:
            found += error.problems
    if given.kind in ("connector", "other") and not found and not (kept["part"] or kept["note"]):
        found += problem("part", "a part of the catalogue, or a few words", "nothing", "Say what it is.").problems
    if found:
        raise InputError([dataclasses.replace(p, file="stock") for p in found])
    return dataclasses.replace(given, **{**{k: _EMPTY[k] for k in _EMPTY if k in _COLUMNS}, **kept})


def _size(given: str) -> str:
    try:
        row = conductors.parse_size(given)
    except UnknownName as error:
        what, _, hint = str(error).partition(". ")
        raise problem("size", "a size such as 8 AWG, 8 SAE or 8 mm2", f'"{plain(given, 40)}"', hint or what) from None
    if row.system == "bolted":
        raise problem("size", "a size such as 8 AWG, 8 SAE or 8 mm2", '"bolted"', "Choose the size on the reel.")
    return row.label


def _one_of(key: str, options: tuple[str, ...], given: str) -> str:
    if given not in options:
        near = nearest(given, options)
        remedy = f'Did you mean "{near}"?' if near else "Choose one of these."
        raise problem(key, f"one of {some(options, 20)}", f'"{plain(given, 40)}"', remedy)
    return given


def _colour(given: str) -> str:
    letters = given.strip().upper().replace("/", "").replace("-", "")
    pairs = [letters[n : n + 2] for n in range(0, len(letters), 2)]
    if len(pairs) > 3 or any(p not in COLOURS for p in pairs):
        expected = f"up to three of the letters {', '.join(COLOURS)}"
        raise problem("colour", expected, f'"{plain(given, 40)}"', "Write RD for red, RDBK for red with black.")
    return letters


def _insulation(given: int | None) -> int | None:
    if given is not None and given not in conductors.INSULATION_C:
        options = ", ".join(map(str, conductors.INSULATION_C))
        raise problem("insulation_c", f"one of {options} [C]", f"{given}", "Choose what the jacket says.")
    return given


def _amount(
    key: str, given: float | None, most: float, least: float = 0.0, how: str = "Measure or count it"
) -> float:  # fmt: skip
    if given is None:
        raise problem(key, f"a number from {least:g} to {most:,.0f}", "nothing", f"{how}, and type it in.")
    return number(key, given, least, most)


def _side(key: str, given: float | None, within: tuple[float, float] = SHEET_MM) -> float:
    return _amount(key, given, within[1], within[0], "Measure the sheet")


def _count(given: int | None) -> int:
    value = _amount("count", given, MAX_COUNT)
    if not value.is_integer():
        raise problem("count", "a whole number", f"{value:g}", "Count whole pieces.")
    return int(value)


def _rating(given: float | None) -> float:
    value = _amount("rating_a", given, 500)
    if value <= 0:
        raise problem("rating_a", "a rating above 0 A", f"{value:g}", "Type what is printed on the fuse.")
    return value


_CHECKS: dict[str, Any] = {
    "part": lambda v: line("part", v),
    "size": _size,
    "metal": lambda v: _one_of("metal", METALS, v),
    "insulation_c": _insulation,
    "colour": _colour,
    "length_mm": lambda v: _amount("length_mm", v, MAX_LENGTH_MM),
    "width_mm": lambda v: _side("width_mm", v),
    "thickness_mm": lambda v: _side("thickness_mm", v, THICKNESS_MM),
    "material": lambda v: _one_of("material", MATERIALS, v),
    "type": lambda v: _one_of("type", fuses.types(), v),
    "rating_a": _rating,
    "count": _count,
    "note": lambda v: line("note", v, 200),
}
_OF_SHEETS: dict[str, Any] = {**_CHECKS, "length_mm": lambda v: _side("length_mm", v)}
_COLUMNS = ("kind", *_CHECKS)


def _columns(given: StockLine) -> dict[str, Any]:
    return {k: getattr(given, k) for k in _COLUMNS}


def as_line(row: StockRow) -> StockLine:
    """The value of a row."""
    return StockLine(
        id=row.id, number=row.number, at=row.at, by=row.by, deleted_at=row.deleted_at,
        **{k: getattr(row, k) for k in _COLUMNS},
    )  # fmt: skip


def _order(found: StockLine) -> tuple[Any, ...]:
    area_mm2 = conductors.parse_size(found.size).area_mm2 if found.size else 0.0
    return (KINDS.index(found.kind), area_mm2, found.size, found.metal, found.colour, found.type, found.rating_a or 0.0,
            found.material, found.thickness_mm or 0.0, found.width_mm or 0.0, found.part, found.note,
            found.id)  # fmt: skip


def _row(session: Session, line_id: str) -> StockRow:
    row = session.get(StockRow, check_id("line of the stock", line_id))
    if row is None:
        raise unknown("line of the stock", line_id)
    return row
