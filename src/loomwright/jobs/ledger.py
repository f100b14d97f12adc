"""What everything in the store stands on: one writer at a time, and a change feed that numbers every write.

Whoever writes holds the one row of ``feed`` to the end of the transaction. So numbers are given out in the order in
which the writes become visible: a reader who has seen change n never misses one below it.
"""

from __future__ import annotations

import contextlib
import os
import threading
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self

from sqlalchemy import bindparam, insert, select, update
from sqlalchemy.orm import Session
from sqlalchemy.orm.attributes import set_committed_value

from loomwright.jobs.engine import WRITES, explained, open_engine, read_url
from loomwright.jobs.errors import Deleted
from loomwright.jobs.fields import check_id, line, unknown
from loomwright.jobs.model import Change
from loomwright.jobs.places import default_folder
from loomwright.jobs.schema import Base, ChangeRow, FeedRow, JobRow

MOST = 2**62
LAST, LOGGED = "last", "changes"
"""Under these names a session keeps the number of the last change before it, and the changes that it makes."""
_HOLD = select(FeedRow.n).where(FeedRow.id == 1).with_for_update()
_FEED, _CHANGE = Base.metadata.tables["feed"], Base.metadata.tables["change"]
_COUNT = update(_FEED).where(_FEED.c.id == 1).values(n=bindparam("last"))
_ADD = insert(_CHANGE)
_JOB = Base.metadata.tables["job"]
_MARK = update(_JOB).where(_JOB.c.id == bindparam("of_job")).values(
    revision=bindparam("revision"), changed_at=bindparam("changed_at")
)  # fmt: skip


def now() -> datetime:
    """The time, in UTC."""
    return datetime.now(UTC)


class Ledger:
    """Opens the database, reads and writes in transactions, and keeps the change feed.

    Parameters
    ----------
    url : str or Path
        A path or ``sqlite:///path`` for SQLite, ``postgresql://...`` for PostgreSQL.
    folder : Path, optional
        Where photographs and safety copies lie. Left out: the folder of the SQLite file, or
        :func:`loomwright.jobs.places.default_folder` with PostgreSQL.

    Raises
    ------
    StoreError
        Where the database cannot be opened, or a newer version of the program has written it.
    """

    def __init__(self, url: str | Path, folder: str | Path | None = None) -> None:
        self.url = read_url(url)
        self._engine = open_engine(self.url)
        self._writing = self._engine.execution_options(**{WRITES: True})
        self._turn = threading.Lock()
        self._listeners: list[Callable[[int, str], None]] = []
        if folder is None:
            own = self._engine.url.database if self._engine.dialect.name == "sqlite" else None
            folder = Path(own).parent if own else default_folder()
        self.folder = Path(folder).expanduser().absolute()
        with explained(self.url):
            self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            if self._engine.dialect.name == "sqlite":
                with contextlib.suppress(OSError):
                    os.chmod(str(self._engine.url.database), 0o600)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()

    def close(self) -> None:
        """Close every connection. Nothing is lost without it: each write is on the disk when it is acknowledged."""
        self._engine.dispose()

    def last_change(self) -> int:
        """Number of the last change in the whole store; 0 where there is none."""
        with self._read() as session:
            return session.scalars(select(FeedRow.n)).one()

    def changes_since(self, n: int, most: int = 1000) -> tuple[Change, ...]:
        """The changes after number ``n``, oldest first, at most so many of them."""
        query = select(ChangeRow).where(ChangeRow.n > max(0, min(n, MOST))).order_by(ChangeRow.n).limit(most)
        with self._read() as session:
            return tuple(Change(r.n, r.job_id, r.what, r.key, r.at, r.by) for r in session.scalars(query))

    def revision(self, job_id: str) -> int:
        """A number that rises with every change to anything in the job: the number of its last change."""
        with self._read() as session:
            return self._job(session, job_id).revision

    def listen(self, heard: Callable[[int, str], None]) -> Callable[[], None]:
        """Call ``heard`` with the number of each change that this process makes and the job that it was made to, once
        it is on the disk. The job is empty where the change was to what belongs to the shop.

        It is called on the writer's thread, and should only pass the number on. Returns what ends the listening.
        Changes of other processes are found by :meth:`last_change`.
        """
        self._listeners.append(heard)
        return lambda: self._listeners.remove(heard) if heard in self._listeners else None

    @contextlib.contextmanager
    def _read(self) -> Iterator[Session]:
        """A session that sees one state of the store throughout."""
        options = {} if self._engine.dialect.name == "sqlite" else {"isolation_level": "REPEATABLE READ"}
        with explained(self.url), Session(self._engine.execution_options(**options)) as session:
            yield session

    @contextlib.contextmanager
    def _write(self) -> Iterator[Session]:
        """A session that is the only writer. Leaving it commits; an error takes everything back."""
        with explained(self.url), self._turn, Session(self._writing) as session:
            last = session.scalars(_HOLD).one()
            changes: list[dict[str, Any]] = session.info.setdefault(LOGGED, [])
            session.info[LAST] = last
            yield session
            if changes:
                session.execute(_COUNT, {"last": last + len(changes)})
                session.execute(_ADD, changes)
            session.commit()
        for change in changes:
            for heard in tuple(self._listeners):
                heard(change["n"], change["job_id"])

    def _log(self, session: Session, job: JobRow, what: str, key: str = "", by: str = "") -> None:
        """Number a change, and set the job's revision to it."""
        n, at = _number(session, job.id, what, key, by)
        if job in session.new:
            job.revision, job.changed_at = n, at
            return
        session.execute(_MARK, {"of_job": job.id, "revision": n, "changed_at": at})
        set_committed_value(job, "revision", n)
        set_committed_value(job, "changed_at", at)

    def _log_shop(self, session: Session, what: str, key: str = "", by: str = "") -> None:
        """Number a change to what belongs to the shop, not to one job."""
        _number(session, "", what, key, by)

    def _job(self, session: Session, job_id: str, to_write: bool = False) -> JobRow:
        """The row of a job. Raises UnknownName; Deleted where it is to be written to and was deleted."""
        job = session.get(JobRow, check_id("job", job_id))
        if job is None:
            raise unknown("job", job_id)
        if to_write and job.deleted_at is not None:
            raise Deleted(f'The job "{job.title}" was deleted on {job.deleted_at:%Y-%m-%d}. Restore it first.')
        return job


def _number(session: Session, job_id: str, what: str, key: str, by: str) -> tuple[int, datetime]:
    """Give a change its number and its time."""
    changes, at = session.info[LOGGED], now()
    n: int = session.info[LAST] + len(changes) + 1
    changes.append({"n": n, "job_id": job_id, "what": what, "key": key, "at": at, "by": line("by", by)})
    return n, at
