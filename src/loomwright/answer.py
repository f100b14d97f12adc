"""Results as plain JSON values, in one envelope; errors in one shape. The same for the command line and the browser."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Mapping
from datetime import datetime
from functools import cache
from pathlib import PurePath
from typing import Any

from loomwright import __version__
from loomwright.errors import Problem

_AS_THEY_ARE = frozenset({str, int, bool, type(None)})


def plain(value: object) -> Any:
    """A result as plain JSON values.

    Dataclasses become objects under their field names (which carry the units), tuples become lists, and a number
    that is not finite becomes null: *never*, *none*, *no limit*.
    """
    if type(value) in _AS_THEY_ARE:
        return value
    if type(value) is float:
        return value if math.isfinite(value) else None
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {name: plain(getattr(value, name)) for name in _fields(type(value))}
    if isinstance(value, Mapping):
        return {_key(k): plain(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(v) for v in value]
    if isinstance(value, (set, frozenset)):
        return sorted(plain(v) for v in value)
    if value is None or isinstance(value, (str, bool, int)):
        return value
    if isinstance(value, PurePath):
        return str(value)
    if isinstance(value, datetime):
        return value.isoformat()
    number = float(value)  # type: ignore[arg-type]
    return number if math.isfinite(number) else None


@cache
def _fields(kind: type[Any]) -> tuple[str, ...]:
    return tuple(f.name for f in dataclasses.fields(kind))


def _key(key: object) -> str:
    return "/".join(str(k) for k in key) if isinstance(key, tuple) else str(key)


def result(command: str, data: Mapping[str, object]) -> dict[str, Any]:
    """The envelope of an answer."""
    return {"loomwright": __version__, "command": command, "ok": True, "data": plain(data)}


def refusal(command: str, kind: str, problems: Iterable[Problem]) -> dict[str, Any]:
    """The shape of an error."""
    error = {"kind": kind, "problems": plain(tuple(problems))}
    return {"loomwright": __version__, "command": command, "ok": False, "error": error}
