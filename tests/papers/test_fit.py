"""Awkward rigs on paper: long, right-to-left and formula-like ids, sixty wires and more; nothing cut or overlapping."""

from __future__ import annotations

import io
import re
from functools import cache

import pdfplumber
import pytest

from loomwright import demo as demos
from loomwright.loom.stock_file import load_stock
from loomwright.papers import pack
from loomwright.papers.order import Order
from loomwright.papers.paper import PAPERS, PaperSize
from loomwright.papers.units import METRIC, US
from loomwright.rig.file import parse
from loomwright.study import Study
from tests.papers.test_pack import squeezed

PT_PER_MM = 72 / 25.4
PARTS = (
    "findings", "wire_list", "bundles", "pinouts", "cutting_plan", "shopping_list", "ring_out", "build_steps",
    "commissioning", "power", "protection",
)  # fmt: skip
NAMES = ("={}+cmd", "{}" + "w" * 59, "שלום-{}", "@{}", "{}_with_a_name_of_many_words_that_goes_on")


@cache
def awkward() -> Study:
    """The planned trike, 80 wires, each with a name that something could choke on, and a title of 180 characters."""
    text = demos.text("carnival_trike_planned")
    count = iter(range(1000))

    def renamed(found: re.Match[str]) -> str:
        name = NAMES[next(count) % len(NAMES)].format(found[1])[:64]
        return f'id = "{name}"'

    text = re.sub(r'id = "(\w+)"', renamed, text)
    text = text.replace('title = "Carnival trike, planned"', f'title = "{"A very long title of a rig " * 7}"')
    return Study(parse(text, "awkward.toml"))


@cache
def wanted(sheet: PaperSize) -> Order:
    units = US if sheet == "letter" else METRIC
    return Order(awkward(), None, sheet, units, None, load_stock(demos.stock_path()), "f" * 64)


@pytest.mark.parametrize("sheet", ["a4", "letter"])
@pytest.mark.parametrize("part", PARTS)
def test_words_stay_inside_the_margins_and_off_each_other(part: str, sheet: PaperSize) -> None:
    made = pack.one_part(wanted(sheet), part)
    assert made is not None
    width, height = (v * PT_PER_MM for v in PAPERS[sheet])
    with pdfplumber.open(io.BytesIO(made)) as document:
        for page in document.pages:
            turned = page.width > page.height
            wide, tall = (height, width) if turned else (width, height)
            assert (float(page.width), float(page.height)) == pytest.approx((wide, tall), abs=0.1)
            level = page.filter(lambda o: o.get("upright", True))
            words = [w for w in level.extract_words() if w["text"].strip("\u200b")]
            for w in words:
                assert w["x0"] >= 19.0 * PT_PER_MM, (page.page_number, w["text"])
                assert w["x1"] <= wide - 15.0 * PT_PER_MM, (page.page_number, w["text"])
                assert w["bottom"] <= tall - 6.0 * PT_PER_MM, (page.page_number, w["text"])
                assert w["top"] >= 8.0 * PT_PER_MM, (page.page_number, w["text"])
            if part != "bundles":  # wires are named inside their own circles there
                words.sort(key=lambda w: w["top"])
                for k, a in enumerate(words):
                    for b in words[k + 1 :]:
                        if b["top"] > a["bottom"] - 2.5:
                            break
                        across = min(a["x1"], b["x1"]) - max(a["x0"], b["x0"])
                        assert across < 1.0, (page.page_number, a["text"], b["text"])


@pytest.mark.parametrize("part", ["wire_list", "ring_out", "bundles", "build_steps", "labels"])
def test_every_wire_is_named_in_full_or_by_both_its_ends(part: str) -> None:
    import pypdfium2

    from loomwright.drawing.fonts import printable
    from loomwright.loom.labels import short

    made = pack.one_part(wanted("a4"), part)
    assert made is not None
    document = pypdfium2.PdfDocument(made)
    text = squeezed("".join(page.get_textpage().get_text_range() for page in document))
    document.close()
    for w in awkward().loom.wires:
        if part == "bundles" and not w.runs:
            continue
        name = short(w.id) if part == "labels" else w.id
        assert squeezed(printable(name)) in text, w.id


@pytest.mark.parametrize("part", ["wire_list", "ring_out", "commissioning", "protection"])
def test_a_table_that_breaks_says_its_heads_again(part: str) -> None:
    heads = {"wire_list": "Colour", "ring_out": "Expected", "commissioning": "Predicted", "protection": "Unguarded"}
    made = pack.one_part(wanted("a4"), part)
    assert made is not None
    with pdfplumber.open(io.BytesIO(made)) as document:
        texts = [page.extract_text() for page in document.pages]
    first = next(k for k, t in enumerate(texts) if heads[part] in t)
    assert heads[part] in texts[first + 1]
