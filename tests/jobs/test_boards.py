"""Sheets of board in the stock, as the saw takes them."""

from __future__ import annotations

from typing import Any

import pytest

from loomwright.jobs.boards import sheets_at_hand
from loomwright.jobs.ledger import now
from loomwright.jobs.model import StockLine


def sheet(**keys: Any) -> StockLine:
    usual: dict[str, Any] = {
        "material": "plywood", "thickness_mm": 12.0, "length_mm": 800.0, "width_mm": 600.0, "count": 1,
    }  # fmt: skip
    return StockLine("", "sheet", 0, now(), **(usual | keys))


def test_what_is_there_is_taken_and_called_by_its_note_or_its_size() -> None:
    other = StockLine("", "other", 0, now(), count=4)
    found = sheets_at_hand([sheet(), sheet(), sheet(note="by the door", count=3), sheet(count=0), other])
    assert [(s.id, s.count) for s in found] == [("800 x 600", 1), ("800 x 600 (2)", 1), ("by the door", 3)]
    assert {(s.width_mm, s.height_mm, s.thickness_mm) for s in found} == {(800.0, 600.0, 12.0)}


@pytest.mark.parametrize(("material", "grain"), [("plywood", "along the width"), ("aluminium", "none")])
def test_the_length_lies_along_the_grain_where_there_is_one(material: str, grain: str) -> None:
    (found,) = sheets_at_hand([sheet(material=material)])
    assert found.grain == grain


def test_of_two_that_do_the_smaller_counts_less() -> None:
    small, large = sheets_at_hand([sheet(), sheet(length_mm=2440.0, width_mm=1220.0)])
    assert small.price < large.price
