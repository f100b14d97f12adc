"""The bench over a store of its own, asked as a browser would ask."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from loomwright.web.app import create_app
from loomwright.web.config import Config
from loomwright.web.service import Bench
from loomwright.web.work.tasks import Tasks
from loomwright.web.worked import Shelf

PAGE = {"accept": "text/html"}
_TOKEN = re.compile(r'<meta name="write-token" content="(\w+)">')


@dataclass
class Browser:
    """One browser with its cookies."""

    client: TestClient
    bench: Bench

    def page(self, url: str, status: int = 200) -> str:
        """A page in full, with all results worked out."""
        glue = "&" if "?" in url else "?"
        answer = self.client.get(f"{url}{glue}wait=1", headers=PAGE)
        assert answer.status_code == status, answer.text[:2000]
        return answer.text

    def data(self, url: str, status: int = 200) -> Any:
        answer = self.client.get(url)
        assert answer.status_code == status, answer.text[:2000]
        return answer.json()

    @property
    def token(self) -> str:
        found = _TOKEN.search(self.client.get("/settings", headers=PAGE).text)
        assert found
        return found[1]

    def send(self, url: str, fields: dict[str, Any] | None = None, status: int = 303) -> str:
        """Write as a form does; gives the address to look at next, or the page that says what is wrong."""
        form = {"write_token": self.token, **(fields or {})}
        answer = self.client.post(url, data=form, headers=PAGE, follow_redirects=False)
        assert answer.status_code == status, answer.text[:3000]
        return answer.headers["location"] if status == 303 else answer.text

    def job(self, text: str, stage: str = "planned", title: str = "A job") -> str:
        """A job with a rig; gives the address of its pages."""
        job = self.bench.store.create_job(title)
        self.bench.store.save_rig(job.id, stage, text, 0)
        return f"/jobs/{job.id}/{stage.replace(' ', '-')}"

    def text(self, url: str) -> str:
        _, _, job, slug = url.split("/")[:4]
        return self.bench.store.rig_text(job, slug.replace("-", " ")).text


@pytest.fixture
def config(tmp_path: Path) -> Config:
    return Config(str(tmp_path / "jobs.db"), b"s" * 32, ("localhost",))


@pytest.fixture(scope="session")
def shelf() -> Iterator[Shelf]:
    """Rigs already worked out in this test process, and one worker: a study is a pure function of its rig."""
    tasks = Tasks()
    yield Shelf(tasks)
    tasks.close()


@pytest.fixture
def browser(config: Config, shelf: Shelf) -> Iterator[Browser]:
    app = create_app(config, shelf)
    with TestClient(app, base_url="http://localhost") as client:
        yield Browser(client, app.state.bench)


@pytest.fixture
def small() -> str:
    """A whole rig that is quickly worked out."""
    from loomwright.cli import samples

    return samples.text(samples.BLANK)
