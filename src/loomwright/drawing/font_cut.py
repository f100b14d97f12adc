"""Fonts cut down to some letters: few for drawings that bring their own, more for the pages.

It imports nothing of Loomwright: the build, which makes the usual cuts once and for all, loads it by itself.
"""

from __future__ import annotations

import io
from pathlib import Path

USUAL = "".join(map(chr, range(0x20, 0x7F))) + "\u2009\u00a0\u00b0\u00b2\u00d7\u03a9\u2013\u2026\u2190\u2192\u2212"
"""Letters that are put into every file with a font of its own: most drawings need no others."""

_EUROPE = ((0x20, 0x7F), (0xA0, 0x180), (0x2010, 0x2030), (0x2190, 0x2194))
_SIGNS = "\u2212\u03a9\u03bc\u2126\u221e\u2264\u2265\u2032\u2033\u2009\u202f\u2026\u20ac"
READ = "".join(chr(c) for first, last in _EUROPE for c in range(first, last)) + _SIGNS
"""What a page needs: the letters of European languages and the trade's signs."""
_READ_FEATURES = ("ccmp", "kern", "liga", "mark", "tnum")


def for_pages(path: Path) -> bytes:
    """A font as WOFF with the letters of :data:`READ`, the same bytes each time."""
    return cut(path, READ, _READ_FEATURES, "woff")


def cut(path: Path, letters: str, features: tuple[str, ...] = (), flavour: str | None = None) -> bytes:
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
        font.flavor = flavour
        font.save(out, reorderTables=True)
    return out.getvalue()
