"""A finding: what a check says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["Stop", "Fix", "Know"]
SEVERITIES: tuple[Severity, ...] = ("Stop", "Fix", "Know")
Mark = Literal["published", "calculated", "common practice", "from memory"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a check found.

    ``where`` lists ids as in the rig (items, wires, places, ``run 2``); ``evidence`` carries numbers with units;
    ``remedy`` is an instruction; ``source`` names what the rule rests on and ``mark`` says of what kind that is.
    ``provisional`` is set where the verdict rests on a figure from memory that may change it.
    """

    code: str            # "E101"
    severity: Severity
    title: str           # short, the same for every finding of this code
    where: tuple[str, ...]
    evidence: str
    remedy: str
    source: str
    provisional: bool = False
    mark: Mark = "common practice"
