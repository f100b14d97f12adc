"""The guided tutorial from an equipment list to a pack: in a browser, then the same at a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scripts.guide import ROOT, WAIT_MS, Guide, Step, downloaded, settled, tab

if TYPE_CHECKING:
    from playwright.sync_api import Page

HEAD = """# From a list to a pack in ten minutes

You know what goes in and where it goes. The wiring, the fuses, the plugs and the papers follow from that. The
vehicle here is invented: a small parade trike with one amplifier. Type `loomwright serve` and open the address
that it prints; the pictures are taken by the program itself while these pages are built. The same [at a
terminal](#the-same-at-a-terminal) stands at the end.
"""
FOOT = """## The same at a terminal

Write the list into a file, `list.toml`. A row names a part by its id or by words that fit no other part:

```toml
format = 1
title = "Parade trike"
ambient_c = 30

[vehicle]
kind = "trike"
crank_a = 140

[[run]]
between = ["battery_box", "engine"]
length_mm = 700
hazards = ["hot"]

[[run]]
between = ["battery_box", "fairing"]
length_mm = 1300

[[run]]
between = ["battery_box", "rear"]
length_mm = 900

[[equipment]]
what = "agm_30ah"
where = "battery_box"

[[equipment]]
what = "stator_45a"
where = "engine"

[[equipment]]
what = "base load trike led"
where = "fairing"

[[equipment]]
what = "source_line_2out"
where = "fairing"

[[equipment]]
what = "amp_2x80_class_d"
where = "rear"

[[equipment]]
what = "driver_6_5in"
many = 2
where = "fairing"
```

Draft it, look at what came of it, and print:

```sh
loomwright draft list.toml --out rig.toml
loomwright check rig.toml
loomwright faults rig.toml
loomwright advise rig.toml
loomwright pack rig.toml -o papers
```

`rig.toml` is an ordinary rig file, each choice with its reason as a remark. `rig_2.toml` and `rig_3.toml`
beside it have more volts for more copper: `loomwright compare rig.toml rig_2.toml rig_3.toml` sets them side by
side. `papers/pack.pdf` holds everything.

## Before you build

A draft knows only what the list says. Check lengths, heat and hazards on the vehicle. Isolate the battery
before you start, fuse near the source, protect your hearing, and let whoever is licensed for it do what local
codes ask for.

## Where next

[From an equipment list to a finished rig](how-to/draft.md) has every wish a list may hold, and what is drafted;
[find out what would help](how-to/what-would-help.md) says how moves are ranked; [build it step by
step](how-to/build.md) goes on from here.
"""
ROWS = (
    ("1", "agm_30ah", "battery box"), ("1", "stator_45a", "engine"), ("1", "base load trike led", "fairing"),
    ("1", "source_line_2out", "fairing"), ("1", "class D 2", "rear"), ("2", "driver_6_5in", "fairing"),
)  # fmt: skip
LENGTHS_MM = ("700", "1300", "900")


def _begin(page: Page) -> None:
    page.fill("form[action='/jobs'] [name=title]", "Parade trike")
    page.get_by_role("button", name="Begin with a short list").click()
    page.wait_for_url("**/planned/list")


def _rows(page: Page) -> None:
    for n, row in enumerate(ROWS):
        for key, typed in zip(("many", "what", "where"), row, strict=True):
            page.locator(f"[name={key}]").nth(n).fill(typed)
    page.get_by_role("button", name="Save", exact=True).click()
    page.wait_for_url("**/list?saved=true")


def _ways(page: Page) -> None:
    page.get_by_label("Which of these?").select_option("amp_2x80_class_d")
    for n, length in enumerate(LENGTHS_MM):
        page.locator("[name=way_length]").nth(n).fill(length)
    page.locator("[name=hazards][value='0:hot']").check()
    page.get_by_role("button", name="Save", exact=True).click()
    page.wait_for_load_state()
    page.locator("#sheet .done", has_text="Saved.").wait_for()


def _draft(page: Page) -> None:
    page.get_by_role("button", name="Draft it", exact=True).click()
    page.wait_for_url("**/drafts")
    page.get_by_role("button", name="Take this one").first.wait_for(timeout=3 * WAIT_MS)


def _take(page: Page) -> None:
    page.get_by_role("button", name="Take this one").first.click()
    page.wait_for_url("**/drafts?taken=*")
    page.get_by_role("link", name="Open the planned rig").click()
    settled(page)


def _help(page: Page) -> None:
    tab(page, "Advice")
    page.locator("form.mend button").first.wait_for(timeout=3 * WAIT_MS)
    page.locator("form.mend button").first.click()
    page.wait_for_url("**/advice?tried=*")
    page.locator("form.mend button").first.wait_for(timeout=3 * WAIT_MS)
    page.get_by_role("button", name="Undo it").wait_for()


def _papers(page: Page) -> None:
    page.get_by_role("button", name="Undo it").click()
    page.wait_for_url("**/advice")
    tab(page, "Papers")
    downloaded(page, "The pack")


STEPS = (
    Step("begin", "Begin with a short list",
         "On **Jobs**, give the job a title and press *Begin with a short list*.", _begin),
    Step("rows", "Say what goes in, how many, and where",
         "One row for parts that are alike: a battery in the battery box, a stator at the engine, the vehicle's\n"
         "own base load, a source and two loudspeakers in the fairing, an amplifier at the rear. Type words; the\n"
         "page knows the catalogue. A place is whatever you call it. Press *Save*: *class D 2* fits several\n"
         "amplifiers, and the page asks which.", _rows),
    Step("ways", "Say how far it is",
         "Choose the amplifier. The page asks for the way to each place: measure along the path that the wires\n"
         "will take, and tick what can hurt them there. *Save* says what is still to do, until nothing is.", _ways),
    Step("draft", "Draft it",
         "Press *Draft it*. Some seconds later the rigs stand side by side: volts at the lowest amplifier, copper,\n"
         "how the fault drill ends. None of them has a Stop or a Fix. *What was chosen, and why* opens the\n"
         "reasons.", _draft),
    Step("take", "Take one",
         "*Take this one* makes it the planned rig of the job, and *Undo it* would take it back. It is a rig like\n"
         "any other: every page is there, every wire can be changed.", _take),
    Step("help", "Ask what would help",
         "On **Advice** stand the moves that were tried in a copy of the rig, with what each gains and takes. *Try\n"
         "it* makes one. Every page follows; *Undo it* takes it back.", _help),
    Step("papers", "Print the pack",
         "Press **Papers**, and *Download* at the pack: drawings, wire list, cutting plan, labels, build steps,\n"
         "commissioning sheet, and the figures behind them.", _papers),
)  # fmt: skip
GUIDE = Guide("from_list", "from_list.py", ROOT / "docs" / "from-list.md", HEAD, FOOT, STEPS)
