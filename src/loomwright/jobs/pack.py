"""A job as one zip file: the same job gives the same bytes."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from typing import TypeVar

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from loomwright.jobs.borrowed import used_parts
from loomwright.jobs.images import ENDING
from loomwright.jobs.layout import (
    CATALOGUE,
    FILE_STEMS,
    JOB,
    MOST_TEXT_BYTES,
    ActEntry,
    DocumentEntry,
    JobFile,
    MarkEntry,
    PhotoEntry,
    ReadingEntry,
    RevisionEntry,
)
from loomwright.jobs.model import STAGES
from loomwright.jobs.parcel import put
from loomwright.jobs.schema import ActRow, DocumentRow, JobRow, MarkRow, PhotoRow, ReadingRow, RevisionRow

Row = TypeVar("Row", PhotoRow, ReadingRow)
Fetch = Callable[[str, str], bytes | None]


def pack(session: Session, job: JobRow, fetch: Fetch, everything: bool) -> tuple[bytes, tuple[str, ...]]:
    """A job as a zip file, and the sums of the photographs whose files are missing.

    ``fetch`` gives the bytes of a photograph by its sum and media type, None where they are missing. ``everything``
    takes along what was deleted; without it only what stands, and earlier revisions as far as an import takes them.
    """
    whole = everything or _text_bytes(session, job) < MOST_TEXT_BYTES // 2
    rigs, files = _rigs(session, job, whole)
    photos, pictures, missing, numbers = _photos(session, job, fetch, everything)
    document = JobFile(
        format=1,
        title=job.title,
        created_at=job.created_at,
        deleted_at=job.deleted_at if everything else None,
        rigs=rigs,
        notes=[_entry(session, d, whole) for d in _documents(session, job, "note")],
        photos=photos,
        readings=[
            _reading(r) for r in session.scalars(_in_time(ReadingRow, job)) if everything or r.deleted_at is None
        ],
        build=[_act(r, numbers) for r in session.scalars(_acts(job))],
        lists=[_entry(session, d, whole) for d in _documents(session, job, "list")],
    )
    parts = "" if everything else used_parts(session, files.values())
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as target:
        if parts:
            put(target, CATALOGUE, parts.encode())
        put(target, JOB, (document.model_dump_json(indent=1, exclude_defaults=False) + "\n").encode())
        for name in sorted(files):
            put(target, name, files[name].encode())
        for name in sorted(pictures):
            put(target, name, pictures[name], pressed=False)
    return out.getvalue(), missing


def _rigs(session: Session, job: JobRow, whole: bool) -> tuple[list[DocumentEntry], dict[str, str]]:
    files: dict[str, str] = {}
    rigs = []
    for row in sorted(_documents(session, job, "rig"), key=lambda d: STAGES.index(d.key)):
        entry = _entry(session, row, whole)
        for revision in entry.revisions:
            number = "" if revision.number == row.head else f".{revision.number}"
            revision.file = f"rigs/{FILE_STEMS[row.key]}{number}.toml"
            files[revision.file], revision.text = revision.text, ""
        rigs.append(entry)
    return rigs, files


def _documents(session: Session, job: JobRow, kind: str) -> list[DocumentRow]:
    query = select(DocumentRow).where(DocumentRow.job_id == job.id, DocumentRow.kind == kind, DocumentRow.last > 0)
    return sorted(session.scalars(query), key=lambda d: d.key)


def _text_bytes(session: Session, job: JobRow) -> int:
    """Bytes of all revisions, counted high: a character may take four."""
    query = select(func.sum(func.length(RevisionRow.text))).where(RevisionRow.job_id == job.id)
    return 4 * (session.scalar(query) or 0)


def _entry(session: Session, row: DocumentRow, whole: bool) -> DocumentEntry:
    """A rig, a note or the list: with its whole history, or as it stands."""
    query = select(RevisionRow).where(
        RevisionRow.job_id == row.job_id, RevisionRow.kind == row.kind, RevisionRow.key == row.key
    )
    if not whole:
        query = query.where(RevisionRow.number == row.head)
    return DocumentEntry(
        key=row.key,
        head=row.head,
        tip=row.tip if whole else row.head,
        revisions=[
            RevisionEntry(
                number=r.number, parent=r.parent if whole else 0, side=r.side, at=r.at, by=r.by, note=r.note,
                text=r.text,
            )
            for r in session.scalars(query.order_by(RevisionRow.number))
        ],
    )  # fmt: skip


def _reading(row: ReadingRow) -> ReadingEntry:
    return ReadingEntry(
        where=row.where, quantity=row.quantity, value=row.value, unit=row.unit, at=row.at, by=row.by,
        deleted_at=row.deleted_at,
    )  # fmt: skip


def _acts(job: JobRow) -> Select[ActRow]:
    return select(ActRow).where(ActRow.job_id == job.id).order_by(ActRow.n)


def _act(row: ActRow, numbers: dict[str, int]) -> ActEntry:
    return ActEntry(
        id=row.id, stage=row.stage, step=row.step, kind=row.kind, measure=row.measure,  # type: ignore[arg-type]
        value=row.value, unit=row.unit, text=row.text, photo=numbers.get(row.photo_id or ""), of=row.of, at=row.at,
        came_at=row.came_at, by=row.by,
    )  # fmt: skip


def _in_time(table: type[Row], job: JobRow) -> Select[Row]:
    return select(table).where(table.job_id == job.id).order_by(table.at, table.id)


def _photos(
    session: Session, job: JobRow, fetch: Fetch, everything: bool
) -> tuple[list[PhotoEntry], dict[str, bytes], tuple[str, ...], dict[str, int]]:
    entries: list[PhotoEntry] = []
    numbers: dict[str, int] = {}
    pictures: dict[str, bytes] = {}
    missing = []
    for row in session.scalars(_in_time(PhotoRow, job)).all():
        if row.deleted_at is not None and not everything:
            continue
        name = f"photos/{row.sha256}.{ENDING[row.media_type]}"
        data = pictures.get(name) or fetch(row.sha256, row.media_type)
        if data is None:
            missing.append(row.sha256)
            continue
        pictures[name] = data
        numbers[row.id] = len(entries)
        marks = session.scalars(select(MarkRow).where(MarkRow.photo_id == row.id).order_by(MarkRow.at, MarkRow.id))
        entries.append(
            PhotoEntry(
                file=name, place=row.place, caption=row.caption, at=row.at, by=row.by, deleted_at=row.deleted_at,
                marks=[
                    MarkEntry(x_pct=m.x_pct, y_pct=m.y_pct, text=m.text, at=m.at, deleted_at=m.deleted_at)
                    for m in marks
                    if everything or m.deleted_at is None
                ],
            )
        )  # fmt: skip
    return entries, pictures, tuple(missing), numbers
