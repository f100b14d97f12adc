"""Run every check on a study."""

from __future__ import annotations

from loomwright.findings.model import SEVERITIES, Finding
from loomwright.findings.registry import all_checks
from loomwright.study import Study

PANELS = ("panels", "boards", "laying")
LAYING = "laying"
"""Checks of leads on panels. Leads take a moment to lay, so these run only where a panel is asked for."""


def check(study: Study) -> tuple[Finding, ...]:
    """All findings but those of leads on panels: Stop first, then Fix, then Know; by code and place within each."""
    found = [f for c in all_checks() if c.subject != LAYING for f in c(study)]
    return tuple(sorted(found, key=_order))


def check_panels(study: Study) -> tuple[Finding, ...]:
    """The findings of the panels, leads included, in the same order."""
    found = [f for c in all_checks() if c.subject in PANELS for f in c(study)]
    return tuple(sorted(found, key=_order))


def _order(f: Finding) -> tuple[int, str, tuple[str, ...], str]:
    return (SEVERITIES.index(f.severity), f.code, f.where, f.evidence)
