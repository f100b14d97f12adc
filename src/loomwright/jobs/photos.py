"""Photographs of places, with marks on them. The bytes lie in files named by their SHA-256, written once."""

from __future__ import annotations

import contextlib
import hashlib
import os
import secrets
from collections.abc import Iterable
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from loomwright.jobs.errors import StoreError
from loomwright.jobs.fields import check_id, line, new_id, number, prose, unknown
from loomwright.jobs.images import ENDING, Picture, clean, small
from loomwright.jobs.ledger import Ledger, now
from loomwright.jobs.model import Mark, Photo
from loomwright.jobs.schema import MarkRow, PhotoRow

MAX_CAPTION = 2_000
STORES = ".stores"


class Photos(Ledger):
    """Photographs of a job, and the marks on them."""

    def add_photo(self, job_id: str, place: str, data: bytes, caption: str = "", by: str = "") -> Photo:
        """Keep a photograph. What the file carried beside its pixels, such as where it was taken, is not kept.

        Raises
        ------
        InputError
            Where the content is no JPEG or PNG, or is too large in bytes or pixels.
        UnknownName, Deleted
            Where there is no such job, or it was deleted.
        """
        place, caption = line("place", place), prose("caption", caption, MAX_CAPTION)
        self.job_is_open(job_id)
        picture = clean(data)
        sha256 = self._keep(picture)
        with self._write() as session:
            job = self._job(session, job_id, to_write=True)
            row = photo_row(place, caption, sha256, picture)
            row.job_id, row.by = job.id, line("by", by)
            session.add(row)
            self._log(session, job, "photo", row.id, by)
            session.flush()
            return as_photo(session, row)

    def job_is_open(self, job_id: str) -> None:
        """Raise UnknownName or Deleted where a job cannot be written to."""
        with self._read() as session:
            self._job(session, job_id, to_write=True)

    def photos(self, job_id: str) -> tuple[Photo, ...]:
        """The photographs of a job, oldest first, with their marks."""
        with self._read() as session:
            job = self._job(session, job_id)
            query = select(PhotoRow).where(PhotoRow.job_id == job.id, PhotoRow.deleted_at.is_(None))
            return tuple(as_photo(session, r) for r in session.scalars(query.order_by(PhotoRow.at, PhotoRow.id)).all())

    def photo(self, photo_id: str) -> Photo:
        """One photograph, deleted or not. Raises UnknownName."""
        with self._read() as session:
            return as_photo(session, _photo(session, photo_id))

    def photo_bytes(self, photo_id: str) -> bytes:
        """The bytes of a photograph, of the media type that :meth:`photo` names. Raises UnknownName, StoreError."""
        with self._read() as session:
            row = _photo(session, photo_id)
            return self._fetch(row.sha256, row.media_type)

    def photo_file(self, photo: Photo) -> Path:
        """Where the content of a photograph lies, for :func:`content`: one place for one content, for ever."""
        return self._path(photo.sha256, photo.media_type)

    def photo_small(self, photo_id: str) -> bytes:
        """A photograph at most 640 px on its longer side, of the same media type: for lists and phones.

        It is made when first asked for, and kept beside the photograph.
        """
        with self._read() as session:
            row = _photo(session, photo_id)
            sha256, media_type = row.sha256, row.media_type
        path = self._path(sha256, media_type).with_suffix(".small")
        with contextlib.suppress(OSError):
            return path.read_bytes()
        data = small(self._fetch(sha256, media_type))
        self._put(path, data)
        return data

    def set_caption(self, photo_id: str, caption: str, by: str = "") -> Photo:
        """Put other words under a photograph."""
        caption = prose("caption", caption, MAX_CAPTION)
        with self._write() as session:
            row = self._to_change(session, photo_id, by)
            row.caption = caption
            return as_photo(session, row)

    def delete_photo(self, photo_id: str, by: str = "") -> Photo:
        """Take a photograph away; :meth:`restore_photo` brings it back, marks and all."""
        with self._write() as session:
            row = self._to_change(session, photo_id, by)
            row.deleted_at = row.deleted_at or now()
            return as_photo(session, row)

    def restore_photo(self, photo_id: str, by: str = "") -> Photo:
        """Bring a photograph back that was taken away."""
        with self._write() as session:
            row = self._to_change(session, photo_id, by)
            row.deleted_at = None
            return as_photo(session, row)

    def add_mark(self, photo_id: str, x_pct: float, y_pct: float, text: str, by: str = "") -> Mark:
        """Mark a spot, in per cent of width and height from the top left. Raises InputError, UnknownName, Deleted."""
        with self._write() as session:
            photo = self._to_change(session, photo_id, by)
            row = mark_row(photo.id, x_pct, y_pct, text)
            session.add(row)
            return as_mark(row)

    def change_mark(self, mark_id: str, x_pct: float, y_pct: float, text: str, by: str = "") -> Mark:
        """Move a mark, or give it other words."""
        wanted = mark_row("", x_pct, y_pct, text)
        with self._write() as session:
            row = _mark(session, mark_id)
            self._to_change(session, row.photo_id, by)
            row.x_pct, row.y_pct, row.text = wanted.x_pct, wanted.y_pct, wanted.text
            return as_mark(row)

    def delete_mark(self, mark_id: str, by: str = "") -> Mark:
        """Take a mark off; :meth:`restore_mark` puts it back."""
        with self._write() as session:
            row = _mark(session, mark_id)
            self._to_change(session, row.photo_id, by)
            row.deleted_at = row.deleted_at or now()
            return as_mark(row)

    def restore_mark(self, mark_id: str, by: str = "") -> Mark:
        """Put a mark back that was taken off."""
        with self._write() as session:
            row = _mark(session, mark_id)
            self._to_change(session, row.photo_id, by)
            row.deleted_at = None
            return as_mark(row)

    def _to_change(self, session: Session, photo_id: str, by: str) -> PhotoRow:
        row = _photo(session, photo_id)
        self._log(session, self._job(session, row.job_id, to_write=True), "photo", row.id, by)
        return row

    def _keep(self, picture: Picture) -> str:
        """Write a picture under its sum, whole or not at all, and on the disk before this returns."""
        sha256 = hashlib.sha256(picture.data).hexdigest()
        path = self._path(sha256, picture.media_type)
        with contextlib.suppress(FileNotFoundError):
            if path.stat().st_size == len(picture.data):
                os.utime(path)  # in use from now on: housekeeping leaves it
                return sha256
        self._put(path, picture.data)
        self._sign(self.folder / "photos")
        return sha256

    def _sign(self, folder: Path) -> None:
        """Note that this store keeps photographs in a folder."""
        users = self._users(folder)
        if self._name() not in users:
            self._put(folder / STORES, "".join(f"{u}\n" for u in sorted({*users, self._name()})).encode())

    def _users(self, folder: Path) -> set[str]:
        """The stores that have kept photographs in a folder."""
        with contextlib.suppress(OSError):
            return set((folder / STORES).read_text(encoding="ascii").split())
        return set()

    def _name(self) -> str:
        """What tells one store from another that uses the same folder; nothing in it can be read."""
        here = self.url.get_backend_name() == "sqlite"
        name = Path(str(self.url.database)).name if here else f"{self.url.host}:{self.url.port}/{self.url.database}"
        return hashlib.sha256(f"{self.url.get_backend_name()} {name}".encode()).hexdigest()[:24]

    def _put(self, path: Path, data: bytes) -> None:
        try:
            for folder in (path.parent.parent, path.parent):
                folder.mkdir(exist_ok=True, mode=0o700)
            beside = path.with_name(f".{secrets.token_hex(8)}.part")
            try:
                with open(beside, "xb") as file:
                    file.write(data)
                    file.flush()
                    os.fsync(file.fileno())
                os.replace(beside, path)
            finally:
                beside.unlink(missing_ok=True)
            sync_folder(path.parent)
            sync_folder(path.parent.parent)
        except OSError as error:
            raise StoreError(f"The photograph cannot be written: {error}. Make room on the disk.") from error

    def _fetch(self, sha256: str, media_type: str) -> bytes:
        return content(self._path(sha256, media_type), sha256)

    def _path(self, sha256: str, media_type: str) -> Path:
        return self.folder / "photos" / sha256[:2] / f"{sha256}.{ENDING[media_type]}"


def content(path: Path, sha256: str) -> bytes:
    """The bytes of a photograph that is kept. Raises StoreError where the file is missing or is not what was kept."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise StoreError(f"A photograph's file is missing: {error}. Restore it from a backup.") from error
    if hashlib.sha256(data).hexdigest() != sha256:
        raise StoreError(f"The file of photograph {sha256[:12]} has changed. Restore it from a backup.")
    return data


def photo_row(place: str, caption: str, sha256: str, picture: Picture) -> PhotoRow:
    """A row for a picture that is kept, still without a job."""
    return PhotoRow(
        id=new_id(), place=place, caption=caption, sha256=sha256, media_type=picture.media_type,
        width_px=picture.width_px, height_px=picture.height_px, size_bytes=len(picture.data), at=now(), by="",
    )  # fmt: skip


def mark_row(photo_id: str, x_pct: float, y_pct: float, text: str) -> MarkRow:
    """A row for a mark. Raises InputError."""
    return MarkRow(
        id=new_id(), photo_id=photo_id, x_pct=number("x_pct", x_pct, 0, 100), y_pct=number("y_pct", y_pct, 0, 100),
        text=prose("text", text, MAX_CAPTION), at=now(),
    )  # fmt: skip


def as_photo(session: Session, row: PhotoRow) -> Photo:
    """The value of a row, with its marks."""
    return Photo(
        row.id, row.job_id, row.place, row.caption, row.sha256, row.media_type, row.width_px, row.height_px,
        row.size_bytes, row.at, row.by, tuple(as_mark(m) for m in marks_of(session, row.id)), row.deleted_at,
    )  # fmt: skip


def marks_of(session: Session, photo_id: str) -> Iterable[MarkRow]:
    """The marks on a photograph, oldest first."""
    query = select(MarkRow).where(MarkRow.photo_id == photo_id, MarkRow.deleted_at.is_(None))
    return session.scalars(query.order_by(MarkRow.at, MarkRow.id)).all()


def as_mark(row: MarkRow) -> Mark:
    """The value of a row."""
    return Mark(row.id, row.x_pct, row.y_pct, row.text)


def sync_folder(folder: Path) -> None:
    """Have a folder's entries written to the disk, where the system can do that."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _photo(session: Session, photo_id: str) -> PhotoRow:
    row = session.get(PhotoRow, check_id("photograph", photo_id))
    if row is None:
        raise unknown("photograph", photo_id)
    return row


def _mark(session: Session, mark_id: str) -> MarkRow:
    row = session.get(MarkRow, check_id("mark", mark_id))
    if row is None:
        raise unknown("mark", mark_id)
    return row
