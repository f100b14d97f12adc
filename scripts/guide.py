"""A guided job: one list of steps. It is the text of a page, and what a browser does to take its pictures.

A step that no longer works stops the walk. The pictures land in ``build/guides``; the pages take them from there.
"""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Page

ROOT = Path(__file__).resolve().parent.parent
SIZE = {"width": 1280, "height": 800}
WAIT_MS = 120_000
FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run",
         "--force-color-profile=srgb", "--font-render-hinting=none")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Step:
    """One step: its name (of the picture too), what the reader does and sees, and how a browser does it."""

    name: str
    title: str
    words: str
    walk: Callable[[Page], None]


@dataclass(frozen=True, slots=True)
class Guide:
    """A page of steps between a head and a foot. ``script`` holds them, ``page`` is the file of the page."""

    name: str
    script: str
    page: Path
    head: str
    foot: str
    steps: tuple[Step, ...]

    @property
    def pictures(self) -> Path:
        """Where its pictures lie."""
        return ROOT / "build" / "guides" / self.name

    def text(self) -> str:
        """The page in Markdown, without its pictures: those are put in when the pages are built."""
        note = f"<!-- Written by scripts/{self.script}: change the steps there, then type: make docs -->\n"
        parts = [note, self.head]
        parts += [f"## {n}. {step.title}\n\n{step.words}\n" for n, step in enumerate(self.steps, 1)]
        return "\n".join([*parts, self.foot])

    def walk(self, chromium: str, into: Path) -> None:
        """Do every step in a browser over a store of its own, and take a picture after each."""
        from playwright.sync_api import sync_playwright

        into.mkdir(parents=True, exist_ok=True)
        with (
            tempfile.TemporaryDirectory() as folder,
            _served(Path(folder)) as url,
            sync_playwright() as playwright,
            playwright.chromium.launch(executable_path=chromium, args=list(FLAGS)) as browser,
        ):
            page = browser.new_page(
                viewport={"width": SIZE["width"], "height": SIZE["height"]}, color_scheme="light",
                reduced_motion="reduce", locale="en-GB", timezone_id="UTC",
            )  # fmt: skip
            page.set_default_timeout(WAIT_MS)
            page.goto(f"{url}/jobs")
            for step in self.steps:
                step.walk(page)
                page.evaluate("scrollTo(0, 0)")
                page.screenshot(path=into / f"{step.name}.png", animations="disabled", caret="hide")


def settled(page: Page) -> None:
    """Wait until everything on the page is worked out."""
    page.wait_for_selector(".live")
    page.locator(".live[data-pending]").first.wait_for(state="detached")
    page.evaluate("document.fonts.ready.then(() => true)")


def tab(page: Page, words: str) -> None:
    """Go to a stage or a page of the job."""
    page.locator("nav.rails a", has_text=words).first.click()
    settled(page)


def downloaded(page: Page, title: str) -> None:
    """Download a paper, and see that it is one."""
    with page.expect_download() as waited:
        page.click(f'[aria-label="Download: {title}"]')
    if not waited.value.path().read_bytes().startswith(b"%PDF"):
        raise RuntimeError(f"{title}: no paper")
    page.wait_for_load_state()


@contextmanager
def _served(folder: Path) -> Iterator[str]:
    with socket.create_server(("127.0.0.1", 0)) as probe:
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "loomwright.cli.main", "serve", "--data", str(folder), "--port", str(port)]
    process = subprocess.Popen(
        command, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT / "src")}, stdout=subprocess.DEVNULL
    )
    url = f"http://127.0.0.1:{port}"
    try:
        for _ in range(300):
            try:
                urllib.request.urlopen(f"{url}/static/look.css", timeout=2).close()
                break
            except OSError:
                time.sleep(0.1)
        yield url
    finally:
        process.terminate()
        process.wait()
