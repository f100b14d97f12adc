"""The project's font as a page needs it. It is cut and compressed when the package is built."""

from __future__ import annotations

from functools import cache

from loomwright.drawing import assets
from loomwright.drawing.marks import Weight

WEIGHTS: tuple[Weight, ...] = ("regular", "semibold", "bold")


@cache
def font(weight: Weight) -> bytes:
    """The font of one weight as WOFF."""
    return assets.page_font(weight).read_bytes()
