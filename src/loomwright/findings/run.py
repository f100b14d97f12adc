"""Run every check on a study."""

from __future__ import annotations

from loomwright.findings.model import SEVERITIES, Finding
from loomwright.findings.registry import all_checks
from loomwright.study import Study


def check(study: Study) -> tuple[Finding, ...]:
    """All findings: Stop first, then Fix, then Know; by code and place within each."""
    found = [f for c in all_checks() for f in c(study)]
    return tuple(sorted(found, key=_order))


def _order(f: Finding) -> tuple[int, str, tuple[str, ...], str]:
    return (SEVERITIES.index(f.severity), f.code, f.where, f.evidence)
