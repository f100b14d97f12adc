"""Fonts cut down to a few letters, for drawings that bring their own.

It imports nothing of Loomwright: the build, which makes the usual cuts once and for all, loads it by itself.
"""

from __future__ import annotations

import io
from pathlib import Path

USUAL = "".join(map(chr, range(0x20, 0x7F))) + "\u2009\u00a0\u00b0\u00b2\u00d7\u03a9\u2013\u2026\u2190\u2192\u2212"
"""Letters that are put into every file with a font of its own: most drawings need no others."""


def cut(path: Path, letters: str, features: tuple[str, ...] = ()) -> bytes:
    """A font with only these letters and features, the same bytes each time."""
    from fontTools import subset  # type: ignore[import-untyped]  # slow to import, and seldom needed

    options = subset.Options()
    options.recalc_timestamp = False
    options.layout_features = list(features)
    options.name_IDs = [1, 2]
    options.notdef_outline = True
    options.hinting = False
    out = io.BytesIO()
    with subset.load_font(str(path), options) as font:
        subsetter = subset.Subsetter(options)
        subsetter.populate(text=letters)
        subsetter.subset(font)
        font.save(out, reorderTables=True)
    return out.getvalue()
