"""Every test of the store runs on SQLite and on a real PostgreSQL."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import create_engine, delete, update

from loomwright.jobs.engine import read_url
from loomwright.jobs.schema import Base
from loomwright.jobs.store import Store
from tests.jobs.postgres import Server

NewStore = Callable[[], Store]


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """A PostgreSQL server for this test process."""
    server = Server()
    yield server
    server.close()


@pytest.fixture(scope="session")
def ready(server: Server, tmp_path_factory: pytest.TempPathFactory) -> str:
    """URL of a database with the tables made."""
    url = server.new_database()
    Store(url, tmp_path_factory.mktemp("ready")).close()
    return url


@pytest.fixture(params=["sqlite", "postgresql"])
def blank_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """URL of a database without tables."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'jobs.sqlite3'}"
    new: str = request.getfixturevalue("server").new_database()
    return new


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """URL of a database that holds no job yet."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'jobs.sqlite3'}"
    ready: str = request.getfixturevalue("ready")
    engine = create_engine(read_url(ready))
    with engine.begin() as connection:
        for table in reversed(Base.metadata.sorted_tables):
            connection.execute(update(table).values(n=0) if table.name == "feed" else delete(table))
    engine.dispose()
    return ready


@pytest.fixture
def new_store(url: str, tmp_path: Path) -> Iterator[NewStore]:
    """Opens the same store anew, as another process would."""
    opened: list[Store] = []

    def open_store() -> Store:
        opened.append(Store(url, tmp_path))
        return opened[-1]

    yield open_store
    for store in opened:
        store.close()


@pytest.fixture
def store(new_store: NewStore) -> Store:
    """An empty store."""
    return new_store()
