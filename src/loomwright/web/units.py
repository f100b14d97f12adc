"""Units on the screen: what the shop reads its lengths, temperatures and wire sizes in.

Results, rig files and JSON stay in millimetres and degrees Celsius. Only here is a figure turned into another unit to
be shown, and turned back when it was typed. 1 in = 25.4 mm exactly; F = 1.8 C + 32 exactly.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache

from markupsafe import Markup

from loomwright.drawing.figures import NOTHING, THIN_SPACE, fixed, three
from loomwright.errors import UnknownName
from loomwright.facts import conductors
from loomwright.jobs.model import Settings
from loomwright.papers import units
from loomwright.papers.units import MM_PER_IN

_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": MM_PER_IN, '"': MM_PER_IN, "ft": 12.0 * MM_PER_IN}
_WITH_UNIT = re.compile(r"(.*?)\s*(mm|cm|m|in|ft|\")")
_BETWEEN_TAGS = re.compile(r"(?<=>)[^<>]+(?=<)")
_PARTS = re.compile(r"(?:(\d+)[ -])?(\d+)/(\d+)")
_MINUS = "\u2212"


@dataclass(frozen=True, slots=True)
class Units(units.Units):
    """What a reader has chosen."""

    both_sizes: bool = False

    @property
    def mark(self) -> str:
        """The choice as a form sends it along, so that a figure is read in the unit that it was asked for in."""
        return f"{self.length} {self.temperature}"

    @property
    def degree(self) -> str:
        """Unit of temperatures."""
        return f"°{self.temperature}"

    def name(self, unit: str) -> str:
        """What a unit is called on the screen: ``mm``, ``C`` and ``°C`` by choice, others in the trade's signs."""
        if unit in ("C", "°C"):
            return self.degree
        signs = {"mm": self.length, "ohm": "Ω", "mohm": "mΩ", "mm2": "mm²", "uF": "μF"}
        return signs.get(unit, unit)

    def mm(self, value_mm: float | None) -> str:
        """A length without its unit: whole millimetres, or inches with one decimal."""
        if value_mm is None:
            return NOTHING
        return fixed(value_mm, 0) if self.length == "mm" else fixed(value_mm / MM_PER_IN, 1)

    def strip(self, value_mm: float) -> str:
        """A strip length without its unit: to half a millimetre, or to hundredths of an inch."""
        return f"{value_mm:g}" if self.length == "mm" else fixed(value_mm / MM_PER_IN, 2)

    @property
    def torque_unit(self) -> str:
        """What torques are read in."""
        other = self.other("N·m")
        return other.name if other else "N·m"

    def torque(self, value_nm: float) -> str:
        """A torque without its unit: tenths of a newton metre, or whole inch-pounds."""
        other = self.other("N·m")
        return fixed(other.turn(value_nm), 0) if other else fixed(value_nm, 1)

    def celsius(self, value_c: float | None) -> str:
        """A temperature without its unit, in whole degrees."""
        if value_c is None:
            return NOTHING
        return fixed(value_c if self.temperature == "C" else 1.8 * value_c + 32.0, 0)

    def size(self, label: str) -> str:
        """A conductor size, with its metal area, or for a metric one the AWG nearest to it, where both are wanted."""
        if not self.both_sizes:
            return label
        other = _other_size(label.partition(" (")[0])
        return f"{label} · {other}" if other else label

    def drawing(self, svg: str) -> Markup:
        """A drawing, an ``svg`` element, with its words in these units."""
        if self.metric:
            return Markup(svg)
        return Markup(_BETWEEN_TAGS.sub(lambda m: self.words(m[0]), svg))

    def shown(self, value: object, unit: str) -> str:
        """A number of a rig file as a form shows it: enough digits to be typed again."""
        if not isinstance(value, int | float) or isinstance(value, bool):
            return "" if value is None else str(value)
        if unit == "mm" and self.length == "in":
            return _short(value / MM_PER_IN, 3)
        if unit == "C" and self.temperature == "F":
            return _short(1.8 * value + 32.0, 2)
        return f"{value:.12g}"

    def typed(self, text: str, unit: str = "") -> float | str | None:
        """A number as typed, in the rig file's unit; None for nothing; what is none as it is, for the rig to refuse.

        A length may carry its own unit, ``18.5 m`` or ``17 3/4 in``, whatever the reader has chosen.
        """
        if unit == "mm":
            return self._typed_mm(text)
        value = number(text)
        if value is None or isinstance(value, str):
            return value
        if unit == "C" and self.temperature == "F":
            return _whole(round((value - 32.0) / 1.8, 3))
        return value

    def _typed_mm(self, text: str) -> float | str | None:
        found = _WITH_UNIT.fullmatch(text.strip())
        value = number(found[1] if found else text)
        if isinstance(value, str):
            value = _with_fraction(value)
        if value is None or isinstance(value, str):
            return number(text)
        return _whole(round(value * _MM[found[2] if found else self.length], 3))

    def spool(self, value_mm: float | None) -> str:
        """A length of stock with its unit: metres, or feet."""
        if value_mm is None:
            return NOTHING
        name = "m" if self.length == "mm" else "ft"
        return f"{fixed(value_mm / _MM[name], 1)}{THIN_SPACE}{name}"


def of(settings: Settings) -> Units:
    """The units of a shop's settings."""
    return Units(settings.length_unit, settings.temperature_unit, settings.wire_size == "both")


def read(mark: str) -> Units:
    """The units that a form was filled in with, as :attr:`Units.mark`; millimetres and Celsius for anything else."""
    length, _, temperature = mark.partition(" ")
    units = replace(Units(), length="in") if length == "in" else Units()
    return replace(units, temperature="F") if temperature == "F" else units


def figure(value: float | None, decimals: int) -> str:
    """A number for a cell; a dash where there is none."""
    return NOTHING if value is None else fixed(value, decimals)


def number(text: str) -> float | str | None:
    """A number as typed, comma or point; None for nothing; anything else as it is."""
    given = text.strip().replace(",", ".").replace(_MINUS, "-")
    if not given:
        return None
    try:
        value = float(given)
    except ValueError:
        return given
    return _whole(value)


def _whole(value: float) -> float:
    return int(value) if value.is_integer() and abs(value) < 1e15 else value


def _short(value: float, decimals: int) -> str:
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _with_fraction(text: str) -> float | str:
    """A number with a fraction, as a tape in inches shows it: ``17 3/4``."""
    found = _PARTS.fullmatch(" ".join(text.split()))
    if found is None or int(found[3]) == 0:
        return text
    return float(int(found[1] or 0) + Fraction(int(found[2]), int(found[3])))


@cache
def _other_size(label: str) -> str:
    try:
        row = conductors.parse_size(label)
    except UnknownName:
        return ""
    if row.system == "bolted":
        return ""
    if row.system != "mm2":
        return f"{three(row.area_mm2)}{THIN_SPACE}mm²"
    near = min(conductors.sizes("AWG"), key=lambda s: abs(s.area_mm2 / row.area_mm2 - 1.0))
    return f"near {near.label}"
