"""One job as one file: out to another shop, and in from one."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC
from typing import TYPE_CHECKING

from sqlalchemy.orm import Session

from loomwright.jobs.errors import StoreError
from loomwright.jobs.fields import line
from loomwright.jobs.layout import CATALOGUE
from loomwright.jobs.model import Job
from loomwright.jobs.photos import Photos
from loomwright.jobs.register import Register, as_job
from loomwright.jobs.schema import ActRow, Base, DocumentRow, JobRow, MarkRow, PhotoRow, ReadingRow, RevisionRow
from loomwright.jobs.shop import CATALOGUE_FILE, current_text, put_text
from loomwright.rig import catalogue

if TYPE_CHECKING:
    from loomwright.jobs.unpack import Unpacked


class Carry(Register, Photos):
    """Export and import of one job."""

    def export_job(self, job_id: str) -> bytes:
        """A job as one zip file: ``job.json``, ``rigs/*.toml``, ``photos/*``. The same job gives the same bytes.

        All revisions of rigs and notes go along, and the parts of the shop's own catalogue that the rigs use, as
        ``catalogue.toml``; photographs, marks and readings that were deleted do not.

        Raises
        ------
        UnknownName
            Where there is no such job.
        StoreError
            Where the file of a photograph is missing.
        """
        from loomwright.jobs.pack import pack

        with self._read() as session:
            data, missing = pack(session, self._job(session, job_id), self._fetch_or_none, everything=False)
        if missing:
            remedy = "Restore a backup, or delete the photograph."
            raise StoreError(f"The file of photograph {missing[0][:12]} is missing. {remedy}")
        return data

    def import_job(self, data: bytes, by: str = "", name: str = "import file") -> Job:
        """A new job out of an exported one, with the parts that it brings and this shop lacks.

        Nothing is kept where anything in the file cannot be used.

        Raises
        ------
        InputError
            Where the file is damaged, too large or no exported job, or a field in it cannot be used.
        """
        from loomwright.jobs.unpack import unpack

        found = unpack(data, name, self._keep)
        with self._write() as session:
            if found.catalogue:
                self._borrow(session, found.catalogue, name, by)
            job = self._new_job(session, found.head.title, "imported", by)
            put_rows(session, job, found)
            return as_job(job)

    def _borrow(self, session: Session, brought: str, name: str, by: str) -> None:
        """Take over the parts that a job brings and that this shop does not have; its own stay as they are."""
        from loomwright.jobs.borrowed import joined

        text = current_text(session, "catalogue")
        whole = joined(text, brought, f"{name}: {CATALOGUE}")
        if whole != text:
            catalogue.parse(whole, CATALOGUE_FILE)
            put_text(session, "catalogue", whole, f"Parts from {name}"[:200], line("by", by))
            self._log_shop(session, "catalogue", by=by)

    def _fetch_or_none(self, sha256: str, media_type: str) -> bytes | None:
        try:
            return self._fetch(sha256, media_type)
        except StoreError:
            return None


def put_rows(session: Session, job: JobRow, found: Unpacked) -> None:
    """Put the rows of an unpacked job under a job, those first that others point to."""
    job.created_at = found.head.created_at.astimezone(UTC)
    session.flush()
    for kind in (DocumentRow, RevisionRow, PhotoRow, MarkRow, ReadingRow, ActRow):
        rows: Iterable[Base] = [row for row in found.rows if isinstance(row, kind)]
        for row in rows:
            if not isinstance(row, MarkRow):
                row.job_id = job.id  # type: ignore[attr-defined]
        session.add_all(rows)
        session.flush()
