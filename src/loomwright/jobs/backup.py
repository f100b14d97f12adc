"""The whole store as one file, and back, on either database.

A backup is a zip file of exported jobs, with what was deleted in them: ``backup.json``,
``shop.json`` and ``jobs/<id>.zip``. It does
not depend on the database, so a restore also moves a shop from one kind to the other.
"""

from __future__ import annotations

import contextlib
import os
import re
import secrets
import zipfile
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from loomwright.jobs.carry import Carry, put_rows
from loomwright.jobs.errors import StoreError
from loomwright.jobs.fields import check_id, problem
from loomwright.jobs.ledger import now
from loomwright.jobs.photos import sync_folder
from loomwright.jobs.schema import (
    ActRow,
    Base,
    DocumentRow,
    JobRow,
    MarkRow,
    PhotoRow,
    ReadingRow,
    RevisionRow,
    ShopRow,
    StockRow,
)

_TABLES = (ActRow, MarkRow, PhotoRow, ReadingRow, RevisionRow, DocumentRow, JobRow, ShopRow, StockRow)
HEAD = "backup.json"
MOST_BYTES = 200_000_000_000
MOST_JOBS = 100_000


@dataclass(frozen=True, slots=True)
class BackedUp:
    """What a backup came to. ``missing`` names the photographs whose files are not there any more, by their SHA-256."""

    path: Path
    jobs: int
    size_bytes: int
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Restored:
    """What a restore came to. ``before`` is a backup of what was there before; None where there was nothing."""

    jobs: int
    before: Path | None


class Backup(Carry):
    """Backup and restore of everything."""

    def backup(self, path: str | Path) -> BackedUp:
        """Write everything into one file, as of one moment, while others go on writing.

        The file appears whole or not at all.

        Raises
        ------
        StoreError
            Where the file cannot be written.
        """
        from loomwright.jobs.layout import BackupEntry, BackupFile
        from loomwright.jobs.pack import pack
        from loomwright.jobs.parcel import put
        from loomwright.jobs.shop_file import SHOP, pack_shop

        path = Path(path).expanduser()
        beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
        entries: list[BackupEntry] = []
        missing: list[str] = []
        try:
            path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            with open(beside, "xb") as file:
                os.chmod(beside, 0o600)
                with zipfile.ZipFile(file, "w") as target, self._read() as session:
                    for job_id in session.scalars(select(JobRow.id).order_by(JobRow.created_at, JobRow.id)).all():
                        job = session.get_one(JobRow, job_id)
                        data, lost = pack(session, job, self._fetch_or_none, everything=True)
                        put(target, f"jobs/{job_id}.zip", data, pressed=False)
                        entries.append(BackupEntry(id=job_id, file=f"jobs/{job_id}.zip"))
                        missing += lost
                        session.expunge_all()
                    put(target, SHOP, pack_shop(session))
                    head = BackupFile(format=1, created_at=now(), jobs=entries)
                    put(target, HEAD, (head.model_dump_json(indent=1) + "\n").encode())
                file.flush()
                os.fsync(file.fileno())
            os.replace(beside, path)
            sync_folder(path.parent)
            return BackedUp(path, len(entries), path.stat().st_size, tuple(missing))
        except OSError as error:
            raise StoreError(f"The backup cannot be written: {error}. Choose another folder, or make room.") from error
        finally:
            with contextlib.suppress(OSError):
                beside.unlink(missing_ok=True)

    def restore(self, path: str | Path, by: str = "") -> Restored:
        """Put back what a backup holds, in place of everything that is there. That is backed up first.

        Nothing changes where anything in the backup cannot be used. Jobs keep their ids.

        Raises
        ------
        InputError
            Where the file is damaged, too large or no backup.
        StoreError
            Where it cannot be read, or the backup of what is there cannot be written.
        """
        from loomwright.jobs.layout import MEMBERS, BackupFile
        from loomwright.jobs.layout import MOST_BYTES as MOST_JOB_BYTES
        from loomwright.jobs.parcel import Bounds, Parcel
        from loomwright.jobs.shop_file import MOST_BYTES as MOST_SHOP_BYTES
        from loomwright.jobs.shop_file import unpack_shop
        from loomwright.jobs.unpack import read_file, unpack

        path = Path(path).expanduser()
        allowed = {re.compile(r"backup\.json"): max(MEMBERS.values()), _MEMBER: MOST_JOB_BYTES,
                   re.compile(r"shop\.json"): MOST_SHOP_BYTES}  # fmt: skip
        try:
            source = open(path, "rb")  # noqa: SIM115 - closed by the stack below
        except OSError as error:
            raise StoreError(f"The backup cannot be read: {error}. Check its name.") from error
        with source, Parcel(source, path.name, Bounds(allowed, MOST_BYTES, MOST_BYTES, MOST_JOBS)) as parcel:
            entries = read_file(parcel, HEAD, BackupFile).jobs
            if len({e.id for e in entries}) != len(entries):
                raise problem(HEAD, "each job once", "one of them twice", "Use another backup.", path.name)
            shop = unpack_shop(parcel)
            before = self._before()
            with self._write() as session:
                if shop or not _empty(session, ShopRow, StockRow):
                    self._log_shop(session, "restored", by=by)
                for table in _TABLES:
                    session.execute(delete(table))
                session.add_all(shop)
                for entry in entries:
                    name = f"{path.name}: {entry.file}"[:120]
                    found = unpack(parcel.read(entry.file), name, self._keep, MOST_JOB_BYTES)
                    job = self._new_job(session, found.head.title, "imported", by, check_id("job", entry.id))
                    job.deleted_at = found.head.deleted_at
                    put_rows(session, job, found)
            return Restored(len(entries), before)

    def _before(self) -> Path | None:
        """A backup of what is there; None where there is nothing."""
        with self._read() as session:
            if _empty(session, JobRow, ShopRow, StockRow):
                return None
        return self.backup(self.folder / "before-restore" / f"{now():%Y-%m-%d-%H%M%S-%f}.zip").path


def _empty(session: Session, *tables: type[Base]) -> bool:
    return all(session.execute(select(t).limit(1)).first() is None for t in tables)


_MEMBER = re.compile(r"jobs/[0-9a-z]{10}\.zip")
