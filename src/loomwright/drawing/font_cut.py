"""Fonts cut down to some letters: few for drawings that bring their own, more for pages and papers.

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
PRINTED = READ + "\u200b"
"""What most papers need: the same, and the place where a long word may break."""
_FAMILY = (1, 2, 4, 6, 16, 17)  # the records of names that a typesetter looks for


def for_pages(path: Path) -> bytes:
    """A font as WOFF with the letters of :data:`READ`, the same bytes each time."""
    return cut(path, READ, _READ_FEATURES, "woff")


def for_print(path: Path) -> bytes:
    """A font with the letters of :data:`PRINTED`, the same bytes each time.

    A typesetter reads what a font can do anew for each word of a drawing: one that can do less is quicker by a sixth,
    and looks the same.
    """
    return cut(path, PRINTED, _READ_FEATURES, names=_FAMILY)


def beside(path: Path, main: Path) -> bytes:
    """A font without the letters that the main font has, the same bytes each time.

    A typesetter that finds every letter of a line in the second font sets the whole line in it: so it must have none of
    the first one's.
    """
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped]  # slow to import, and seldom needed

    with TTFont(path) as font, TTFont(main) as first:
        letters = sorted(set(font.getBestCmap()) - set(first.getBestCmap()))
    return cut(path, "".join(map(chr, letters)), ("*",), names=_FAMILY)


def cut(
    path: Path, letters: str, features: tuple[str, ...] = (), flavour: str | None = None,
    names: tuple[int, ...] = (1, 2),
) -> bytes:  # fmt: skip
    """A font with only these letters and features, the same bytes each time; ``names`` are the records it keeps."""
    from fontTools import subset  # type: ignore[import-untyped]  # slow to import, and seldom needed

    options = subset.Options()
    options.recalc_timestamp = False
    options.layout_features = list(features)
    options.name_IDs = list(names)
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
