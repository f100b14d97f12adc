"""A finding: what a check says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["Stop", "Fix", "Know"]
SEVERITIES: tuple[Severity, ...] = ("Stop", "Fix", "Know")


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a check found.

    ``where`` lists ids as in the rig (items, wires, places, ``run 2``); ``evidence`` carries numbers with units;
    ``remedy`` is an instruction; ``source`` names a published source, or ``common practice``, or ``from memory``.
    """

    code: str            # "E101"
    severity: Severity
    title: str           # short, the same for every finding of this code
    where: tuple[str, ...]
    evidence: str
    remedy: str
    source: str
    provisional: bool = False
