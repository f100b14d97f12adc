"""Panels in the rig file: shapes, places, and every mistake with what to do."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright import demo
from loomwright.errors import InputError
from loomwright.rig.file import load, parse
from loomwright.rig.plan import TURNS, turned, turned_side
from loomwright.trace import form
from loomwright.trace.outline import Outline, ring_of

TEXT = demo.text("canal_launch")
SQUARE = "width_mm = 680\nheight_mm = 500"


def problems(old: str, new: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        parse(TEXT.replace(old, new, 1), "x")
    return [f"{p.place}: {p.expected}; {p.received}; {p.remedy}" for p in caught.value.problems]


@pytest.mark.parametrize(("old", "new", "said"), [
    (SQUARE, "width_mm = 680", "panel.fore.height_mm"),
    (SQUARE, SQUARE + "\ncorners_mm = [[0, 0], [1, 0], [1, 1]]", "either width_mm and height_mm, or corners"),
    (SQUARE, "corners_mm = [[0, 0], [400, 400], [400, 0], [0, 300]]", "does not cross itself"),
    (SQUARE, "corners_mm = [[0, 0], [400, 0], [800, 0]]", "a ring with an area"),
    (SQUARE, SQUARE + "\nholes_mm = [[10, 10, 5, 5]]", "4 figures"),
    ("entry_mm = [340, 500]", "entry_mm = [900, 500]", "a point of the board"),
    ('place = "fore_locker"\nwidth', 'place = "for_locker"\nwidth', 'Did you mean "fore_locker"?'),
    ('panel = "fore"', 'panel = "four"', 'Did you mean "fore"?'),
    ("at_mm = [112, 421]", "layer = 2", "panel fore has no spacers"),
    ("at_mm = [112, 421]", "fixed = true", "it together with at_mm"),
    ("space_mm = 110", "space_mm = 2", "from 10 to 2,000 [mm]"),
    (SQUARE, 'outline_file = "fore.toml"', "a rig that lies in a folder"),
    ('[item.bilge_pump]', '[item.bilge_pump]\nturn_deg = 90', "on items of a panel only"),
])  # fmt: skip
def test_what_is_wrong_is_said_with_its_place(old: str, new: str, said: str) -> None:
    assert any(said in p for p in problems(old, new)), problems(old, new)


def test_a_part_without_a_size_cannot_lie_on_a_panel() -> None:
    found = problems("[item.lights]", '[item.lights]\npanel = "fore"')
    assert any("without size_mm" in p for p in found)


def test_a_traced_outline_is_read_with_its_holes(tmp_path: Path) -> None:
    rim = ring_of([(0, 0), (600, 0), (600, 400), (0, 400)], [0, 0.2, 0, 0])
    hole = ring_of([(100, 100), (100, 140), (160, 140), (160, 100)])
    (tmp_path / "fore.toml").write_text(form.text(Outline(rim, (hole,))), encoding="utf-8")
    rig = tmp_path / "rig.toml"
    text = TEXT.replace(SQUARE, 'outline_file = "fore.toml"').replace("[340, 500]", "[300, 400]")
    rig.write_text(text, encoding="utf-8")
    panel = load(rig).panels["fore"]
    assert panel.size_mm == pytest.approx((640.0, 400.0), abs=0.1)  # the bulge is 0.2 x half of 400
    assert len(panel.holes) == 1
    assert len(panel.outer) > 8


def test_a_turn_takes_a_point_and_its_side_along() -> None:
    # The middle of the top edge of a 60 x 40 part, once round.
    at = {0: (30.0, 0.0), 90: (40.0, 30.0), 180: (30.0, 40.0), 270: (0.0, 30.0)}
    side = {0: "top", 90: "right", 180: "bottom", 270: "left"}
    for turn in TURNS:
        assert turned((30.0, 0.0), 60.0, 40.0, turn) == at[turn]
        assert turned_side("top", turn) == side[turn]
