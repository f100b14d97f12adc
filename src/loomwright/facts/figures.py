"""Every figure by name, for ``explain`` and for the papers.

A figure's name is its path in the data files: ``conductor.awg.8.area_mm2``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, cast

from loomwright.facts.names import unknown
from loomwright.facts.tables import ABOUT, FILES, Mark, load

# What the end of a column's name says; the longest end wins.
UNITS: Mapping[str, str] = MappingProxyType(
    {
        "_a": "A", "_a2s": "A2s", "_ah": "Ah", "_c": "C", "_cmil": "cmil", "_db": "dB", "_h": "h", "_lbf": "lbf",
        "_ma": "mA", "_mm": "mm", "_mm2": "mm2", "_mohm": "mOhm", "_mohm_per_m": "mOhm/m", "_ohm": "ohm",
        "_pct": "%", "_rpm": "rpm", "_s": "s", "_v": "V", "_w": "W", "_mv_per_c": "mV/C", "_g": "g", "_n": "N",
        "_uf": "uF", "_hz": "Hz", "_uh_per_m": "uH/m", "kg_per_m3": "kg/m3", "m_per_s": "m/s",
        "_dbfs": "dB", "_ms": "ms", "_nm": "Nm", "time_min": "min",
    }
)


@dataclass(frozen=True, slots=True)
class Figure:
    """One published, calculated, customary or remembered figure."""

    key: str
    value: float | str
    unit: str                          # "" for a ratio, a count or a word
    mark: Mark
    source: str
    note: str

    @property
    def provisional(self) -> bool:
        """Whether it rests on memory alone."""
        return self.mark == "from memory"


def figure(key: str) -> Figure:
    """The figure by that name. Raises UnknownName with the nearest names."""
    try:
        return _registry()[key]
    except KeyError:
        below = [k for k in _registry() if k.startswith(key + ".")]
        raise unknown("figure", key, below or _registry()) from None


def figures_below(path: str) -> tuple[Figure, ...]:
    """All figures whose name is ``path`` or starts with it: ``conductor.awg.8`` gives that row."""
    return tuple(f for k, f in _registry().items() if k == path or k.startswith(path + "."))


def all_figures() -> tuple[Figure, ...]:
    """Every figure, in the order of the data files."""
    return tuple(_registry().values())


@cache
def _registry() -> Mapping[str, Figure]:
    found = (f for file in FILES for f in _walk("", load(file), {}))
    return MappingProxyType({f.key: f for f in found})


def _walk(path: str, table: Mapping[str, Any], above: Mapping[str, str]) -> Iterator[Figure]:
    about = {**above, **{k: v for k, v in table.items() if k in ABOUT}}
    for name, value in table.items():
        if name in ABOUT:
            continue
        key = f"{path}.{name}" if path else name
        if isinstance(value, dict):
            yield from _walk(key, value, about)
            continue
        unit = about.get("unit") or _unit(name)
        yield Figure(
            key=path if name == "value" else key,
            value=_plain(value),
            unit=unit,
            mark=cast(Mark, about.get("mark", "")),
            source=about.get("source", ""),
            note=about.get("note", ""),
        )


@cache
def _unit(name: str) -> str:
    end = max((e for e in UNITS if ("_" + name).endswith(e)), key=len, default="")
    return UNITS.get(end, "")


def _plain(value: object) -> float | str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return float(value)
    if isinstance(value, list):
        return ", ".join(f"{v:g}" if isinstance(v, (int, float)) else str(v) for v in value)
    return str(value)
