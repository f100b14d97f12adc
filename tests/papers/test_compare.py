import io
import json
from typing import Any

import pdfplumber
import pytest

from loomwright.papers import compare, pack
from loomwright.papers.order import Order
from loomwright.papers.paper import PaperSize
from tests.drawing import demo
from tests.findings.bases import TRIKE, spoiled, study
from tests.findings.edits import without

BEFORE, AFTER = "carnival_trike_as_found", "carnival_trike_planned"
BOTH = (demo.study(BEFORE), demo.study(AFTER))
FOUND = (demo.findings(BEFORE), demo.findings(AFTER))


def gathered() -> dict[str, Any]:
    return compare.gather(BOTH, FOUND)


def printed(sheet: PaperSize = "a4") -> bytes:
    earlier = (demo.study(BEFORE), demo.findings(BEFORE))
    made = pack.one_part(Order(demo.study(AFTER), demo.findings(AFTER), sheet, before=earlier), "before_and_after")
    assert made is not None
    return made


def test_closed_and_new_findings_add_up() -> None:
    data = gathered()
    before, after = len(demo.findings(BEFORE)), len(demo.findings(AFTER))
    (change,) = data["changes"]
    assert change["closed"]["total"] + change["open"] == before
    assert change["new"]["total"] + change["open"] == after


@pytest.mark.parametrize("sheet", ["a4", "letter"])
def test_it_has_the_volts_of_both(sheet: PaperSize) -> None:
    with pdfplumber.open(io.BytesIO(printed(sheet))) as document:
        assert len(document.pages) <= 2
        text = "".join(page.extract_text() for page in document.pages)
    for name in (BEFORE, AFTER):
        amplifier = demo.study(name).rig.family("amplifier")[0].id
        assert f"{demo.study(name).power.case('idle', 'loud').items[amplifier].volts_v:.2f}" in text
    assert "Do not power up." in text
    assert "No Stop and no Fix" in text


def test_without_an_earlier_stage_there_is_no_such_page() -> None:
    assert pack.one_part(Order(demo.study(AFTER), demo.findings(AFTER)), "before_and_after") is None


def test_a_rig_that_nothing_charges_shows_the_engine_off_alone() -> None:
    """Idling and cruising make no difference to it: neither the page nor the chart of sessions speaks of them."""
    from loomwright.drawing import over_time
    from loomwright.drawing.marks import Text, flat
    from loomwright.papers.comparison import compare as side_by_side

    bare = study(spoiled(
        TRIKE, *without(TRIKE, "C1", "C2", "C3"),
        ('[item.stator]\npart = "stator_45a"\nplace = "engine"\n', ""),
        ('[item.charge_fuse]\npart = "holder_sf30"\nplace = "seat"\nfuses_a = [60]\n', ""),
    ))  # fmt: skip
    words = [m.text for m in flat(over_time.sessions(bare).marks) if isinstance(m, Text)]
    assert any("off, music" in w for w in words)
    assert not any(w.startswith(("idle", "cruise")) for w in words)
    data = compare.gather((bare, bare), ((), ()))
    said = json.dumps([data["volts"], data["sessions"]])
    assert "off" in said
    assert "idle" not in said
    assert "cruise" not in said
    assert {v.engine for v in side_by_side((bare, bare), ((), ())).volts} == {"off"}
    both = compare.gather((bare, study(TRIKE)), ((), ()))
    assert "idle" in json.dumps(both["volts"])
