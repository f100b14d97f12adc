"""Amplifiers that suit, each held against what it must feed; one press puts one in, another takes it out again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import Response

from loomwright.advice.equipment import Fit, Position
from loomwright.advice.fitting import fitting
from loomwright.errors import InputError, Problem
from loomwright.findings.words import listing
from loomwright.jobs.errors import Conflict
from loomwright.papers import advice_tables as tables
from loomwright.papers import advice_words as words
from loomwright.remedies.run import brought
from loomwright.rig.catalogue import Catalogue
from loomwright.rig.changes import Change, apply, told
from loomwright.rig.model import Rig
from loomwright.web import catalogues, failures
from loomwright.web.pages.advice import AT, Made, advice_view, outcome
from loomwright.web.service import Opened
from loomwright.web.view import View, bench_of, go, page, render, wants_page
from loomwright.web.work.advising import Suited
from loomwright.web.worked import Worked

router = APIRouter()
Name = Annotated[str, Form(max_length=64)]
OUTDATED = Problem(
    "advice", "rig", "the rig as this page showed it", "a rig that was changed meanwhile",
    "Look through what suits now; nothing was changed by this press.",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Press:
    """The button of a row: the part that it puts in, and what it changes besides; or why it has none."""

    part: str = ""
    changes: tuple[str, ...] = ()
    why: str = ""


@page(router, AT + "/amplifiers", "advice/amplifiers")
def amplifiers(
    request: Request, job_id: str, stage: str, fitted: Annotated[int, Query(ge=0, le=2**31)] = 0
) -> View:  # fmt: skip
    """Which amplifiers of the catalogue suit in the place of each one, and why the others fall out.

    ``fitted`` is the revision that one of them became.
    """
    return _view(request, bench_of(request).opened(job_id, stage), fitted)


def _view(
    request: Request, opened: Opened, fitted: int = 0, refused: tuple[Problem, ...] = (), status: int = 200
) -> View:
    found = outcome(request, opened, Suited(opened.revision.text, opened.stage, opened.own))
    shown = list(_shown(opened, found))
    done = opened.revision if 0 < fitted == opened.revision.number and opened.revision.can_undo else None
    return advice_view(request, opened, found, "amplifiers.html", "advice/amplifiers", {"amplifiers": found.value},
                       status, shown=shown, refused=refused, fitted=done)  # fmt: skip


def _shown(opened: Opened, found: Made) -> Iterator[dict[str, object]]:
    positions: tuple[Position, ...] = found.value or ()
    parts = catalogues.usable(opened.own)
    for p in positions:
        suit = [f for f in p.fits if f.verdict != "falls out"]
        yield {
            "position": p,
            "loads": [words.wanted(load) for load in p.loads],
            "fits": tables.fits(suit),
            "presses": [_press(opened, p, f, parts) for f in suit],
            "reasons": tables.reasons([f for f in p.fits if f.verdict == "falls out" and not f.too_few]),
            "few": ", ".join(f.part for f in p.fits if f.too_few),
        }


def _press(opened: Opened, position: Position, fit: Fit, parts: Catalogue) -> Press:
    if fit.now:
        return Press()
    try:
        changes = _changes(opened.worked.rig, position, fit, parts)
    except InputError as error:
        return Press(why=" ".join(p.remedy for p in error.problems[:2]))
    return Press(fit.part, told(opened.revision.text, changes[1:]))


def _changes(rig: Rig | None, position: Position, fit: Fit, parts: Catalogue) -> tuple[Change, ...]:
    if rig is None:
        raise InputError([OUTDATED])
    return fitting(rig, position, fit, parts.part(fit.part))


@router.post(AT + "/fit", tags=["writes"])
def fit(request: Request, job_id: str, stage: str, amplifier: Name, part: Name) -> Response:
    """Put one of the amplifiers that suit in the place of another, wires and all, as one revision."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    if not opened.worked.whole:
        return _refused(request, opened, (OUTDATED,), 409)
    piece = Suited(opened.revision.text, opened.stage, opened.own)
    positions: tuple[Position, ...] = bench.tasks.wait(bench.tasks.ask(piece, opened.by, asked=True, again=True))
    chosen = next(
        ((p, f) for p in positions for f in p.fits
         if (p.amplifier, f.part) == (amplifier, part) and f.verdict != "falls out" and not f.now), None,
    )  # fmt: skip
    if chosen is None:
        return _refused(request, opened, (OUTDATED,), 409)
    try:
        changes = _changes(opened.worked.rig, *chosen, catalogues.usable(opened.own))
        _must_not_stop(bench.shelf.worked(apply(opened.revision.text, changes), opened.stage, opened.own), opened, part)
        note = f"{amplifier} is {part}"
        saved = bench.edit(opened, opened.revision.number, lambda text: apply(text, changes), note)
    except InputError as error:
        return _refused(request, opened, error.problems, 422)
    except Conflict:
        return _refused(request, bench.opened(job_id, stage), (OUTDATED,), 409)
    return go(f"{opened.url}/advice/amplifiers?fitted={saved.number}")


def _must_not_stop(after: Worked, opened: Opened, part: str) -> None:
    """Raise InputError where the rig with the part in it cannot be read, or has a Stop that it had not."""
    if after.problems:
        raise InputError(after.problems)
    stops = brought(opened.worked.findings, after.findings)
    if stops:
        said = f"{listing(f'{f.code} {f.title}' for f in stops)}: {stops[0].evidence}"
        raise InputError([Problem("rig", part, "no new Stop", said, f"Mend that first: {stops[0].remedy}")])


def _refused(request: Request, opened: Opened, problems: tuple[Problem, ...], status: int) -> Response:
    if not wants_page(request):
        return failures.say(request, status, "input" if status == 422 else "conflict", problems)
    view = _view(request, opened, refused=problems, status=status)
    return render(request, view.template, {**view.data, **view.more, "page": "advice/amplifiers"}, view.status)
