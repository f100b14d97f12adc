"""The answer as JSON, printed: one envelope for results, one shape for errors, for every command."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping

from loomwright.answer import plain, refusal, result
from loomwright.errors import Problem

__all__ = ["give", "plain", "refuse"]


def give(command: str, data: Mapping[str, object]) -> None:
    """Print the envelope of a command that has an answer."""
    _write(result(command, data))


def refuse(command: str, kind: str, problems: tuple[Problem, ...]) -> None:
    """Print the error shape."""
    _write(refusal(command, kind, problems))


def _write(document: Mapping[str, object]) -> None:
    # ASCII only: whatever the terminal or the pipe can carry, the bytes are the same.
    sys.stdout.write(json.dumps(document, indent=2, ensure_ascii=True, allow_nan=False) + "\n")
