"""Bundles of whole rigs."""

from __future__ import annotations

import pytest

from loomwright import demo
from loomwright.loom.bundles import bundles, diameter_between_mm
from loomwright.rig.file import load
from loomwright.study import Study


@pytest.mark.parametrize("name", demo.names())
def test_a_packed_bundle_lies_between_its_bounds(name: str) -> None:
    rig = Study(load(demo.path(name))).rig
    for b in bundles(rig):
        least, most = diameter_between_mm(rig, b.run - 1)
        assert least <= b.diameter_mm + 1e-3
        assert b.diameter_mm <= most + 1e-3
