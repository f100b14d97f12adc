"""Sheets of board in the shop's stock, as the saw wants them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import TYPE_CHECKING

from loomwright.facts import boards
from loomwright.jobs.model import StockLine

if TYPE_CHECKING:
    from loomwright.rig.plan import Material
    from loomwright.template.sheet_stock import Sheet

MM2_PER_M2 = 1e6


def sheets_at_hand(lines: Iterable[StockLine]) -> tuple[Sheet, ...]:
    """The sheets of a stock that are there. One is called by its note, or by its size; two of one name are counted.

    The stock has no prices: a sheet counts by its area, so that small ones are taken where they do.
    """
    from loomwright.template.sheet_stock import Sheet, usual_grain

    out: list[Sheet] = []
    names: Counter[str] = Counter()
    for line in lines:
        if line.kind != "sheet" or not (line.count and line.length_mm and line.width_mm and line.thickness_mm):
            continue
        name = line.note.strip() or f"{line.length_mm:g} x {line.width_mm:g}"
        names[name] += 1
        name = f"{name} ({names[name]})" if names[name] > 1 else name
        material: Material = line.material  # type: ignore[assignment]  # the stock takes no other word
        out.append(Sheet(
            name, material, line.thickness_mm, line.length_mm, line.width_mm, usual_grain(material), line.count,
            line.length_mm * line.width_mm / MM2_PER_M2, boards.rule("sheet_margin_mm"),
        ))  # fmt: skip
    return tuple(out)
