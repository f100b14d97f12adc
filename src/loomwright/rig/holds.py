"""What a key may hold, in words: its type, its bounds, its unit."""

from __future__ import annotations

import types
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, MaxLen, MinLen
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from loomwright.rig.keys import FUSE_RULE
from loomwright.rig.words import show

_UNITS = (
    ("_mv_per_c", "mV/C"), ("_mohm", "mohm"), ("_ohm", "ohm"), ("_mm2", "mm2"), ("_mm", "mm"), ("_rpm", "rpm"),
    ("_pct", "%"), ("_ma", "mA"), ("_ah", "Ah"), ("_uf", "uF"), ("_mh", "mH"), ("_a", "A"), ("_v", "V"), ("_w", "W"),
    ("_ms", "ms"), ("_hz", "Hz"), ("_db", "dB"), ("_cm2", "cm2"), ("_l", "l"), ("_h", "h"), ("_c", "C"), ("_g", "g"),
)  # fmt: skip
_OWN_UNIT = {"acceptance_c": "1/h", "rpm": "rpm"}


@lru_cache(1000)
def unit(key: str) -> str:
    """Unit that a key's name ends in; empty where it has none."""
    if key in _OWN_UNIT:
        return _OWN_UNIT[key]
    return next((u for ending, u in _UNITS if key.endswith(ending)), "")


def keys(model: type[BaseModel]) -> dict[str, FieldInfo]:
    """Fields of a table under the names the file uses."""
    return {f.alias or name: f for name, f in model.model_fields.items()}


def expected(key: str, field: FieldInfo) -> str:
    """What a key may hold, in words and with its unit: ``a number from 0 to 70 [C]``."""
    return asked(field).words(unit(key))


def holds(field: FieldInfo) -> str:
    """What a key may hold, in words: ``a number from 0 to 70``."""
    return asked(field).words()


@dataclass(frozen=True, slots=True)
class Asked:
    """What a value may be: its type and what bounds it."""

    annotation: Any
    metadata: tuple[Any, ...] = ()

    def words(self, mark: str = "") -> str:
        """In words, with a unit: ``a number from 0 to 70 [C]``."""
        return _one(self.annotation, self.metadata) + (f" [{mark}]" if mark else "")

    def element(self) -> Asked:
        """What one value of a list may be; the same where it is no list."""
        return asked_of(get_args(self.annotation)[0]) if self.is_list else self

    @property
    def is_list(self) -> bool:
        return get_origin(self.annotation) is list

    @property
    def bounds(self) -> tuple[float | None, float | None]:
        """Lowest and highest, where there are any; a bound that is itself too low counts as the lowest."""
        low, above = _bound(self.metadata, Ge, "ge"), _bound(self.metadata, Gt, "gt")
        return (above if low is None else low), _bound(self.metadata, Le, "le")

    @property
    def choices(self) -> tuple[Any, ...]:
        """The values of a ``Literal``; empty for another type."""
        return get_args(self.annotation) if get_origin(self.annotation) is Literal else ()


def asked(field: FieldInfo) -> Asked:
    """What a key's value may be."""
    return asked_of(field.annotation, field.metadata)


def asked_of(annotation: Any, metadata: Sequence[Any] = ()) -> Asked:
    """What a value of this type may be: ``Annotated`` and ``| None`` taken off."""
    bare, bounds = _plain(annotation, metadata)
    return Asked(bare, tuple(bounds))


def _one(annotation: Any, metadata: Sequence[Any]) -> str:
    annotation, metadata = _plain(annotation, metadata)
    origin = get_origin(annotation)
    if origin is Literal:
        words = [show(v) for v in get_args(annotation)]
        return words[0] if len(words) == 1 else "one of " + ", ".join(words)
    if origin is list:
        return f"a list of {_many(annotation, metadata)}"
    if annotation is bool:
        return "true or false"
    if annotation is float:
        return f"a number{_range(metadata)}"
    if annotation is int:
        return f"a whole number{_range(metadata)}"
    if annotation is str:
        high = _bound(metadata, MaxLen, "max_length")
        return "text" + (f" of at most {high:,} characters" if high is not None else "")
    return FUSE_RULE if annotation is Any else "a table"


def _many(annotation: Any, metadata: Sequence[Any]) -> str:
    """The values of a list: ``2 whole numbers``, ``any of ..``."""
    low, high = _bound(metadata, MinLen, "min_length"), _bound(metadata, MaxLen, "max_length")
    count = f"{low} " if low is not None and low == high else ""
    inner, more = _plain(get_args(annotation)[0], ())
    if get_origin(inner) is list:
        return f"{count}lists of {_many(inner, more)}"
    one = _one(inner, more)
    if one.startswith("one of "):
        return f"any of {one.removeprefix('one of ')}"
    if one.startswith(("a number", "a whole number")):
        return count + one.removeprefix("a ").replace("number", "numbers", 1)
    if one == "a table":
        return f"{count}tables"
    return f"{count}names" if one.startswith("text") else one


def _plain(annotation: Any, metadata: Sequence[Any]) -> tuple[Any, Sequence[Any]]:
    """The type itself and what bounds it: ``Annotated`` and ``| None`` taken off."""
    while True:
        if get_origin(annotation) is Annotated:
            annotation, *more = get_args(annotation)
            metadata = [*metadata, *(m for x in more for m in (x.metadata if isinstance(x, FieldInfo) else [x]))]
            continue
        options = [a for a in get_args(annotation) if a is not type(None)]
        if get_origin(annotation) in (Union, types.UnionType) and len(options) == 1:
            annotation = options[0]
            continue
        return annotation, metadata


def _bound(metadata: Sequence[Any], kind: type, attribute: str) -> Any:
    return next((getattr(m, attribute) for m in metadata if isinstance(m, kind)), None)


def _range(metadata: Sequence[Any]) -> str:
    low, above = _bound(metadata, Ge, "ge"), _bound(metadata, Gt, "gt")
    high = _bound(metadata, Le, "le")
    if low is not None:
        text = f" from {_figure(low)}"
    else:
        text = f" above {_figure(above)}" if above is not None else ""
    if high is None:
        return text
    return f"{text} to {_figure(high)}" if low is not None else f"{text}{' and' if text else ''} up to {_figure(high)}"


def _figure(value: float) -> str:
    return f"{value:,.0f}" if float(value).is_integer() else f"{value:,g}"
