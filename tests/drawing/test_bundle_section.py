"""The section of a bundle: to scale, every number inside its wire, every colour drawn."""

from __future__ import annotations

import math

import pytest

from loomwright.drawing import bundle_section, fonts
from loomwright.drawing.bundle_section import SCALE, Core, draw, roles
from loomwright.drawing.marks import Circle, Group, Text
from loomwright.facts import colours
from loomwright.loom.results import Bundle
from tests.findings.bases import TRIKE, study


def bundles() -> tuple[Bundle, ...]:
    return study(TRIKE).loom.bundles


def drawn(bundle: Bundle) -> tuple[Group, ...]:
    loom = study(TRIKE).loom
    sheet = draw(bundle, {w.id: Core(w.colour, w.id) for w in loom.wires})
    return tuple(m for m in sheet.marks if isinstance(m, Group))


def test_every_wire_lies_where_it_packs_and_is_as_thick_as_it_is() -> None:
    for bundle in bundles():
        groups = drawn(bundle)
        assert [g.ref for g in groups] == list(bundle.wires)
        outer = [g.marks[0] for g in groups]
        for a, p in zip(outer, bundle.section, strict=True):
            assert isinstance(a, Circle)
            assert a.radius_mm == pytest.approx(SCALE * p.diameter_mm / 2.0)
        for k, a in enumerate(outer):
            for b in outer[:k]:
                assert isinstance(a, Circle)
                assert isinstance(b, Circle)
                assert math.dist(a.centre, b.centre) >= a.radius_mm + b.radius_mm - 1e-6


def test_a_number_stays_inside_its_wire() -> None:
    for bundle in bundles():
        for group in drawn(bundle):
            circle = group.marks[0]
            assert isinstance(circle, Circle)
            for mark in group.marks:
                if isinstance(mark, Text):
                    assert mark.text == group.ref
                    assert fonts.width_mm(mark.text, mark.size_mm, mark.weight) < 2.0 * circle.radius_mm


def test_a_long_number_is_left_out_rather_than_drawn_over_its_neighbours() -> None:
    assert bundle_section._label("a_very_long_name_for_a_wire", 6.0) is None


@pytest.mark.parametrize("letters", colours.letters())
def test_every_colour_of_the_standard_is_drawn(letters: str) -> None:
    assert roles(letters)
    assert len(roles("GNYE")) == 2
    assert roles("no colour") == ()
