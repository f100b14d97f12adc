"""The stock of the shop as spools to cut from."""

from __future__ import annotations

from typing import Any

import pytest

from loomwright.jobs.ledger import now
from loomwright.jobs.model import StockLine
from loomwright.jobs.spools import on_the_shelf
from loomwright.loom.cut_plan import Piece, fits
from loomwright.rig.catalogue import builtin


def line(**given: Any) -> StockLine:
    usual = {"id": "1", "kind": "wire", "number": 1, "at": now(), "size": "8 AWG", "metal": "copper",
             "insulation_c": 105, "colour": "RD", "length_mm": 4000.0}  # fmt: skip
    return StockLine(**{**usual, **given})


PIECE = Piece("P1", "8 AWG", "copper", 105, "RD", False, 500.0)


@pytest.mark.parametrize(("given", "cut"), [
    ({}, True),
    ({"colour": ""}, True),
    ({"colour": "BK"}, False),
    ({"insulation_c": 125}, True),
    ({"insulation_c": 80}, False),
    ({"insulation_c": None}, False),
    ({"metal": "tinned copper"}, False),
    ({"length_mm": 499.0}, False),
    ({"part": "wire_8awg_pvc105"}, True),
    ({"part": "line_lead_2x0_35"}, False),
    ({"part": "no_such_part"}, True),
])  # fmt: skip
def test_what_may_be_cut_from_a_line(given: dict[str, Any], cut: bool) -> None:
    (spool,) = on_the_shelf([line(**given)], builtin()).spools
    assert fits(PIECE, spool) is cut


def test_a_line_lead_is_cut_from_screened_lead_only() -> None:
    lead = Piece("L1", "0.35 mm2", "copper", 105, "GY", True, 500.0)
    (spool,) = on_the_shelf([line(size="0.35 mm2", colour="", part="line_lead_2x0_35")], builtin()).spools
    assert fits(lead, spool)
    (plain,) = on_the_shelf([line(size="0.35 mm2", colour="")], builtin()).spools
    assert not fits(lead, plain)


def test_pairs_and_empty_spools_are_left_aside() -> None:
    found = on_the_shelf(
        [line(part="speaker_pair_14awg_tinned", note="pair"), line(length_mm=0.0), line(kind="fuse", size="")],
        builtin(),
    )
    assert found.spools == ()
    assert [(a.line, a.why) for a in found.aside] == [("pair", "2 conductors in one jacket")]


def test_every_spool_has_a_name_of_its_own() -> None:
    found = on_the_shelf([line(), line(id="2"), line(id="3", note="shelf 4")], builtin())
    assert [s.id for s in found.spools] == ["8 AWG red", "8 AWG red (2)", "shelf 4"]


def test_two_colours_are_the_same_in_either_order() -> None:
    (spool,) = on_the_shelf([line(colour="WHBK")], builtin()).spools
    assert spool.colour == "BKWH"
