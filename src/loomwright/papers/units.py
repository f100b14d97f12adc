"""Units on paper and screen: metric, or inches, degrees Fahrenheit, pounds and inch-pounds.

Results, rig files and JSON stay in millimetres and degrees Celsius. Here what has been said in them is said again in
another unit: in a sentence, in a table, in a drawing, in a table for a spreadsheet. A sentence says its figure to so
many places; it is said again with the fewest places that mean the same figure, or one within 0.2 % of it, so that
178 mm is 7 in and not 7.01.

1 in = 25.4 mm, 1 lb = 0.45359237 kg, F = 1.8 C + 32, all exactly; 1 lbf = 4.4482216 N (NIST SP 811, appendix B.8).
Sizes of conductors stay as the rig says them.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Literal

from loomwright.drawing.figures import MINUS, fixed, three
from loomwright.drawing.marks import Group, Mark, Sheet, Text
from loomwright.papers.cells import aligned

MM_PER_IN = 25.4
G_PER_OZ = 28.349523125
N_PER_LBF = 4.4482216152605
SAME_SHARE = 0.002
_SPACE = "[ \u2009\u00a0]"
_NUMBER = rf"[{MINUS}-]?\d+(?:\.\d+)?"
_SAID = re.compile(
    rf"(?<![\w.])({_NUMBER}(?:(?: to | of |/| [x×] ){_NUMBER})*)({_SPACE}?)"
    r"(mm|cm|km|m|°C|kg|g|N·m|Nm|N)(?![\w²³/·^-])"
)
_ONE = re.compile(_NUMBER)


@dataclass(frozen=True, slots=True)
class Other:
    """Another unit: its name, how a value turns into it, its sign at the end of a key."""

    name: str
    turn: Callable[[float], float]
    key: str = ""


_INCH = Other("in", lambda v: v / MM_PER_IN, "in")
_FAHRENHEIT = Other("°F", lambda v: 1.8 * v + 32.0, "f")
_INCH_POUND = Other("lbf·in", lambda v: 1000.0 * v / N_PER_LBF / MM_PER_IN, "lbf_in")
_BY_LENGTH = {
    "mm": _INCH,
    "cm": Other("in", lambda v: 10.0 * v / MM_PER_IN, "in"),
    "m": Other("ft", lambda v: 1000.0 * v / MM_PER_IN / 12.0, "ft"),
    "km": Other("mi", lambda v: v / 1.609344, "mi"),
    "g": Other("oz", lambda v: v / G_PER_OZ, "oz"),
    "kg": Other("lb", lambda v: 1000.0 * v / G_PER_OZ / 16.0, "lb"),
    "N": Other("lbf", lambda v: v / N_PER_LBF, "lbf"),
    "N·m": _INCH_POUND,
    "Nm": _INCH_POUND,
}
_KEYS = {"mm": "mm", "m": "m", "c": "°C", "g": "g", "n": "N", "nm": "N·m"}


@dataclass(frozen=True, slots=True)
class Units:
    """What a reader has chosen; with inches go ounces, pounds and inch-pounds."""

    length: Literal["mm", "in"] = "mm"
    temperature: Literal["C", "F"] = "C"

    def other(self, unit: str) -> Other | None:
        """What is said in place of a metric unit; None where it stays."""
        if unit in ("°C", "C"):
            return _FAHRENHEIT if self.temperature == "F" else None
        return _BY_LENGTH.get(unit) if self.length == "in" else None

    @property
    def metric(self) -> bool:
        """True where nothing is turned into another unit."""
        return self.length == "mm" and self.temperature == "C"

    def words(self, text: str) -> str:
        """A sentence with its lengths, temperatures, masses, forces and torques in these units.

        >>> US.words("Move the fuse within 178 mm of the battery (now 620 mm), wire 8 mm².")
        'Move the fuse within 7 in of the battery (now 24.4 in), wire 8 mm².'
        """
        return text if self.metric else _SAID.sub(self._said, text)

    def _said(self, found: re.Match[str]) -> str:
        other = self.other(found[3])
        if other is None:
            return found[0]
        return _ONE.sub(lambda m: alike(m[0], other.turn), found[1]) + found[2] + other.name

    def grid(self, table: dict[str, Any]) -> dict[str, Any]:
        """A table of papers with its columns in these units, and the words in its other cells."""
        if self.metric:
            return table
        others = [self.other(c["unit"]) for c in table["columns"]]
        columns = [
            {**c, "unit": o.name if o else c["unit"], "title": self.words(c["title"])}
            for c, o in zip(table["columns"], others, strict=True)
        ]
        rows = [
            [self._cell(cell, o) for cell, o in zip(row, others, strict=True)] for row in table["rows"]
        ]
        for k, (column, other) in enumerate(zip(columns, others, strict=True)):
            if other is not None and column["number"]:
                for row, (text, pad) in zip(rows, aligned([r[k]["text"] for r in rows]), strict=True):
                    row[k] = {**row[k], "text": text, "pad": pad}
        return {**table, "columns": columns, "rows": rows}

    def _cell(self, cell: dict[str, Any], other: Other | None) -> dict[str, Any]:
        text = str(cell["text"])
        if other is None:
            return {**cell, "text": self.words(text)}
        return {**cell, "text": _ONE.sub(lambda m: shown(other.turn(_value(m[0])), other.name), text)}

    def told(self, data: Any) -> Any:
        """Data for the typesetter in these units: every table and every sentence in it."""
        if self.metric:
            return data
        if isinstance(data, str):
            return self.words(data)
        if isinstance(data, dict):
            if "columns" in data and "rows" in data:
                return self.grid(data)
            if {"value", "unit"} <= data.keys():
                return self._figure(data)
            return {k: self.told(v) for k, v in data.items()}
        return [self.told(v) for v in data] if isinstance(data, list | tuple) else data

    def _figure(self, data: dict[str, Any]) -> dict[str, Any]:
        """A key figure: its value, its unit, and words about it."""
        other = self.other(data["unit"])
        said = {k: self.told(v) for k, v in data.items() if k != "value"}
        if other is None:
            return {**said, "value": data["value"]}
        return {**said, "value": _ONE.sub(lambda m: alike(m[0], other.turn), data["value"]), "unit": other.name}

    def sheet(self, drawing: Sheet) -> Sheet:
        """A drawing with its words in these units."""
        return drawing if self.metric else replace(drawing, marks=tuple(self._mark(m) for m in drawing.marks))

    def _mark(self, mark: Mark) -> Mark:
        if isinstance(mark, Text):
            said = self.words(mark.text)
            return mark if said == mark.text else replace(mark, text=said)
        if isinstance(mark, Group):
            return replace(mark, marks=tuple(self._mark(m) for m in mark.marks), title=self.words(mark.title))
        return mark

    def spreadsheet(self, text: str) -> str:
        """A table for a spreadsheet with its columns in these units; heads end in the unit, as in ``cut_mm``."""
        if self.metric:
            return text
        head, *rows = list(csv.reader(io.StringIO(text, newline="")))
        found = [h.rpartition("_") for h in head]
        others = [self.other(_KEYS[key]) if stem and key in _KEYS else None for stem, _, key in found]
        out = io.StringIO(newline="")
        writer = csv.writer(out, lineterminator="\r\n")
        writer.writerow([f"{f[0]}_{o.key}" if o else h for h, f, o in zip(head, found, others, strict=True)])
        for row in rows:
            writer.writerow([
                f"{other.turn(float(cell)):.4g}" if other is not None and _ONE.fullmatch(cell) else self.words(cell)
                for cell, other in zip(row, others, strict=True)
            ])  # fmt: skip
        return out.getvalue()


METRIC = Units()
US = Units("in", "F")


def alike(text: str, turn: Callable[[float], float]) -> str:
    """A figure in another unit, with the fewest places, two at the least, that mean the figure as it is written.

    >>> alike("178", lambda v: v / 25.4), alike("700", lambda v: v / 25.4), alike("35", lambda v: 1.8 * v + 32.0)
    ('7', '27.6', '95')
    """
    value = _value(text)
    half = 0.5 * 10.0 ** -len(text.partition(".")[2])
    exact = turn(value)
    if exact == 0.0:
        return "0"
    near = max(abs(turn(value + half) - exact), SAME_SHARE * abs(exact))
    decimals = 1 - math.floor(math.log10(abs(exact)))
    while abs(round(exact, decimals) - exact) > near:
        decimals += 1
    said = fixed(round(exact, decimals), max(0, decimals))
    return said.rstrip("0").rstrip(".") if "." in said else said


def shown(value: float, unit: str) -> str:
    """A figure of a column: tenths of an inch from ten inches up, whole degrees, else three significant digits."""
    if unit == "in":
        return fixed(value, 1 if abs(value) >= 10.0 else 2 if abs(value) >= 1.0 else 3)
    return fixed(value, 0) if unit == "°F" else three(value)


def _value(text: str) -> float:
    return float(text.replace(MINUS, "-"))
