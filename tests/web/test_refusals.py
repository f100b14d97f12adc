"""What a form says where it refuses: the field by its label, and no words of the rig file."""

from __future__ import annotations

import html
from typing import Any

import pytest

from loomwright.errors import Problem
from loomwright.web.refusals import on_a_form


def sheet(page: str) -> str:
    return html.unescape(page.partition('id="sheet"')[2].partition("</form>")[0])


def test_a_word_for_a_length_is_refused_by_the_label_of_its_field(browser: Any, small: str) -> None:
    url = browser.job(small)
    fields = {"wire": "P2", "based_on": 1, "size": "8 AWG", "length_mm": "long", "units": "mm C"}
    said = sheet(browser.send(f"{url}/wire", fields, 422))
    assert "P2, Length" in said
    assert "Type a number" in said
    for word in ("quotes", "length_mm:", "wire["):
        assert word not in said.partition("<form")[0]


def test_a_row_of_the_list_says_which_field_is_to_be_filled_in(browser: Any) -> None:
    url = browser.send("/jobs", {"title": "From a list", "source": "list"}).removesuffix("/list")
    fields = {"many": "two", "what": "agm_30ah", "pick": "", "where": "", "units": "mm C", "based_on": "0"}
    browser.send(f"{url}/list", {**fields, "then": "save"})
    said = html.unescape(browser.page(f"{url}/list"))
    assert "row 1, how many" in said
    assert "Fill it in." in said
    assert "received nothing" in said


@pytest.mark.parametrize(
    ("place", "said"),
    [
        ("wire[3] (P3).insulation_c", "P3, Insulation"), ("item.rear_amp.tail_mm", "rear_amp, From the end"),
        ("run[2].length_mm", "run 2, Length"), ("place.seat.temperature_c", "seat, Hottest air here"),
        ("panel.fore.holes_mm[2]", "fore, Holes"), ("item", "item"), ("end of document", "end of document"),
    ],
)  # fmt: skip
def test_places_are_named_as_the_forms_name_them(place: str, said: str) -> None:
    assert on_a_form(Problem("rig", place, "", "", "")).place.startswith(said)


def test_a_search_without_a_match_says_how_to_go_on(browser: Any, small: str) -> None:
    page = browser.page(f"{browser.job(small)}/rig?add=item&find=zzz")
    assert "No part has all of these words" in page
    assert "Add it</button>" not in page
