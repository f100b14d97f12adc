"""Readings: what the meter showed, where."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from loomwright.jobs.fields import check_id, line, new_id, number, problem, unknown
from loomwright.jobs.ledger import Ledger, now
from loomwright.jobs.model import Reading
from loomwright.jobs.schema import ReadingRow

MAX_UNIT = 16


class Readings(Ledger):
    """Readings of a job."""

    def add_reading(
        self, job_id: str, where: str, quantity: str, value: float, unit: str, by: str = "", at: datetime | None = None
    ) -> Reading:
        """Note a reading. ``at`` is now where left out, and needs a time zone where given.

        Raises
        ------
        InputError, UnknownName, Deleted
            Where a field cannot be used, there is no such job, or it was deleted.
        """
        row = reading_row(where, quantity, value, unit, by, at)
        with self._write() as session:
            job = self._job(session, job_id, to_write=True)
            row.job_id = job.id
            session.add(row)
            self._log(session, job, "reading", row.id, by)
            session.flush()
            return as_reading(row)

    def readings(self, job_id: str) -> tuple[Reading, ...]:
        """The readings of a job, in the order of their times."""
        with self._read() as session:
            job = self._job(session, job_id)
            query = select(ReadingRow).where(ReadingRow.job_id == job.id, ReadingRow.deleted_at.is_(None))
            return tuple(as_reading(r) for r in session.scalars(query.order_by(ReadingRow.at, ReadingRow.id)))

    def delete_reading(self, reading_id: str, by: str = "") -> Reading:
        """Strike a reading out; :meth:`restore_reading` brings it back."""
        return self._strike(reading_id, True, by)

    def restore_reading(self, reading_id: str, by: str = "") -> Reading:
        """Bring a reading back that was struck out."""
        return self._strike(reading_id, False, by)

    def _strike(self, reading_id: str, out: bool, by: str) -> Reading:
        with self._write() as session:
            row = _reading(session, reading_id)
            job = self._job(session, row.job_id, to_write=True)
            if (row.deleted_at is not None) != out:
                row.deleted_at = now() if out else None
                self._log(session, job, "reading", row.id, by)
            return as_reading(row)


def reading_row(where: str, quantity: str, value: float, unit: str, by: str, at: datetime | None) -> ReadingRow:
    """A row for a reading, still without a job. Raises InputError."""
    if at is not None and (at.tzinfo is None or not 1970 < at.year < 2200):
        raise problem("at", "a time with its time zone, between 1971 and 2199", str(at), "Put the time right.")
    return ReadingRow(
        id=new_id(), where=line("where", where, empty=False), quantity=line("quantity", quantity, empty=False),
        value=number("value", value), unit=line("unit", unit, MAX_UNIT), by=line("by", by),
        at=at.astimezone(UTC) if at is not None else now(),
    )  # fmt: skip


def as_reading(row: ReadingRow) -> Reading:
    """The value of a row."""
    return Reading(
        row.id, row.job_id, row.where, row.quantity, row.value, row.unit, row.at, row.by, row.deleted_at
    )


def _reading(session: Session, reading_id: str) -> ReadingRow:
    row = session.get(ReadingRow, check_id("reading", reading_id))
    if row is None:
        raise unknown("reading", reading_id)
    return row
