"""The guided first job: the carnival trike, from its findings to its papers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scripts.guide import ROOT, Guide, Step, downloaded, settled, tab

if TYPE_CHECKING:
    from playwright.sync_api import Page

HEAD = """# A first job in five minutes

Type `make demo`, or `loomwright serve`, and open the address that it prints. The vehicle is invented, and so is all
that it holds. The pictures are taken by the program itself while these pages are built.
"""
FOOT = """## Where next

[Work in the browser](how-to/serve.md) says what else each page can do; [describe a vehicle](how-to/describe.md) begins
one of your own.
"""


def _open(page: Page) -> None:
    page.get_by_role("button", name="Carnival trike").click()
    page.wait_for_url("**/planned/rig")
    settled(page)


def _findings(page: Page) -> None:
    tab(page, "As found")
    tab(page, "Findings")
    page.get_by_role("link", name="Show the place of finding 1:").click()
    settled(page)


def _mend(page: Page) -> None:
    page.locator("form.mend button").first.click()
    page.wait_for_url("**/findings?mended=*")
    settled(page)
    page.get_by_role("button", name="Undo it").wait_for()


def _break(page: Page) -> None:
    tab(page, "Faults")
    page.locator('#diagram g.wire[data-ref="A7"]').first.dispatch_event("click")
    page.wait_for_url("**/faults?where=A7")
    settled(page)
    page.locator(".ways a").first.click()
    page.wait_for_url("**/faults?fault=*")
    settled(page)
    page.locator("#steps button").first.wait_for()


def _edit(page: Page) -> None:
    tab(page, "Planned")
    tab(page, "Rig")
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
    tab(page, "Compare")
    page.locator("#changes h2").wait_for()


def _papers(page: Page) -> None:
    tab(page, "Papers")
    downloaded(page, "The pack")


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
GUIDE = Guide("first_job", "first_job.py", ROOT / "docs" / "first-job.md", HEAD, FOOT, STEPS)
