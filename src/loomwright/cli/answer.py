"""The answer as JSON: one envelope for results, one shape for errors, for every command."""

from __future__ import annotations

import dataclasses
import json
import math
import sys
from collections.abc import Mapping
from pathlib import PurePath
from typing import Any

from loomwright import __version__
from loomwright.errors import Problem


def plain(value: object) -> Any:
    """A result as plain JSON values.

    Dataclasses become objects under their field names (which carry the units), tuples become lists, and a number
    that is not finite becomes null: *never*, *none*, *no limit*.
    """
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
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
    number = float(value)  # type: ignore[arg-type]
    return number if math.isfinite(number) else None


def _key(key: object) -> str:
    return "/".join(str(k) for k in key) if isinstance(key, tuple) else str(key)


def give(command: str, data: Mapping[str, object]) -> None:
    """Print the envelope of a command that has an answer."""
    _write({"loomwright": __version__, "command": command, "ok": True, "data": plain(data)})


def refuse(command: str, kind: str, problems: tuple[Problem, ...]) -> None:
    """Print the error shape."""
    error = {"kind": kind, "problems": plain(problems)}
    _write({"loomwright": __version__, "command": command, "ok": False, "error": error})


def _write(document: Mapping[str, object]) -> None:
    # ASCII only: whatever the terminal or the pipe can carry, the bytes are the same.
    sys.stdout.write(json.dumps(document, indent=2, ensure_ascii=True, allow_nan=False) + "\n")
