"""Opening a store: tables made and brought up to date, and what is said where that cannot be."""

from __future__ import annotations

import ast
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine, text, update
from sqlalchemy.sql import column, table

import loomwright.jobs
from loomwright.errors import InputError, UnknownName
from loomwright.jobs.engine import read_url
from loomwright.jobs.errors import StoreError
from loomwright.jobs.places import default_folder, default_url
from loomwright.jobs.schema import HEAD, Base
from loomwright.jobs.store import Store

HERE = Path(loomwright.jobs.__file__).parent


def test_the_migrations_make_the_tables_that_the_store_reads(blank_url: str, tmp_path: Path) -> None:
    Store(blank_url, tmp_path).close()
    engine = create_engine(read_url(blank_url))
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": False})
        assert compare_metadata(context, Base.metadata) == []
        assert context.get_current_revision() == HEAD
    engine.dispose()
    assert ScriptDirectory(str(HERE / "migrations")).get_current_head() == HEAD


def test_a_store_of_a_newer_version_is_refused_and_left_alone(blank_url: str, tmp_path: Path) -> None:
    Store(blank_url, tmp_path).close()
    versions = table("alembic_version", column("version_num"))
    engine = create_engine(read_url(blank_url))
    with engine.begin() as connection:
        connection.execute(update(versions).values(version_num="9999"))
    with pytest.raises(StoreError, match="newer Loomwright"):
        Store(blank_url, tmp_path)
    with engine.connect() as connection:
        assert connection.execute(text("SELECT version_num FROM alembic_version")).scalar() == "9999"
    engine.dispose()


def test_sqlite_keeps_a_log_ahead_and_waits_for_the_disk(tmp_path: Path) -> None:
    """journal_mode wal; synchronous 2 is FULL: https://www.sqlite.org/pragma.html#pragma_synchronous"""
    with Store(tmp_path / "jobs.sqlite3") as store:
        store.create_job("x")
        with store._engine.connect() as connection:
            assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"
            assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2
            assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1


@pytest.mark.parametrize(
    "url", ["mysql://x/y", "sqlite://", "sqlite:///:memory:", "nonsense://", "://", "sqlite:///x?mode=ro", "oracle:///x"]
)
def test_another_kind_of_store_is_refused_with_the_forms_that_work(url: str) -> None:
    with pytest.raises(StoreError, match="postgresql://user@host/database"):
        Store(url)


def test_a_server_that_does_not_answer_is_named_without_its_password(tmp_path: Path) -> None:
    with pytest.raises(StoreError) as caught:
        Store(f"postgresql://shop:secret77@/jobs?host={tmp_path}", tmp_path)
    assert "Check that the server runs" in str(caught.value)
    assert "secret77" not in str(caught.value)


def test_a_file_that_is_no_database_is_refused(tmp_path: Path) -> None:
    (tmp_path / "jobs.sqlite3").write_bytes(b"not a database at all" * 100)
    with pytest.raises(StoreError, match="not a database"):
        Store(tmp_path / "jobs.sqlite3")
    (tmp_path / "a file").write_text("")
    with pytest.raises(StoreError):
        Store(tmp_path / "a file" / "jobs.sqlite3")


def test_a_full_disk_is_said_and_takes_the_edit_back(tmp_path: Path) -> None:
    with Store(tmp_path / "jobs.sqlite3") as store:
        job = store.create_job("x")
        with store._engine.connect() as connection:
            pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
        store._engine.dispose()
        import sqlalchemy.event

        def small(connection: sqlite3.Connection, record: object) -> None:
            connection.execute(f"PRAGMA max_page_count = {pages + 2}").close()

        sqlalchemy.event.listen(store._engine, "connect", small)
        with pytest.raises(StoreError, match="disk has room"):
            store.save_rig(job.id, "planned", "x" * 200_000, 0)
        assert store.rig_text(job.id, "planned").number == 0
        assert store.last_change() == 1


def test_titles_are_tidied_or_refused(store: Store) -> None:
    assert store.create_job("  Harvest\tbuggy \n 2 ").title == "Harvest buggy 2"
    assert store.create_job("<script>x()</script>").title == "<script>x()</script>"
    for bad in ("", " \n ", "x" * 201, "a\x00b", "\ud83d"):
        with pytest.raises(InputError):
            store.create_job(bad)
    with pytest.raises(UnknownName):
        store.rename("2222222222", "x")
    assert len(store.jobs()) == 2


def test_where_jobs_are_kept_can_be_said(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("LOOMWRIGHT_DATA", raising=False)
    monkeypatch.delenv("LOOMWRIGHT_STORE", raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert default_folder() == tmp_path / "loomwright"
    assert default_url() == str(tmp_path / "loomwright" / "jobs.sqlite3")
    monkeypatch.setenv("LOOMWRIGHT_DATA", str(tmp_path / "shop"))
    assert default_url() == str(tmp_path / "shop" / "jobs.sqlite3")
    monkeypatch.setenv("LOOMWRIGHT_STORE", "postgresql://shop@server/jobs")
    assert default_url() == "postgresql://shop@server/jobs"


def test_sql_is_written_by_the_library_only() -> None:
    """No text becomes SQL, but for the settings of a connection in ``engine.py``."""
    for path in sorted(HERE.rglob("*.py")):
        tree = ast.parse(path.read_text("utf-8"))
        called = {n.func.attr if isinstance(n.func, ast.Attribute) else getattr(n.func, "id", "")
                  for n in ast.walk(tree) if isinstance(n, ast.Call)}  # fmt: skip
        assert "text" not in called, path
        assert "exec_driver_sql" not in called or path.name == "engine.py"


def test_the_command_line_starts_without_the_database_library() -> None:
    code = (
        "import sys; from loomwright.cli.app import application; application(); "
        "print('sqlalchemy' in sys.modules or 'PIL' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True,
                          env={"PYTHONPATH": str(HERE.parents[1])})  # fmt: skip
    assert done.stdout == "False\n"
