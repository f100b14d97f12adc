"""Remedies that give wires their length."""

from __future__ import annotations

import math
from collections.abc import Iterator

from loomwright.findings.model import Finding
from loomwright.findings.panels import much_longer
from loomwright.findings.words import listing
from loomwright.remedies.model import Remedy, makes
from loomwright.remedies.stock import Stock
from loomwright.rig.changes import WireKey


@makes("E980")
def count_the_way_on_the_board(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The length with its way on the board, for every wire that is so much longer."""
    for layout in stock.study.boards:
        if layout.panel.id == finding.where[0]:
            found = much_longer(stock.study, layout)
            title = f"Give {listing(name for name, _, _ in found)} the length with its way on the board"
            yield Remedy(title, tuple(WireKey(name, "length_mm", math.ceil(whole)) for name, _, whole in found))
