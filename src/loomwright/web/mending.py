"""Remedies as a page offers them: each shown as the very edit it is, taken by its sum, saved only if it helps."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from hashlib import sha256
from weakref import WeakKeyDictionary

from loomwright.errors import InputError
from loomwright.findings.model import Finding
from loomwright.jobs.model import Revision
from loomwright.remedies.model import Remedy
from loomwright.remedies.run import Remedies, must_help
from loomwright.rig.changes import apply, told
from loomwright.web import catalogues
from loomwright.web.service import Bench, Opened
from loomwright.web.worked import Worked


@dataclass(frozen=True, slots=True)
class Offer:
    """One remedy of one finding. ``id`` stands for the finding and for every change as shown."""

    id: str
    finding: int
    title: str
    changes: tuple[str, ...]


class Outdated(Exception):
    """The rig is not what the page showed: there is no such remedy any more."""


_KEPT: WeakKeyDictionary[Worked, tuple[tuple[Offer, Remedy], ...]] = WeakKeyDictionary()
_LOCK = threading.Lock()


def offers(worked: Worked) -> tuple[Offer, ...]:
    """What is offered for a rig that is worked out, in the order of its findings, counted from 1."""
    return tuple(offer for offer, _ in _made(worked))


def mend(bench: Bench, opened: Opened, offer_id: str) -> Revision:
    """Make the changes of a remedy as one revision.

    Raises
    ------
    Outdated
        Where the rig has changed so that this remedy is not among those offered.
    InputError
        Where the changes would not mend the finding, or would bring a Stop; nothing is saved.
    Conflict
        Where somebody saved at this very moment.
    """
    found = next(((o, r) for o, r in _made(opened.worked) if o.id == offer_id), None)
    if found is None:
        raise Outdated
    offer, remedy = found
    before = opened.worked.findings
    finding = before[offer.finding - 1]
    after = bench.shelf.worked(apply(opened.revision.text, remedy.changes), opened.stage, opened.own)
    if after.problems:
        raise InputError(after.problems)
    must_help(remedy, finding, before, after.findings)
    note = f"{finding.code}: {remedy.title}"
    return bench.edit(opened, opened.revision.number, lambda text: apply(text, remedy.changes), note[:400])


def _made(worked: Worked) -> tuple[tuple[Offer, Remedy], ...]:
    with _LOCK:
        kept = _KEPT.get(worked)
    if kept is None:
        study = worked.study
        remedies = Remedies(study, catalogues.usable(worked.own)) if study is not None else None
        kept = tuple(
            (_offer(worked, n, finding, remedy), remedy)
            for n, finding in enumerate(worked.findings, 1)
            for remedy in (remedies.of(finding) if remedies else ())
        )
        with _LOCK:
            _KEPT[worked] = kept
    return kept


def _offer(worked: Worked, n: int, finding: Finding, remedy: Remedy) -> Offer:
    changes = told(worked.text, remedy.changes)
    key = repr((finding.code, finding.where, remedy.changes, changes))
    return Offer(sha256(key.encode()).hexdigest()[:24], n, remedy.title, changes)

