"""The list of jobs: make, rename, delete, bring back."""

from __future__ import annotations

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from loomwright.jobs.fields import MAX_TITLE, line, new_id
from loomwright.jobs.ledger import Ledger, now
from loomwright.jobs.model import STAGES, Job, JobSummary
from loomwright.jobs.schema import DocumentRow, JobRow, PhotoRow, ReadingRow


class Register(Ledger):
    """Jobs as such."""

    def create_job(self, title: str, by: str = "") -> Job:
        """A new, empty job. Raises InputError where the title is empty or longer than 200 characters."""
        title = line("title", title, MAX_TITLE, empty=False)
        with self._write() as session:
            return as_job(self._new_job(session, title, "created", by))

    def job(self, job_id: str) -> Job:
        """One job, deleted or not. Raises UnknownName."""
        with self._read() as session:
            return as_job(self._job(session, job_id))

    def jobs(self, deleted: bool = False) -> tuple[JobSummary, ...]:
        """All jobs, last changed first; or those that were deleted."""
        gone = JobRow.deleted_at.is_not(None) if deleted else JobRow.deleted_at.is_(None)
        with self._read() as session:
            rows = session.scalars(select(JobRow).where(gone).order_by(JobRow.revision.desc(), JobRow.id)).all()
            rigs = session.execute(
                select(DocumentRow.job_id, DocumentRow.key).where(DocumentRow.kind == "rig", DocumentRow.head > 0)
            ).all()
            photos, readings = _count(session, PhotoRow), _count(session, ReadingRow)
        stages: dict[str, set[str]] = {}
        for job_id, stage in rigs:
            stages.setdefault(job_id, set()).add(stage)
        return tuple(
            JobSummary(
                r.id, r.title, r.created_at, r.changed_at, r.revision, r.deleted_at,
                tuple(s for s in STAGES if s in stages.get(r.id, ())), photos.get(r.id, 0), readings.get(r.id, 0),
            )
            for r in rows
        )  # fmt: skip

    def rename(self, job_id: str, title: str, by: str = "") -> Job:
        """Give a job another title. Raises InputError, UnknownName, Deleted."""
        title = line("title", title, MAX_TITLE, empty=False)
        with self._write() as session:
            job = self._job(session, job_id, to_write=True)
            if job.title != title:
                job.title = title
                self._log(session, job, "renamed", by=by)
            return as_job(job)

    def delete_job(self, job_id: str, by: str = "") -> Job:
        """Take a job off the list. All of it is kept for 90 days; :meth:`restore_job` brings it back."""
        with self._write() as session:
            job = self._job(session, job_id)
            if job.deleted_at is None:
                job.deleted_at = now()
                self._log(session, job, "deleted", by=by)
            return as_job(job)

    def restore_job(self, job_id: str, by: str = "") -> Job:
        """Bring a deleted job back."""
        with self._write() as session:
            job = self._job(session, job_id)
            if job.deleted_at is not None:
                job.deleted_at = None
                self._log(session, job, "restored", by=by)
            return as_job(job)

    def _new_job(self, session: Session, title: str, what: str, by: str, job_id: str = "") -> JobRow:
        at = now()
        job = JobRow(id=job_id or new_id(), title=title, created_at=at, changed_at=at, revision=0)
        session.add(job)
        self._log(session, job, what, by=by)
        return job


def as_job(row: JobRow) -> Job:
    """The value of a row."""
    return Job(row.id, row.title, row.created_at, row.changed_at, row.revision, row.deleted_at)


def _count(session: Session, table: type[PhotoRow] | type[ReadingRow]) -> dict[str, int]:
    query = select(table.job_id, func.count().label("n")).where(table.deleted_at.is_(None)).group_by(table.job_id)
    return {row.job_id: row.n for row in session.execute(query)}
