"""The guided first job: one list of steps. It is the page's text, and what a browser does to take its pictures.

``python scripts/make_first_job.py`` writes ``docs/first-job.md`` and walks the steps in a browser over a store of
its own. A step that no longer works stops it. The pictures land in ``build/first_job``; the pages take them from there.
"""

from __future__ import annotations

import os
import shutil
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
PAGE = ROOT / "docs" / "first-job.md"
PICTURES = ROOT / "build" / "first_job"
SIZE = {"width": 1280, "height": 800}
WAIT_MS = 60_000
FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run",
         "--force-color-profile=srgb", "--font-render-hinting=none")  # fmt: skip
NOTE = "<!-- Written by scripts/make_first_job.py: change the steps there, then type: make docs -->\n"
HEAD = """# A first job in five minutes

Type `make demo`, or `loomwright serve`, and open the address that it prints. The vehicle is invented, and so is all
that it holds. The pictures are taken by the program itself while these pages are built.
"""
FOOT = """## Where next

[Work in the browser](how-to/serve.md) says what else each page can do; [describe a vehicle](how-to/describe.md) begins
one of your own.
"""


@dataclass(frozen=True, slots=True)
class Step:
    """One step: its name (of the picture too), what the reader does and sees, and how a browser does it."""

    name: str
    title: str
    words: str
    walk: Callable[[Page], None]


def settled(page: Page) -> None:
    """Wait until everything on the page is worked out."""
    page.wait_for_selector(".live")
    page.locator(".live[data-pending]").first.wait_for(state="detached")
    page.evaluate("document.fonts.ready.then(() => true)")


def _tab(page: Page, words: str) -> None:
    page.locator("nav.rails a", has_text=words).first.click()
    settled(page)


def _open(page: Page) -> None:
    page.get_by_role("button", name="Carnival trike").click()
    page.wait_for_url("**/planned/rig")
    settled(page)


def _findings(page: Page) -> None:
    _tab(page, "As found")
    _tab(page, "Findings")
    page.get_by_role("link", name="Show the place of finding 1:").click()
    settled(page)


def _mend(page: Page) -> None:
    page.locator("form.mend button").first.click()
    page.wait_for_url("**/findings?mended=*")
    settled(page)
    page.get_by_role("button", name="Undo it").wait_for()


def _break(page: Page) -> None:
    _tab(page, "Faults")
    page.locator('#diagram g.wire[data-ref="A7"]').first.dispatch_event("click")
    page.wait_for_url("**/faults?where=A7")
    settled(page)
    page.locator(".ways a").first.click()
    page.wait_for_url("**/faults?fault=*")
    settled(page)
    page.locator("#steps button").first.wait_for()


def _edit(page: Page) -> None:
    _tab(page, "Planned")
    _tab(page, "Rig")
    page.locator('#diagram g.wire[data-ref="P7"]').first.dispatch_event("click")
    page.locator("#sheet h2", has_text="Wire P7").wait_for()
    page.select_option("#sheet [name=size]", "4 AWG")
    page.click("#sheet button.main")
    page.locator('#diagram g.wire[data-ref="P7"]', has_text="4 AWG").first.wait_for()
    page.locator("#standing .work").wait_for(state="detached")
    page.locator("[aria-busy=true]").first.wait_for(state="detached")
    settled(page)


def _compare(page: Page) -> None:
    with page.expect_navigation():
        page.get_by_role("button", name="Undo", exact=True).click()
    settled(page)
    _tab(page, "Compare")
    page.locator("#changes h2").wait_for()


def _papers(page: Page) -> None:
    _tab(page, "Papers")
    with page.expect_download() as waited:
        page.click('[aria-label="Download: The pack"]')
    if not waited.value.path().read_bytes().startswith(b"%PDF"):
        raise RuntimeError("the pack is not a paper")
    page.wait_for_load_state()


STEPS = (
    Step("open", "Open the trike",
         "On **Jobs**, press *Carnival trike* among the samples. The job opens at its planned rig: the single-line\n"
         "diagram, the side sheet, and the tables below. *0 Stop* stands above it.", _open),
    Step("findings", "See what is wrong with it as found",
         "Press *As found*, then **Findings**. The worst stands first: what, where, how much, and what to do.\n"
         "*Show the place* marks it on the diagram.", _findings),
    Step("mend", "Mend one thing",
         "Where the remedy is a definite edit of the rig, the change is shown under the finding. Press its button.\n"
         "The findings are worked out anew; *Undo it* takes the edit back.", _mend),
    Step("break", "Break a wire",
         "Press **Faults**, then wire A7 on the diagram. Choose how it breaks. The steps say what opens, when, and\n"
         "what goes dark; *Play it* shows them one after the other.", _break),
    Step("edit", "Change a wire",
         "Press *Planned*, **Rig**, then wire P7 on the diagram. Choose the size 4 AWG in the side sheet and press\n"
         "*Save*. Diagram, tables and findings follow, in every open tab: the wire is now too thick for its terminal,\n"
         "and that is a Fix.", _edit),
    Step("compare", "Put both side by side",
         "*Undo* takes the wire back. Then press **Compare**: what the plan has mended, and what is new.", _compare),
    Step("papers", "Take the papers along",
         "Press **Papers**, and *Download* at the pack. Its parts stand below it, for the bench and for the\n"
         "owner.", _papers),
)  # fmt: skip


def text() -> str:
    """The page in Markdown, without its pictures: those are put in when the pages are built."""
    parts = [NOTE, HEAD]
    parts += [f"## {n}. {step.title}\n\n{step.words}\n" for n, step in enumerate(STEPS, 1)]
    return "\n".join([*parts, FOOT])


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


def walk(chromium: str, into: Path) -> None:
    """Do every step in a browser, and take a picture after each."""
    from playwright.sync_api import sync_playwright

    into.mkdir(parents=True, exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as folder,
        _served(Path(folder)) as url,
        sync_playwright() as playwright,
        playwright.chromium.launch(executable_path=chromium, args=list(FLAGS)) as browser,
    ):
        page = browser.new_page(
            viewport={"width": SIZE["width"], "height": SIZE["height"]}, color_scheme="light", reduced_motion="reduce",
            locale="en-GB", timezone_id="UTC",
        )  # fmt: skip
        page.set_default_timeout(WAIT_MS)
        page.goto(f"{url}/jobs")
        for step in STEPS:
            step.walk(page)
            page.evaluate("scrollTo(0, 0)")
            page.screenshot(path=into / f"{step.name}.png", animations="disabled", caret="hide")


def main() -> int:
    """Write the page; take the pictures where there is a browser."""
    PAGE.write_text(text(), encoding="utf-8", newline="\n")
    chromium = shutil.which("chromium")
    if chromium is None:
        print("The first job has no pictures: chromium is missing. `bash scripts/set_up.sh system` installs it.")
        return 0
    walk(chromium, PICTURES)
    return 0


if __name__ == "__main__":
    sys.exit(main())
