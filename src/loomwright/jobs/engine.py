"""Opens a database: SQLite as a file (write-ahead log, full sync) or PostgreSQL by URL, tables brought up to date."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, column, create_engine, event, func, inspect, select, table
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from loomwright.jobs.errors import StoreError
from loomwright.jobs.schema import HEAD

WRITES = "loomwright_writes"
_BUSY_MS = 30_000
_LOCK = 7_205_120_417
"""Any number that PostgreSQL's users of this database agree on: who holds it may change the tables."""


def read_url(url: str | Path) -> URL:
    """A database URL from what the user gave: a path, ``sqlite:///path`` or ``postgresql://...``.

    Raises
    ------
    StoreError
        Where it is neither.
    """
    given = str(url)
    if "://" not in given:
        return URL.create("sqlite", database=given)
    try:
        parsed = make_url(given)
    except ArgumentError:
        raise StoreError(f"Not a database URL. {_FORMS}") from None
    kind = parsed.get_backend_name()
    if kind == "postgresql":
        return parsed.set(drivername="postgresql+psycopg")
    if kind == "sqlite" and parsed.database and parsed.database != ":memory:" and not parsed.query:
        return parsed.set(drivername="sqlite")
    raise StoreError(f"No store can be kept in {kind} that way. {_FORMS}")


_FORMS = "Write a path, sqlite:///path/to/jobs.sqlite3, or postgresql://user@host/database."


def open_engine(url: URL) -> Engine:
    """An engine with up-to-date tables. Raises StoreError where the database cannot be opened."""
    with explained(url):
        if url.get_backend_name() == "sqlite":
            Path(str(url.database)).expanduser().parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            url = url.set(database=str(Path(str(url.database)).expanduser()))
            engine = create_engine(url, pool_size=8, max_overflow=40, connect_args={"timeout": _BUSY_MS / 1000})
            event.listen(engine, "connect", _set_up_sqlite)
            event.listen(engine, "begin", _begin_sqlite)
        else:
            engine = create_engine(url, pool_size=8, max_overflow=40, pool_pre_ping=True)
        try:
            bring_up_to_date(engine)
        except BaseException:
            engine.dispose()
            raise
    return engine


@contextlib.contextmanager
def explained(url: URL) -> Iterator[None]:
    """Turns what the database says into a StoreError that says what to do. The password stays out of it."""
    try:
        yield
    except (DBAPIError, PoolTimeout) as error:
        cause = getattr(error, "orig", None) or error
        said = (str(cause).strip() or type(cause).__name__).splitlines()[0].rstrip(".")
        if "locked" in said or isinstance(error, PoolTimeout):
            remedy = "It is busy. Try again; if that does not help, close what else uses it."
        elif url.get_backend_name() == "sqlite":
            remedy = "Check that the disk has room and that the folder may be written to."
        else:
            remedy = "Check that the server runs, and the name of the database and of the user."
        raise StoreError(f"The store {url.render_as_string(hide_password=True)} says: {said}. {remedy}") from error
    except OSError as error:
        raise StoreError(f"The store cannot be written: {error}. Choose a folder that may be written to.") from error


def bring_up_to_date(engine: Engine) -> None:
    """Run the migrations that are still to run; nobody else changes the tables meanwhile.

    Raises
    ------
    StoreError
        Where a newer version of the program has written this store.
    """
    with engine.connect() as connection:
        if version(connection) == HEAD:
            return
    with engine.execution_options(**{WRITES: True}).begin() as connection:
        if connection.dialect.name == "postgresql":
            connection.execute(select(func.pg_advisory_xact_lock(_LOCK)))
        upgrade(connection)


def version(connection: Connection) -> str | None:
    """The migration that the database is at; None where it is empty."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found: str | None = connection.execute(select(column("version_num")).select_from(table("alembic_version"))).scalar()
    return found


def upgrade(connection: Connection, to: str = HEAD) -> None:
    """Run the migrations on a connection, within its transaction."""
    from alembic import command
    from alembic.config import Config
    from alembic.util.exc import CommandError

    settings = Config()
    settings.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    settings.attributes["connection"] = connection
    try:
        command.upgrade(settings, to)
    except CommandError as error:
        raise StoreError(
            f"This store was written by a newer Loomwright ({error}). Install that version, or restore a backup."
        ) from None


def _set_up_sqlite(connection: Any, record: object) -> None:
    # SQLAlchemy begins and ends transactions here, not the driver: see _begin_sqlite.
    connection.isolation_level = None
    for pragma in (
        f"busy_timeout = {_BUSY_MS}",
        "journal_mode = WAL",
        "synchronous = FULL",
        "foreign_keys = ON",
        "trusted_schema = OFF",
    ):
        connection.execute(f"PRAGMA {pragma}").close()


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get(WRITES, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
