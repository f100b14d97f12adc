"""Texts with a history: save against what the writer saw, undo, redo. Rigs and notes are such texts.

Revisions are never changed and never deleted. Undo moves ``head`` to its parent, redo moves it back towards
``tip``; a save puts a new revision on top and makes it both.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from sqlalchemy import Select, and_, bindparam, insert, or_, select, update
from sqlalchemy.orm import Session, load_only
from sqlalchemy.orm.attributes import set_committed_value

from loomwright.jobs.errors import Conflict
from loomwright.jobs.fields import unknown
from loomwright.jobs.ledger import now
from loomwright.jobs.model import Revision
from loomwright.jobs.schema import Base, DocumentRow, JobRow, RevisionRow

_HEADS = (
    select(JobRow, DocumentRow, RevisionRow)
    .join(DocumentRow, and_(DocumentRow.job_id == JobRow.id, DocumentRow.kind == bindparam("kind")), isouter=True)
    .join(
        RevisionRow,
        and_(
            RevisionRow.job_id == JobRow.id, RevisionRow.kind == DocumentRow.kind, RevisionRow.key == DocumentRow.key,
            RevisionRow.number == DocumentRow.head, DocumentRow.key == bindparam("key"),
        ),
        isouter=True,
    )
    .where(JobRow.id == bindparam("job_id"))
)  # fmt: skip

_ONE = _HEADS.where(or_(DocumentRow.key.is_(None), DocumentRow.key == bindparam("key")))
_REVISION, _DOCUMENT = Base.metadata.tables["revision"], Base.metadata.tables["document"]
_ADD = insert(_REVISION)
_MOVE = update(_DOCUMENT).where(
    _DOCUMENT.c.job_id == bindparam("of_job"), _DOCUMENT.c.kind == bindparam("of_kind"),
    _DOCUMENT.c.key == bindparam("of_key"),
).values(head=bindparam("head"), tip=bindparam("tip"), last=bindparam("last"))  # fmt: skip


def fetched(session: Session, job_id: str, kind: str, key: str) -> object:
    """A job, its document and the current revision, fetched in one question. While this is held, each is at hand."""
    return session.execute(_ONE, {"job_id": job_id, "kind": kind, "key": key}).all()


def head(session: Session, job: JobRow, kind: str, key: str) -> Revision:
    """The current revision; number 0 with an empty text where nothing has been saved."""
    return _head(session, job, _document(session, job, kind, key))


def numbered(session: Session, job: JobRow, kind: str, key: str, number: int) -> Revision:
    """One revision by number. Raises UnknownName."""
    found = _document(session, job, kind, key)
    if number == found.head:
        return _head(session, job, found)
    if number == 0:
        return Revision(0, "", job.created_at)
    row = _row(session, found, number) if 0 < number <= found.last else None
    if row is None:
        raise unknown("revision", number)
    return _as_revision(row)


def history(session: Session, job: JobRow, kind: str, key: str, most: int) -> tuple[Revision, ...]:
    """The revisions, newest first, side revisions and undone ones among them."""
    found = _document(session, job, kind, key)
    rows = session.scalars(_of(found).order_by(RevisionRow.number.desc()).limit(most)).all()
    return tuple(_head(session, job, found) if r.number == found.head else _as_revision(r) for r in rows)


def heads(
    session: Session, job_id: str, kind: str, key: str
) -> tuple[JobRow | None, dict[str, Revision]]:
    """A job, and the current revision under each key of a kind, in one question; texts come for ``key`` alone."""
    job: JobRow | None = None
    found: dict[str, Revision] = {}
    given = {"job_id": job_id, "kind": kind, "key": key}
    rows: Iterable[Any] = session.execute(_HEADS, given)  # a job without rigs comes with two empty places
    for job, document, revision in rows:
        if document is None:
            continue
        can_redo = document.head != document.tip
        if revision is not None:
            found[document.key] = _as_revision(revision, current=True, can_undo=True, can_redo=can_redo)
        else:
            found[document.key] = Revision(document.head, "", job.created_at, current=True, can_redo=can_redo)
    return job, found


def keys(session: Session, job: JobRow, kind: str) -> Sequence[str]:
    """The keys under which something is saved now, in order."""
    query = select(DocumentRow.key).where(DocumentRow.job_id == job.id, DocumentRow.kind == kind, DocumentRow.head > 0)
    return sorted(session.scalars(query))


def save(
    session: Session, job: JobRow, kind: str, key: str, text: str, based_on: int, note: str, by: str
) -> tuple[Revision | Conflict, bool]:
    """Put a text on top, or keep it at the side and give the conflict. False where nothing was written.

    The same text as the current one makes no new revision. The caller raises the conflict once it is on the disk.
    """
    found = _document(session, job, kind, key, make=True)
    current = _head(session, job, found)
    if current.number and text == current.text:
        return current, False
    side = based_on != found.head
    base = Revision(0, "", job.created_at)
    if side and 0 < based_on <= found.last:
        known = _row(session, found, based_on)
        base = _as_revision(known) if known else base
    number, at = found.last + 1, now()
    parent = base.number if side else found.head
    session.execute(_ADD, {
        "job_id": job.id, "kind": kind, "key": key, "number": number, "parent": parent, "side": side, "text": text,
        "note": note, "at": at, "by": by,
    })  # fmt: skip
    if side:
        _move(session, found, last=number)
        return Conflict(base, Revision(number, text, at, note, by, parent, side=True), current), True
    _move(session, found, head=number, tip=number, last=number)
    return Revision(number, text, at, note, by, parent, current=True, can_undo=True), True


def undo(session: Session, job: JobRow, kind: str, key: str) -> tuple[Revision, bool]:
    """Go back to the parent of the current revision. False where there is nothing to undo."""
    found = _document(session, job, kind, key)
    row = _row(session, found, found.head)
    if row is None:
        return _head(session, job, found), False
    found.head = row.parent
    return _head(session, job, found), True


def redo(session: Session, job: JobRow, kind: str, key: str) -> tuple[Revision, bool]:
    """Take the last undo back. False where there is nothing to redo."""
    found = _document(session, job, kind, key)
    if found.head == found.tip:
        return _head(session, job, found), False
    query = _of(found).where(RevisionRow.number > found.head)
    parents = {r.number: r.parent for r in session.scalars(query.options(load_only(RevisionRow.parent)))}
    step = found.tip
    while parents[step] != found.head:
        step = parents[step]
    found.head = step
    return _head(session, job, found), True


def _document(session: Session, job: JobRow, kind: str, key: str, make: bool = False) -> DocumentRow:
    found = session.get(DocumentRow, (job.id, kind, key))
    if found is None:
        found = DocumentRow(job_id=job.id, kind=kind, key=key, head=0, tip=0, last=0)
        if make:
            session.add(found)
            session.flush()
    return found


def _move(session: Session, found: DocumentRow, **places: int) -> None:
    """Set head, tip and last of a document that is in the store: one statement, no unit of work."""
    new = {name: places.get(name, getattr(found, name)) for name in ("head", "tip", "last")}
    session.execute(_MOVE, {"of_job": found.job_id, "of_kind": found.kind, "of_key": found.key, **new})
    for name, number in new.items():
        set_committed_value(found, name, number)


def _of(found: DocumentRow) -> Select[RevisionRow]:
    return select(RevisionRow).where(
        RevisionRow.job_id == found.job_id, RevisionRow.kind == found.kind, RevisionRow.key == found.key
    )


def _row(session: Session, found: DocumentRow, number: int) -> RevisionRow | None:
    return session.get(RevisionRow, (found.job_id, found.kind, found.key, number)) if number else None


def _head(session: Session, job: JobRow, found: DocumentRow) -> Revision:
    row = _row(session, found, found.head)
    can_redo = found.head != found.tip
    if row is None:
        return Revision(0, "", job.created_at, current=True, can_redo=can_redo)
    return _as_revision(row, current=True, can_undo=True, can_redo=can_redo)


def _as_revision(row: RevisionRow, current: bool = False, can_undo: bool = False, can_redo: bool = False) -> Revision:
    return Revision(
        row.number, row.text, row.at, row.note, row.by, row.parent, row.side, current, can_undo, can_redo
    )
