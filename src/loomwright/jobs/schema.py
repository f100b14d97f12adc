"""The tables. Times are whole microseconds since 1970 in UTC, the same on every database."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Integer,
    String,
    Text,
    UniqueConstraint,
)
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column
from sqlalchemy.types import TypeDecorator

HEAD = "0004"
"""The migration that these tables are at."""

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_TICK = timedelta(microseconds=1)


class Moment(TypeDecorator[datetime]):
    """A time in UTC as whole microseconds since 1970."""

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> Any:
        """To the database."""
        return None if value is None else (value - _EPOCH) // _TICK

    def process_result_value(self, value: Any | None, dialect: Dialect) -> datetime | None:
        """From the database."""
        return None if value is None else _EPOCH + int(value) * _TICK


class Base(DeclarativeBase):
    """Root of the tables."""


class FeedRow(Base):
    """One row: the number of the last change. Whoever writes holds it."""

    __tablename__ = "feed"
    id: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    n: Mapped[int] = mapped_column(BigInteger)


class ChangeRow(Base):
    """The change feed."""

    __tablename__ = "change"
    n: Mapped[int] = mapped_column(BigInteger, primary_key=True, autoincrement=False)
    job_id: Mapped[str] = mapped_column(String(16))
    what: Mapped[str] = mapped_column(String(16))
    key: Mapped[str] = mapped_column(String(80))
    at: Mapped[datetime] = mapped_column(Moment)
    by: Mapped[str] = mapped_column(String(80))


class JobRow(Base):
    """Jobs."""

    __tablename__ = "job"
    id: Mapped[str] = mapped_column(String(16), primary_key=True)
    title: Mapped[str] = mapped_column(String(200))
    created_at: Mapped[datetime] = mapped_column(Moment)
    changed_at: Mapped[datetime] = mapped_column(Moment)
    revision: Mapped[int] = mapped_column(BigInteger)
    deleted_at: Mapped[datetime | None] = mapped_column(Moment)


class DocumentRow(Base):
    """What is edited as a text: a rig (key: stage), a note (key: place) or the equipment list (no key).

    ``head`` is the current revision, ``tip`` the one that redo leads to, ``last`` the highest number given out.
    """

    __tablename__ = "document"
    job_id: Mapped[str] = mapped_column(String(16), ForeignKey("job.id"), primary_key=True)
    kind: Mapped[str] = mapped_column(String(8), primary_key=True)
    key: Mapped[str] = mapped_column(String(80), primary_key=True)
    head: Mapped[int] = mapped_column(Integer)
    tip: Mapped[int] = mapped_column(Integer)
    last: Mapped[int] = mapped_column(Integer)


class RevisionRow(Base):
    """Every text ever saved."""

    __tablename__ = "revision"
    __table_args__ = (
        ForeignKeyConstraint(["job_id", "kind", "key"], ["document.job_id", "document.kind", "document.key"]),
    )
    job_id: Mapped[str] = mapped_column(String(16), primary_key=True)
    kind: Mapped[str] = mapped_column(String(8), primary_key=True)
    key: Mapped[str] = mapped_column(String(80), primary_key=True)
    number: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    parent: Mapped[int] = mapped_column(Integer)
    side: Mapped[bool] = mapped_column(Boolean)
    text: Mapped[str] = mapped_column(Text)
    note: Mapped[str] = mapped_column(Text)
    at: Mapped[datetime] = mapped_column(Moment)
    by: Mapped[str] = mapped_column(String(80))


class PhotoRow(Base):
    """Photographs; their bytes lie in files named by ``sha256``."""

    __tablename__ = "photo"
    id: Mapped[str] = mapped_column(String(16), primary_key=True)
    job_id: Mapped[str] = mapped_column(String(16), ForeignKey("job.id"), index=True)
    place: Mapped[str] = mapped_column(String(80))
    caption: Mapped[str] = mapped_column(Text)
    sha256: Mapped[str] = mapped_column(String(64))
    media_type: Mapped[str] = mapped_column(String(16))
    width_px: Mapped[int] = mapped_column(Integer)
    height_px: Mapped[int] = mapped_column(Integer)
    size_bytes: Mapped[int] = mapped_column(Integer)
    at: Mapped[datetime] = mapped_column(Moment)
    by: Mapped[str] = mapped_column(String(80))
    deleted_at: Mapped[datetime | None] = mapped_column(Moment)


class MarkRow(Base):
    """Marks on photographs."""

    __tablename__ = "mark"
    id: Mapped[str] = mapped_column(String(16), primary_key=True)
    photo_id: Mapped[str] = mapped_column(String(16), ForeignKey("photo.id"), index=True)
    x_pct: Mapped[float] = mapped_column(Float)
    y_pct: Mapped[float] = mapped_column(Float)
    text: Mapped[str] = mapped_column(Text)
    at: Mapped[datetime] = mapped_column(Moment)
    deleted_at: Mapped[datetime | None] = mapped_column(Moment)


class ReadingRow(Base):
    """Readings."""

    __tablename__ = "reading"
    id: Mapped[str] = mapped_column(String(16), primary_key=True)
    job_id: Mapped[str] = mapped_column(String(16), ForeignKey("job.id"), index=True)
    where: Mapped[str] = mapped_column(String(80))
    quantity: Mapped[str] = mapped_column(String(80))
    value: Mapped[float] = mapped_column(Float)
    unit: Mapped[str] = mapped_column(String(16))
    at: Mapped[datetime] = mapped_column(Moment)
    by: Mapped[str] = mapped_column(String(80))
    deleted_at: Mapped[datetime | None] = mapped_column(Moment)


class ActRow(Base):
    """What is done, measured and signed while a job is built. Rows are added, never changed; ``n`` is their order."""

    __tablename__ = "act"
    __table_args__ = (UniqueConstraint("job_id", "n", name="act_in_order"),)
    job_id: Mapped[str] = mapped_column(String(16), ForeignKey("job.id"), primary_key=True)
    id: Mapped[str] = mapped_column(String(40), primary_key=True)
    n: Mapped[int] = mapped_column(Integer)
    stage: Mapped[str] = mapped_column(String(16))
    step: Mapped[str] = mapped_column(Text)
    kind: Mapped[str] = mapped_column(String(8))
    measure: Mapped[str] = mapped_column(Text)
    value: Mapped[float | None] = mapped_column(Float)
    unit: Mapped[str] = mapped_column(String(16))
    text: Mapped[str] = mapped_column(Text)
    photo_id: Mapped[str | None] = mapped_column(String(16), ForeignKey("photo.id"))
    of: Mapped[str] = mapped_column(String(40))
    at: Mapped[datetime] = mapped_column(Moment)
    came_at: Mapped[datetime] = mapped_column(Moment)
    by: Mapped[str] = mapped_column(String(80))


class ShopRow(Base):
    """Texts of the shop as a whole, every one ever saved: its settings, its own catalogue."""

    __tablename__ = "shop"
    key: Mapped[str] = mapped_column(String(16), primary_key=True)
    number: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    parent: Mapped[int] = mapped_column(Integer)
    side: Mapped[bool] = mapped_column(Boolean)
    text: Mapped[str] = mapped_column(Text)
    note: Mapped[str] = mapped_column(Text)
    at: Mapped[datetime] = mapped_column(Moment)
    by: Mapped[str] = mapped_column(String(80))


class StockRow(Base):
    """What lies on the shop's shelves."""

    __tablename__ = "stock"
    id: Mapped[str] = mapped_column(String(16), primary_key=True)
    kind: Mapped[str] = mapped_column(String(16))
    number: Mapped[int] = mapped_column(Integer)
    part: Mapped[str] = mapped_column(String(80))
    size: Mapped[str] = mapped_column(String(16))
    metal: Mapped[str] = mapped_column(String(16))
    insulation_c: Mapped[int | None] = mapped_column(Integer)
    colour: Mapped[str] = mapped_column(String(16))
    length_mm: Mapped[float | None] = mapped_column(Float)
    width_mm: Mapped[float | None] = mapped_column(Float)
    thickness_mm: Mapped[float | None] = mapped_column(Float)
    material: Mapped[str] = mapped_column(String(16), server_default="")
    type: Mapped[str] = mapped_column(String(16))
    rating_a: Mapped[float | None] = mapped_column(Float)
    count: Mapped[int | None] = mapped_column(Integer)
    note: Mapped[str] = mapped_column(Text)
    at: Mapped[datetime] = mapped_column(Moment)
    by: Mapped[str] = mapped_column(String(80))
    deleted_at: Mapped[datetime | None] = mapped_column(Moment)
