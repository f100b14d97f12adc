"""Reading the data files: rows with their mark, source, note and unit, taken from above where a row is silent."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import Any, Literal, cast

Mark = Literal["published", "calculated", "common practice", "from memory"]
MARKS: tuple[Mark, ...] = ("published", "calculated", "common practice", "from memory")
FILES: tuple[str, ...] = (
    "adiabatic", "ampacity", "amplifiers", "assumptions", "batteries", "boards", "building", "charging", "conductors",
    "ends", "fuses", "harness", "hearing", "joints", "loudspeakers", "panel", "signal", "spectra", "spreads",
    "workmanship",
)
ABOUT: frozenset[str] = frozenset({"mark", "source", "note", "unit"})
_DATA = os.path.join(os.path.dirname(__file__), "data")


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a data file. A bare number in the file is the cell ``value``."""

    key: str                           # dotted path, the same as in ``figures``
    name: str                          # last part of the path
    mark: Mark
    source: str
    note: str
    unit: str                          # "" where each column's name ends in its unit
    cells: Mapping[str, Any] = field(hash=False, compare=False)

    @property
    def provisional(self) -> bool:
        """Whether the row rests on memory alone."""
        return self.mark == "from memory"

    def number(self, cell: str = "value") -> float:
        """One cell as a number. KeyError if the row has no such cell, TypeError if it is no number."""
        got = self.cells[cell]
        if isinstance(got, bool) or not isinstance(got, (int, float)):
            raise TypeError(f"{self.key}.{cell} is {got!r}, not a number")
        return float(got)

    def numbers(self, cell: str = "value") -> tuple[float, ...]:
        """One cell as a tuple of numbers."""
        return _numbers(self.key, cell, tuple(self.cells[cell]))

    def text(self, cell: str = "value") -> str:
        """One cell as text."""
        return str(self.cells[cell])


@cache
def _numbers(_key: str, _cell: str, values: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(float(v) for v in values)


@cache
def load(file: str) -> Mapping[str, Any]:
    """A whole data file as read. Don't change what it holds."""
    import tomli

    with open(os.path.join(_DATA, f"{file}.toml"), "rb") as f:
        return MappingProxyType(tomli.load(f))


@cache
def rows(file: str, path: str) -> Mapping[str, Row]:
    """Rows of the table at a dotted path, in the order of the file. KeyError if there is no such table.

    >>> rows("ampacity", "ampacity.engine_space")["105"].number("factor")
    0.85
    """
    table: Mapping[str, Any] = load(file)
    about = {k: v for k, v in table.items() if k in ABOUT}
    for step in _steps(table, path):
        table = table[step]
        about.update({k: v for k, v in table.items() if k in ABOUT})
    return MappingProxyType(
        {name: _row(f"{path}.{name}", name, value, about) for name, value in table.items() if name not in ABOUT}
    )


def row(file: str, key: str) -> Row:
    """One row by its dotted key, where no part of the key holds a dot."""
    path, _, name = key.rpartition(".")
    return rows(file, path)[name]


def _row(key: str, name: str, value: Any, above: Mapping[str, Any]) -> Row:
    cells: dict[str, Any]
    about = dict(above)
    if isinstance(value, dict):
        cells = {k: v for k, v in value.items() if k not in ABOUT}
        about.update({k: v for k, v in value.items() if k in ABOUT})
    else:
        cells = {"value": value}
    return Row(
        key=key,
        name=name,
        mark=cast(Mark, about.get("mark", "")),
        source=str(about.get("source", "")),
        note=str(about.get("note", "")),
        unit=str(about.get("unit", "")),
        cells=MappingProxyType(cells),
    )


def _steps(table: Mapping[str, Any], path: str) -> list[str]:
    """Split a dotted path along names that exist, longest first: names such as ``1.35`` hold dots themselves."""
    if not path:
        return []
    for name in sorted(table, key=len, reverse=True):
        if path == name:
            return [name]
        if path.startswith(name + ".") and isinstance(table[name], dict):
            return [name, *_steps(table[name], path[len(name) + 1 :])]
    raise KeyError(path)
