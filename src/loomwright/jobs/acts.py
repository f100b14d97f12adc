"""The ledger of a build: what was done, measured, photographed and signed, by whom and when.

Acts are added and never changed. Whoever does something names it by an id of their own, so that a phone may send it
again after a lost connection: the same act is kept once. Their order is that in which they came in.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from loomwright.jobs.fields import check_stage, line, number, problem, prose
from loomwright.jobs.images import clean
from loomwright.jobs.ledger import now
from loomwright.jobs.model import ACT_KINDS, Act, ActKind
from loomwright.jobs.names import same_name
from loomwright.jobs.photos import Photos, photo_row
from loomwright.jobs.schema import ActRow

MAX_STEP = 2_000
MAX_WORDS = 2_000
_ID = re.compile(r"[A-Za-z0-9_-]{8,40}")
_NAMED: tuple[ActKind, ...] = ("done", "signed")


@dataclass(frozen=True, slots=True)
class Standing:
    """How one step stands: the acts that were not taken back, in their order.

    ``signed`` holds only signatures of somebody who did not do the step.
    """

    done: tuple[Act, ...] = ()
    signed: tuple[Act, ...] = ()
    readings: tuple[Act, ...] = ()
    photos: tuple[Act, ...] = ()
    notes: tuple[Act, ...] = ()

    @property
    def twice(self) -> bool:
        """Whether it was ticked more than once: two people, or two phones, each on their own."""
        return len(self.done) > 1


def standings(acts: Iterable[Act]) -> dict[str, Standing]:
    """How each step stands that something was done about."""
    listed = list(acts)
    gone = {a.of for a in listed if a.kind == "undone"}
    steps: dict[str, list[Act]] = {}
    for act in listed:
        if act.kind != "undone" and act.id not in gone:
            steps.setdefault(act.step, []).append(act)
    return {step: _standing(found) for step, found in steps.items()}


def _standing(acts: Sequence[Act]) -> Standing:
    done = _of(acts, "done")
    signed = tuple(s for s in _of(acts, "signed") if done and not any(same_name(s.by, d.by) for d in done))
    return Standing(done, signed, _of(acts, "reading"), _of(acts, "photo"), _of(acts, "note"))


def _of(acts: Sequence[Act], kind: ActKind) -> tuple[Act, ...]:
    return tuple(a for a in acts if a.kind == kind)


class Acts(Photos):
    """Acts of a build."""

    def add_act(
        self, job_id: str, stage: str, act_id: str, step: str, kind: str, by: str = "", at: datetime | None = None,
        measure: str = "", value: float | None = None, unit: str = "", text: str = "", of: str = "",
        picture: bytes | None = None, place: str = "", caption: str = "",
    ) -> Act:  # fmt: skip
        """Keep an act. One that is here already is given back as it is.

        Raises
        ------
        InputError
            Where a field cannot be used, another act has this id, or who signs has done the step.
        UnknownName, Deleted
            Where there is no such job or stage, or the job was deleted.
        """
        row = act_row(act_id, check_stage(stage), step, kind, by, at, measure, value, unit, text, of)
        place, caption = line("place", place), prose("caption", caption, MAX_WORDS)
        if (picture is not None) != (row.kind == "photo"):
            raise problem("photo", "a picture with an act of kind photo, and with no other", row.kind, "Send it anew.")
        known = self._known(job_id, row)
        if known is not None:
            return known
        kept = clean(picture) if picture is not None else None
        sha256 = self._keep(kept) if kept is not None else ""
        with self._write() as session:
            job = self._job(session, job_id, to_write=True)
            here = session.get(ActRow, (job.id, row.id))
            if here is not None:
                return _same(here, row)
            row.job_id = job.id
            if row.kind == "signed":
                _check_second(session, row)
            if kept is not None:
                photo = photo_row(place, caption, sha256, kept)
                photo.job_id, photo.by = job.id, row.by
                session.add(photo)
                session.flush()
                row.photo_id = photo.id
                self._log(session, job, "photo", photo.id, row.by)
            most = session.scalar(select(func.max(ActRow.n)).where(ActRow.job_id == job.id))
            row.n, row.came_at = (most or 0) + 1, now()
            session.add(row)
            self._log(session, job, "build", row.id, row.by)
            session.flush()
            return as_act(row)

    def acts(self, job_id: str, stage: str, since: int = 0) -> tuple[Act, ...]:
        """The acts of one stage after number ``since``, in their order. Raises UnknownName."""
        since = max(0, min(since, 2**31 - 1))
        with self._read() as session:
            job = self._job(session, job_id)
            query = select(ActRow).where(ActRow.job_id == job.id, ActRow.stage == check_stage(stage), ActRow.n > since)
            return tuple(as_act(r) for r in session.scalars(query.order_by(ActRow.n)))

    def _known(self, job_id: str, row: ActRow) -> Act | None:
        """The act of that id, if it is here: a picture that comes again is not worked on again."""
        with self._read() as session:
            job = self._job(session, job_id, to_write=True)
            here = session.get(ActRow, (job.id, row.id))
            return None if here is None else _same(here, row)


def act_row(
    act_id: str, stage: str, step: str, kind: str, by: str, at: datetime | None, measure: str, value: float | None,
    unit: str, text: str, of: str,
) -> ActRow:  # fmt: skip
    """A row for an act, still without a job and a number. Raises InputError."""
    if not _ID.fullmatch(act_id):
        raise problem("id", "8 to 40 letters, digits, - or _", act_id[:60], "Make a new id for each act.")
    if kind not in ACT_KINDS:
        raise problem("kind", ", ".join(ACT_KINDS), kind[:60], "Choose one of these.")
    if at is not None and (at.tzinfo is None or not 1970 < at.year < 2200):
        raise problem("at", "a time with its time zone, between 1971 and 2199", str(at), "Put the time right.")
    if of and not _ID.fullmatch(of):
        raise problem("of", "the id of an act", of[:60], "Name the act that is taken back.")
    if (kind == "undone") != bool(of):
        raise problem("of", "the id of the act that is taken back, and for nothing else", of[:60] or "none", "Name it.")
    if (kind == "reading") != (value is not None):
        raise problem("value", "a number with a reading, and with nothing else", str(value), "Type the number alone.")
    return ActRow(
        id=act_id, stage=stage, step=line("step", step, MAX_STEP, empty=False), kind=kind,
        measure=line("measure", measure, MAX_STEP, empty=kind != "reading"),
        value=None if value is None else number("value", value), unit=line("unit", unit, 16),
        text=prose("text", text, MAX_WORDS), of=of, by=line("by", by, empty=kind not in _NAMED),
        at=at.astimezone(UTC) if at is not None else now(),
    )  # fmt: skip


def as_act(row: ActRow) -> Act:
    """The value of a row."""
    return Act(
        row.id, row.n, row.stage, row.step, row.kind, row.at, row.came_at, row.by, row.measure,  # type: ignore[arg-type]
        row.value, row.unit, row.text, row.photo_id, row.of,
    )  # fmt: skip


def _same(here: ActRow, sent: ActRow) -> Act:
    """The act that is here, where it is the one that was sent. Raises InputError."""
    for name in ("stage", "step", "kind", "measure", "value", "of"):
        if getattr(here, name) != getattr(sent, name):
            raise problem("id", "an id of its own for each act", f"{sent.id}, already used", "Make a new id.")
    return as_act(here)


def _check_second(session: Session, row: ActRow) -> None:
    """Who signs is not who did it, as far as the store knows by now. Raises InputError."""
    query = select(ActRow).where(ActRow.job_id == row.job_id, ActRow.stage == row.stage, ActRow.step == row.step)
    found = standings(as_act(r) for r in session.scalars(query.order_by(ActRow.n))).get(row.step, Standing())
    if any(same_name(d.by, row.by) for d in found.done):
        remedy = "Let somebody else look at it and sign."
        raise problem("by", "another name than that of who did it", row.by, remedy)

