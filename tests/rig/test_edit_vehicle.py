"""Edits to places, runs, the vehicle and the head of a rig file change their own lines only."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright import demo
from loomwright.errors import InputError, UnknownName
from loomwright.rig import edit, edit_vehicle
from loomwright.rig.file import parse

from .rigs import SMALL
from .test_edit import changes

TRIKE = demo.text("carnival_trike_planned")
ANY = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=60)
IDS = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"], exclude_characters="."), min_size=1,
              max_size=20)  # fmt: skip


def remarks(text: str) -> list[str]:
    """Remarks that have a line of their own."""
    return [line for line in text.splitlines() if line.startswith("#")]


@pytest.mark.parametrize("name", demo.names())
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_every_table_can_be_taken_out_and_its_neighbours_keep_their_remarks(name: str, ends: str) -> None:
    text = demo.text(name).replace("\n", ends)
    data = tomllib.loads(text)
    for wire in [*data["wire"][::20], data["wire"][-1]]:
        new = edit.remove_wire(text, wire["id"])
        assert tomllib.loads(new) == {**data, "wire": [w for w in data["wire"] if w is not wire]}
        assert remarks(new) == remarks(text)
    for item in [*list(data["item"])[::10], list(data["item"])[-1]]:
        new = edit.remove_item(text, item)
        assert tomllib.loads(new)["item"] == {k: v for k, v in data["item"].items() if k != item}
        assert remarks(new) == remarks(text)
        assert new.count("\n") == new.count(ends)
    for run in data["run"]:
        new = edit_vehicle.remove_run(text, run["between"][::-1])
        assert tomllib.loads(new)["run"] == [r for r in data["run"] if r is not run]
        assert remarks(new) == remarks(text)


def test_a_run_keeps_its_lines_apart_from_the_one_that_changes() -> None:
    between = parse(TRIKE, "x").runs[0].between
    (old, new) = changes(TRIKE, edit_vehicle.set_run(TRIKE, between, {"length_mm": 1234.0}))
    assert (old.partition(" = ")[0], new) == ("-length_mm", "+length_mm = 1234")


def test_a_run_and_a_place_are_added_after_their_like() -> None:
    new = edit_vehicle.add_place(TRIKE, "roof box", {"wet": True})
    new = edit_vehicle.add_run(new, ["roof box", "fairing"], {"length_mm": 900, "cover": ["conduit"]})
    rig = parse(new, "x")
    assert list(rig.places)[-1] == "roof box"
    assert rig.runs[-1].between == ("roof box", "fairing")
    assert all(line[0] == "+" for line in changes(TRIKE, new))
    assert new.index("roof box") < new.index("[[run]]")
    assert edit_vehicle.remove_place(edit_vehicle.remove_run(new, ["fairing", "roof box"]), "roof box") == TRIKE


def test_a_place_with_something_in_it_stays() -> None:
    with pytest.raises(InputError) as caught:
        edit_vehicle.remove_place(TRIKE, "rear_deck")
    (problem,) = caught.value.problems
    assert problem.place == "place.rear_deck"
    assert "block" in problem.received
    assert "Move" in problem.remedy


def test_tables_are_added_at_the_top_where_there_are_none() -> None:
    text = 'format = 1\ntitle = "x"\n\n# the seat\n[place.seat]\n'
    new = edit_vehicle.set_table(text, "limits", {"drop_v": 0.4, "session_h": None})
    assert new == 'format = 1\ntitle = "x"\n\n[limits]\ndrop_v = 0.4\n\n# the seat\n[place.seat]\n'
    assert edit_vehicle.set_table(text, "vehicle", {"idle_rpm": None}) == text
    first = edit_vehicle.add_place('title = "x"\n', "seat", {})
    assert tomllib.loads(first) == {"title": "x", "place": {"seat": {}}}


def test_names_that_are_not_there_or_are_taken() -> None:
    with pytest.raises(UnknownName, match="rear_deck"):
        edit_vehicle.set_place(TRIKE, "rear_dek", {})
    with pytest.raises(UnknownName, match="no run"):
        edit_vehicle.remove_run(TRIKE, ["engine", "top_case"])
    with pytest.raises(UnknownName, match="block"):
        edit_vehicle.rename_item(TRIKE, "blok", "x")
    for act in (
        lambda: edit_vehicle.add_place(TRIKE, "engine", {}),
        lambda: edit_vehicle.set_place(TRIKE, "engine", {}, "fairing"),
        lambda: edit_vehicle.rename_item(TRIKE, "block", "battery"),
        lambda: edit_vehicle.set_head("x = oops", {"title": "y"}),
    ):
        with pytest.raises(InputError):
            act()


@settings(max_examples=12)
@given(IDS)
def test_any_id_can_be_given_and_taken_back(name: str) -> None:
    new = edit_vehicle.rename_item(TRIKE, "block", f"{name}+")
    assert parse(new, "x").items[f"{name}+"].part.id == parse(TRIKE, "x").items["block"].part.id
    assert edit_vehicle.rename_item(new, f"{name}+", "block") == TRIKE
    moved = edit_vehicle.set_place(TRIKE, "fairing", {}, f"{name}+")
    assert edit_vehicle.set_place(moved, f"{name}+", {}, "fairing") == TRIKE


@settings(max_examples=60)
@given(ANY, st.sampled_from(("notes", "title")))
def test_any_text_comes_back_from_the_head(text: str, key: str) -> None:
    clean = text.replace("\r\n", "\n").replace("\r", "")
    found: dict[str, Any] = tomllib.loads(edit_vehicle.set_head(SMALL, {key: clean}))
    assert found == {**tomllib.loads(SMALL), key: clean}
