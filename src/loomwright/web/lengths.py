"""A length as somebody typed it, for pages that are no form of the rig file: read in one way, refused in one way."""

from __future__ import annotations

from loomwright.errors import InputError, Problem
from loomwright.web.units import Units

REMEDY = "Type a number, or a number with its unit: 1.2 m, 35 mm, 17 3/4 in."
MOST_SHOWN = 40
MILLIMETRES = Units()


def length_mm(
    page: str, name: str, text: str, within_mm: tuple[float, float], units: Units = MILLIMETRES, decimals: int = 2,
    remedy: str = REMEDY,
) -> float:  # fmt: skip
    """A length [mm], from what was typed in the reader's unit or with a unit of its own, comma or point.

    ``page`` and ``name`` say where it was typed; ``within_mm`` is the least and the most that it may be.

    Raises
    ------
    InputError
        Where it is no length, or not within.
    """
    found = units.typed(text, "mm")
    least, most = within_mm
    if not isinstance(found, int | float) or not least <= found <= most:
        expected = f"{units.shown(least, 'mm')} to {units.shown(most, 'mm')} {units.length}"
        raise InputError([Problem(page, name, expected, text.strip()[:MOST_SHOWN] or "nothing", remedy)])
    return round(float(found), decimals)
