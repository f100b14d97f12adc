"""Housekeeping: what nobody can come back to any more is taken off the disk.

Three things go: jobs that were taken off the list long ago, the oldest rows of the change feed, and files of
photographs that no row names. Everything else stays: every revision, what was undone, photographs that were taken away.
"""

from __future__ import annotations

import contextlib
import os
import secrets
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy import delete, func, select
from sqlalchemy.orm import Session

from loomwright.jobs.ledger import now
from loomwright.jobs.photos import Photos
from loomwright.jobs.schema import Base, ChangeRow, FeedRow, JobRow, PhotoRow

JOB_KEPT = timedelta(days=90)
"""How long a job that was taken off the list can be brought back."""
CHANGE_KEPT = timedelta(days=30)
CHANGES_KEPT = 1000
"""The newest rows of the feed stay, however old."""
FILE_KEPT = timedelta(days=1)
"""A file may lie so long before its row is written."""
DATABASES = (".sqlite3", ".sqlite", ".db")


@dataclass(frozen=True, slots=True)
class Tidied:
    """What housekeeping took away. ``files_bytes`` is the room that its files gave back."""

    jobs: int = 0
    changes: int = 0
    files: int = 0
    files_bytes: int = 0


class Tidy(Photos):
    """Housekeeping of the store."""

    def tidy(self, at: datetime | None = None) -> Tidied:
        """Take away what nobody can come back to any more, as seen at a time; now where left out.

        No file is touched in a folder that another store may use too. Raises StoreError.
        """
        at = at or now()
        jobs = self._old_jobs(at)
        with self._write() as session:
            changes = _drop_changes(session, at)
            files, size = self._drop_files(session, at)
        return Tidied(jobs, changes, files, size)

    def _old_jobs(self, at: datetime) -> int:
        with self._read() as session:
            old = session.scalars(select(JobRow.id).where(JobRow.deleted_at < at - JOB_KEPT)).all()
        gone = 0
        for job_id in old:  # one by one, so that nobody who writes waits for long
            with self._write() as session:
                job = session.get(JobRow, job_id)
                if job is not None and job.deleted_at is not None and job.deleted_at < at - JOB_KEPT:
                    _drop_job(session, job_id)
                    gone += 1
        return gone

    def _drop_files(self, session: Session, at: datetime) -> tuple[int, int]:
        """Files of photographs that no row names, deleted ones included. The caller holds the writer's turn."""
        folder = self.folder / "photos"
        if not folder.is_dir() or not self._is_ours(folder):
            return 0, 0
        named = set(session.scalars(select(PhotoRow.sha256).distinct()))
        count = size = 0
        for path in _old_files(folder, at - FILE_KEPT):
            if path.name.partition(".")[0] not in named and (freed := _drop(path, at - FILE_KEPT)) is not None:
                count, size = count + 1, size + freed
        return count, size

    def _is_ours(self, folder: Path) -> bool:
        """Whether no other store keeps its photographs in this folder, as far as can be known."""
        own = self.url.database if self._engine.dialect.name == "sqlite" else None
        beside = {p.name for p in self.folder.iterdir() if p.suffix in DATABASES}
        return beside <= {Path(own).name if own else ""} and self._users(folder) == {self._name()}


def _drop_job(session: Session, job_id: str) -> None:
    """Everything of a job, in every table, those rows first that point to others."""
    photos = select(PhotoRow.id).where(PhotoRow.job_id == job_id)
    for table in reversed(Base.metadata.sorted_tables):
        if table.name == ChangeRow.__tablename__:
            continue
        if "job_id" in table.c:
            session.execute(delete(table).where(table.c.job_id == job_id))
        elif "photo_id" in table.c:
            session.execute(delete(table).where(table.c.photo_id.in_(photos)))
    session.execute(delete(JobRow).where(JobRow.id == job_id))


def _drop_changes(session: Session, at: datetime) -> int:
    newest = session.scalars(select(FeedRow.n)).one()
    old = (ChangeRow.n <= newest - CHANGES_KEPT) & (ChangeRow.at < at - CHANGE_KEPT)
    count = session.scalars(select(func.count()).select_from(ChangeRow).where(old)).one()
    if count:
        session.execute(delete(ChangeRow).where(old))
    return count


def _old_files(folder: Path, before: datetime) -> Iterator[Path]:
    """Files of photographs, small copies and pieces left by a write that was cut off, by name."""
    for place in sorted(folder.iterdir()):
        for path in sorted(place.iterdir()) if place.is_dir() and len(place.name) == 2 else ():
            with contextlib.suppress(OSError):  # a piece of a write that is whole by now
                if stat.S_ISREG((found := path.lstat()).st_mode) and found.st_mtime < before.timestamp():
                    yield path


def _drop(path: Path, before: datetime) -> int | None:
    """Take a file off the disk; its size in bytes. None where somebody has just come to use it.

    It is moved aside first: whoever keeps the same picture again either touched it before that, which shows in its
    time, or finds nothing and writes it anew.
    """
    aside = path.with_name(f".{secrets.token_hex(8)}.going")
    with contextlib.suppress(OSError):
        os.replace(path, aside)
        found = aside.stat()
        if found.st_mtime >= before.timestamp():
            os.replace(aside, path)
            return None
        aside.unlink()
        return found.st_size
    return None

