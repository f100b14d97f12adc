"""The project's font as a page needs it: the letters of European languages and the trade's signs, compressed."""

from __future__ import annotations

import io
from functools import cache

from loomwright.drawing import assets
from loomwright.drawing.marks import Weight

WEIGHTS: tuple[Weight, ...] = ("regular", "semibold", "bold")
_RANGES = ((0x20, 0x7F), (0xA0, 0x180), (0x2010, 0x2030), (0x2190, 0x2194))
_SIGNS = "\u2212\u03a9\u03bc\u2126\u221e\u2264\u2265\u2032\u2033\u2009\u202f\u2026\u20ac"


@cache
def font(weight: Weight) -> bytes:
    """The font of one weight as WOFF, the same bytes each time."""
    from fontTools import subset  # type: ignore[import-untyped]

    options = subset.Options()
    options.recalc_timestamp = False
    options.layout_features = ["ccmp", "kern", "liga", "mark", "tnum"]
    options.hinting = False
    options.notdef_outline = True
    made = subset.load_font(str(assets.font_path(weight)), options)
    subsetter = subset.Subsetter(options)
    letters = [c for first, last in _RANGES for c in range(first, last)]
    subsetter.populate(unicodes=[*letters, *map(ord, _SIGNS)])
    subsetter.subset(made)
    made.flavor = "woff"
    out = io.BytesIO()
    made.save(out)
    made.close()
    return out.getvalue()
