"""Edits keep comments, order and spacing; they change only their own lines."""

from __future__ import annotations

import difflib
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright import demo
from loomwright.errors import InputError, UnknownName
from loomwright.rig import edit
from loomwright.rig.file import parse

from .rigs import SMALL

TRIKE = demo.text("carnival_trike_planned")


def changes(old: str, new: str) -> list[str]:
    lines = difflib.unified_diff(old.splitlines(), new.splitlines(), n=0, lineterm="")
    return [line for line in lines if line[0] in "+-" and line[:3] not in ("+++", "---")]


@pytest.mark.parametrize("name", demo.names())
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_a_text_that_is_not_edited_comes_back_byte_for_byte(name: str, ends: str) -> None:
    text = demo.text(name).replace("\n", ends)
    first = parse(text, "x").wires[0].id
    assert edit.set_wire(text, first) == text


def test_a_size() -> None:
    assert changes(TRIKE, edit.set_wire(TRIKE, "P3", size="8 AWG")) == ['-size = "10 AWG"', '+size = "8 AWG"']


def test_a_length_put_in_and_taken_out() -> None:
    longer = edit.set_wire(TRIKE, "P3", length_mm=450.0)
    assert changes(TRIKE, longer) == ["+length_mm = 450"]
    assert edit.set_wire(longer, "P3", length_mm=None) == TRIKE


def test_a_fuse_changes_its_own_line_only() -> None:
    new = edit.set_fuse(TRIKE, "block", 5, 7.5)
    assert changes(TRIKE, new) == ['-fuses_a = [25, 25, 30, 5, "auto", 0]', "+fuses_a = [25, 25, 30, 5, 7.5, 0]"]
    assert parse(new, "x").items["block"].fuses_a == (25, 25, 30, 5, 7.5, 0)


def test_an_item_keeps_its_remark() -> None:
    new = edit.set_item(TRIKE, "base_load", part="base_load_trike_halogen")
    (_, added) = changes(TRIKE, new)
    assert added == '+part = "base_load_trike_halogen"  # lamps changed to LED: 80 W less than before'


def test_an_item_and_its_wires_added_and_removed() -> None:
    new = edit.add_item(TRIKE, "lamp", "light_bar_60w", "rear_deck")
    new = edit.set_fuse(new, "block", 6, 10)
    new = edit.add_wire(new, "X1", "block.out6", "lamp.supply+", "14 AWG", length_mm=300)
    new = edit.add_wire(new, "X2", "lamp.supply-", "gnd.stud7", "14 AWG", cover=["braided sleeve"])
    rig = parse(new, "x")
    assert rig.items["lamp"].part.id == "light_bar_60w"
    assert (rig.wire("X1").length_mm, rig.wire("X2").cover) == (300, ("braided sleeve",))
    assert all(line[0] == "+" or "fuses_a" in line for line in changes(TRIKE, new))
    back = edit.remove_item(edit.remove_wire(edit.remove_wire(new, "X1"), "X2"), "lamp")
    assert parse(edit.set_fuse(back, "block", 6, 0), "x") == parse(TRIKE, "x")


def test_windows_line_ends_stay() -> None:
    text = TRIKE.replace("\n", "\r\n")
    for new in (
        edit.set_wire(text, "P3", length_mm=450),
        edit.add_wire(text, "X1", "gnd.stud7", "gnd.stud8", "14 AWG"),
        edit.add_item(text, "lamp", "light_bar_60w", "rear_deck"),
    ):
        assert new.count("\n") == new.count("\r\n") > text.count("\n")


def test_a_last_line_without_an_end() -> None:
    new = edit.add_wire(TRIKE.rstrip("\n"), "X1", "gnd.stud7", "gnd.stud8", "14 AWG")
    assert parse(new, "x").wire("X1").end == "gnd.stud8"


def test_adding_to_an_empty_file() -> None:
    text = edit.add_item('format = 1\ntitle = "x"\nambient_c = 20\n', "b", "agm_20ah", "seat")
    assert text.endswith('\n\n[item.b]\npart = "agm_20ah"\nplace = "seat"\n')


def test_names_that_are_not_there() -> None:
    with pytest.raises(UnknownName, match='"P3"'):
        edit.set_wire(TRIKE, "P33", size="8 AWG")
    with pytest.raises(UnknownName, match='"block"'):
        edit.set_item(TRIKE, "blok", part="x")
    with pytest.raises(UnknownName, match="no way 7"):
        edit.set_fuse(TRIKE, "block", 7, 5)
    with pytest.raises(UnknownName, match="already"):
        edit.add_wire(TRIKE, "P3", "a.b", "c.d", "8 AWG")
    with pytest.raises(UnknownName, match="already"):
        edit.add_item(TRIKE, "block", "x", "y")
    with pytest.raises(UnknownName):
        edit.remove_wire(TRIKE, "nope")
    with pytest.raises(InputError):
        edit.set_wire("x = oops", "P3", size="8 AWG")


@settings(max_examples=60)
@given(st.text(st.characters(codec="utf-8", exclude_categories=["C"], exclude_characters="."), min_size=1, max_size=20))
def test_any_id_can_be_added_and_found_again(name: str) -> None:
    new = edit.set_item(edit.add_item(SMALL, f"{name}+", "bus_ground_6", "case"), f"{name}+", comes_off=True)
    assert tomllib.loads(new)["item"][f"{name}+"] == {"part": "bus_ground_6", "place": "case", "comes_off": True}
