"""Advice: moves to try and to take back, the chances that a rig works."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from typing import Annotated, Any

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import Response

from loomwright.advice.chances import Chances
from loomwright.advice.results import Help, Tried
from loomwright.errors import InputError, Problem
from loomwright.jobs.errors import Conflict
from loomwright.papers import advice_tables as tables
from loomwright.papers import advice_words as words
from loomwright.rig import changes
from loomwright.rig.changes import Change, Fuse, ItemKey, NewItem, NewWire, WireKey
from loomwright.web import failures, frames
from loomwright.web.service import Opened
from loomwright.web.view import View, bench_of, go, page, render, wants_page
from loomwright.web.work.advising import Chanced, Helped
from loomwright.web.work.pieces import Piece
from loomwright.web.work.tasks import Standing

router = APIRouter()
AT = "/jobs/{job_id}/{stage}/advice"
VIEWS = (("advice", "What would help"), ("advice/amplifiers", "Amplifiers"), ("advice/chances", "Chances"))


@dataclass(frozen=True, slots=True)
class Made:
    """What came of a piece of long work so far."""

    value: Any
    standing: Standing | None
    why: str

    @property
    def waits(self) -> bool:
        """True while it is being worked on."""
        return self.standing is not None and self.standing.live


NOTHING = Made(None, None, "")


def outcome(request: Request, opened: Opened, piece: Piece) -> Made:
    """What a piece of work about a rig has come to; begun where nobody has asked yet."""
    bench = bench_of(request)
    if frames.settled(request, opened) is None:
        return NOTHING
    task = bench.tasks.ask(piece, opened.by, again=frames.must_wait(request))
    if frames.must_wait(request) or task.state == "done":
        return Made(bench.tasks.wait(task), None, "")
    why = str(task.error) if task.state == "failed" and task.error is not None else ""
    return Made(None, task.standing, why)


def advice_view(request: Request, opened: Opened, found: Made, template: str, name: str, data: dict[str, Any],
                status: int = 200, **more: Any) -> View:  # fmt: skip
    """A view of the advice about a rig, with what came of the work behind it."""
    study = frames.settled(request, opened)
    around = frames.around(opened, study)
    extra = {**around, "views": VIEWS, "work": found.standing, "waits": found.waits, "why": found.why,
             "found": found.value, "view": name, **more}  # fmt: skip
    return View(template, {"rig": frames.about(opened, study), **data}, extra, status)


@page(router, AT, "advice")
def advice(
    request: Request, job_id: str, stage: str, n: Annotated[int, Query(ge=0, le=999)] = 0,
    tried: Annotated[int, Query(ge=0, le=2**31)] = 0,
) -> View:  # fmt: skip
    """What would help, ranked; ``n`` is the move whose place is shown, ``tried`` the revision that one became."""
    return _moves(request, bench_of(request).opened(job_id, stage), n, tried)


def _moves(
    request: Request, opened: Opened, n: int = 0, tried: int = 0, refused: tuple[Problem, ...] = (), status: int = 200
) -> View:
    study = frames.settled(request, opened)
    found = outcome(request, opened, Helped(opened.revision.text, opened.stage, opened.own))
    helps: Help | None = found.value
    moves = helps.moves if helps is not None else ()
    chosen = moves[n - 1] if 0 < n <= len(moves) else None
    listed = [(k, id_of(m), m, words.takes(m)) for k, m in enumerate(moves, 1)]
    data = {"help": helps, "moves": [i for _, i, _, _ in listed]}
    more = {
        "aims": [(title, [row for row in listed if row[2].aim == aim]) for aim, title in words.AIMS.items()],
        "stands": "" if helps is None else words.stands(helps) if helps.now.volts_v else words.NO_AMPLIFIER,
        "weakest": words.weakest(helps) if helps is not None else "",
        "levers": tables.levers(helps) if helps is not None and helps.levers else None,
        "unpriced": words.UNPRICED if helps and not helps.priced and any(m.per == "100 g" for m in moves) else "",
        "nothing": words.NOTHING_GAINS,
        "diagram": opened.worked.diagram() if study is not None else "",
        "marks": dict.fromkeys(_places(chosen), "chosen") if chosen is not None else {},
        "chosen": n if chosen is not None else 0, "refused": refused,
        "tried": opened.revision if 0 < tried == opened.revision.number and opened.revision.can_undo else None,
    }  # fmt: skip
    return advice_view(request, opened, found, "advice.html", "advice", data, status, **more)


@page(router, AT + "/chances", "advice/chances")
def chances(request: Request, job_id: str, stage: str) -> View:
    """The chance that each amplifier holds and that the engine cranks, and the causes that count most."""
    opened = bench_of(request).opened(job_id, stage)
    found = outcome(request, opened, Chanced(opened.revision.text, opened.stage, opened.own))
    drawn: Chances | None = found.value
    more: dict[str, Any] = {"least": None}
    if drawn is not None:
        least = min(drawn.amplifiers, key=lambda a: (a.chance, a.amplifier))
        crank = drawn.crank
        more = {
            "amplifiers": tables.amplifiers(drawn), "crank": tables.crank(drawn), "sure": words.sure(drawn),
            "least": (words.chance(least.chance, drawn.draws), least),
            "cranks": None if crank is None else (words.chance(crank.chance, drawn.draws), crank),
            "session": "" if crank is None else words.session(crank.hours_h, drawn.engine, drawn.session_programme),
        }  # fmt: skip
    return advice_view(request, opened, found, "chances.html", "advice/chances", {"chances": drawn}, **more)


@router.post(AT + "/try", tags=["writes"])
def attempt(request: Request, job_id: str, stage: str, move: Annotated[str, Form(max_length=64)]) -> Response:
    """Make the changes of one move, as one revision."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    outdated = Problem(
        "advice", "rig", "the rig as this page showed it", "a rig that was changed meanwhile",
        "Look through what would help now; nothing was changed by this press.",
    )  # fmt: skip
    if not opened.worked.whole:
        return _refused(request, opened, (outdated,), 409)
    piece = Helped(opened.revision.text, opened.stage, opened.own)
    found: Help = bench.tasks.wait(bench.tasks.ask(piece, opened.by, asked=True, again=True))
    chosen = next((m for m in found.moves if id_of(m) == move), None)
    if chosen is None:
        return _refused(request, opened, (outdated,), 409)
    edits = chosen.move.changes
    note = f"Tried: {chosen.move.title}. {chosen.words}"[:400]
    try:
        saved = bench.edit(opened, opened.revision.number, lambda text: changes.apply(text, edits), note)
    except InputError as error:
        return _refused(request, opened, error.problems, 422)
    except Conflict:
        return _refused(request, bench.opened(job_id, stage), (outdated,), 409)
    return go(f"{opened.url}/advice?tried={saved.number}")


def _refused(request: Request, opened: Opened, problems: tuple[Problem, ...], status: int) -> Response:
    if not wants_page(request):
        return failures.say(request, status, "input" if status == 422 else "conflict", problems)
    view = _moves(request, opened, refused=problems, status=status)
    return render(request, view.template, {**view.data, **view.more, "page": "advice"}, status)


def id_of(tried: Tried) -> str:
    """What stands for a move and for every change of it as shown."""
    return sha256(repr((tried.move.id, tried.move.changes, tried.changes)).encode()).hexdigest()[:24]


def _places(tried: Tried) -> list[str]:
    return [ref for c in tried.move.changes for ref in _refs(c)]


def _refs(change: Change) -> tuple[str, ...]:
    match change:
        case WireKey():
            return (change.wire,)
        case ItemKey() | Fuse():
            return (change.item,)
        case NewWire():
            return (change.start.partition(".")[0], change.end.partition(".")[0])
        case NewItem():
            return ()
    return ()
