"""The remedies of a finding, and whether one of them helps."""

from __future__ import annotations

import importlib
from collections.abc import Iterable, Sequence

from loomwright.errors import InputError, Problem
from loomwright.findings.model import SEVERITIES, Finding, Severity
from loomwright.findings.words import listing
from loomwright.remedies.model import Remedy, makers
from loomwright.remedies.stock import Stock
from loomwright.rig.catalogue import Catalogue, builtin
from loomwright.study import Study

SUBJECTS = ("wires", "lengths", "devices", "routes", "joints", "parts", "speakers", "switching")
"""Modules that hold makers of remedies."""


class Remedies:
    """Makes the remedies of one study's findings. Keep one for many findings."""

    def __init__(self, study: Study, catalogue: Catalogue | None = None) -> None:
        for module in SUBJECTS:
            importlib.import_module(f"loomwright.remedies.{module}")
        self._bench = Stock(study, catalogue or builtin())

    def of(self, finding: Finding) -> tuple[Remedy, ...]:
        """What a finding asks for, as changes that can be made at once; empty where that takes a decision."""
        make = makers().get(finding.code)
        return tuple(r for r in make(self._bench, finding) if r.changes) if make else ()


def mended(finding: Finding, before: Sequence[Finding], after: Iterable[Finding]) -> bool:
    """Whether a finding is gone from what the checks say afterwards, or milder there."""
    still = [f for f in after if f.code == finding.code and _twin(f, before) is finding]
    return all(SEVERITIES.index(f.severity) > SEVERITIES.index(finding.severity) for f in still)


def brought(before: Sequence[Finding], after: Iterable[Finding], severity: Severity = "Stop") -> tuple[Finding, ...]:
    """The findings of a severity, or worse, that were not as bad before, or not there."""
    rank = SEVERITIES.index(severity)
    found = []
    for f in after:
        twin = _twin(f, before)
        if SEVERITIES.index(f.severity) <= rank and (twin is None or SEVERITIES.index(twin.severity) > rank):
            found.append(f)
    return tuple(found)


def must_help(remedy: Remedy, finding: Finding, before: Sequence[Finding], after: Sequence[Finding]) -> None:
    """Raise InputError where a remedy, once made, has not mended its finding, or has brought a Stop."""
    stops = brought(before, after)
    if stops:
        said = f"{listing(f'{f.code} {f.title}' for f in stops)}: {stops[0].evidence}"
        raise InputError([Problem("remedy", remedy.title, "no new Stop", said, "Mend it by hand, in smaller steps.")])
    if not mended(finding, before, after):
        cure = "Mend another cause first, or mend it by hand."
        wanted = f"{finding.code} gone, or milder"
        raise InputError([Problem("remedy", remedy.title, wanted, "the same finding still", cure)])


def _twin(finding: Finding, before: Iterable[Finding]) -> Finding | None:
    """The finding of the same code that shares most places; None where none shares any."""
    here = set(finding.where)
    alike = [(len(here & set(b.where)), b.where[:1] == finding.where[:1], b) for b in before if b.code == finding.code]
    shared, _, twin = max(alike, key=lambda a: a[:2], default=(0, False, None))
    return twin if shared or finding.where == () else None
