"""What to write where a conductor size cannot be read: the form, and the three nearest sizes."""

from __future__ import annotations

import math
import re

from loomwright.errors import UnknownName
from loomwright.facts import conductors
from loomwright.rig.report import Report
from loomwright.rig.words import show

FORM = 'a size such as "8 AWG", "8 SAE" or "8 mm2", or "auto", or "bolted"'
SYSTEMS = "AWG is ASTM B258; SAE of the same number is thinner; mm2 is the area of metal, not a diameter."
_WRITTEN = re.compile(r"[+-]?\s*(?P<number>[1-9]\d*/0|\d+(?:\.\d+)?)\s*(?P<unit>\D.*)?")
_NEAREST = 3


def wire(place: str, written: str, report: Report) -> str | None:
    """The label of the size that a file asks for at ``place``; None, with a problem reported, where it is no wire."""
    try:
        row = conductors.parse_size(written)
    except UnknownName:
        report.add(place, FORM, show(written), advice(written))
        return None
    if row.system == "bolted":
        report.add(place, "a size of wire", show(written), "Give the size on the reel.")
        return None
    return row.label


def advice(written: str) -> str:
    """What to write instead of a size that does not exist, nearest by area first.

    >>> advice("11.5 AWG").partition(". ")[0]
    'The nearest are "12 AWG", "10 AWG" and "14 AWG"'
    """
    labels = nearest(written)
    if not labels:
        return f"Write the number and its system. {SYSTEMS}"
    quoted = [f'"{label}"' for label in labels]
    return f"The nearest are {', '.join(quoted[:-1])} and {quoted[-1]}. {SYSTEMS}"


def nearest(written: str) -> tuple[str, ...]:
    """The three sizes nearest by area to what was meant; empty where no number is to be seen.

    A number without a system may mean each of the three.
    """
    found = _WRITTEN.fullmatch(" ".join(written.split()))
    if found is None:
        return ()
    number, unit = found["number"], (found["unit"] or "").casefold().replace(" ", "")
    plain = float(number) if "/" not in number else 0.0
    gauge = gauge_of(number)
    if unit.startswith(("mm", "sq")):
        return _by_area(plain)
    if unit.startswith("awg"):
        return _by_gauge("AWG", gauge)
    if unit.startswith("sae"):
        return _by_gauge("SAE", gauge)
    metric = plain if not unit and plain else area_mm2_of(gauge)
    return (_by_gauge("AWG", gauge)[0], _by_gauge("SAE", gauge)[0], _by_area(metric)[0])


def in_quotes(number: float) -> str:
    """A size of that number as the file writes it: in AWG where there is one, else in mm2.

    >>> in_quotes(10), in_quotes(25)
    ('"10 AWG"', '"25 mm2"')
    """
    labels = {s.label for system in conductors.SYSTEMS for s in conductors.sizes(system)}
    return next((f'"{s}"' for s in (f"{number:g} AWG", f"{number:g} mm2") if s in labels), '"10 AWG"')


def gauge_of(number: str) -> float:
    """A gauge number as a figure: 1/0 is 0, 2/0 is -1; so is 00."""
    if number.endswith("/0"):
        return 1.0 - float(number.partition("/")[0])
    return 1.0 - len(number) if set(number) == {"0"} else float(number)


def area_mm2_of(gauge: float) -> float:
    """Area of a gauge number, ASTM B258 [mm2]: 36 AWG is 0.127 mm, and each step is the 39th root of 92 in diameter."""
    return math.pi / 4.0 * 0.127**2 * math.pow(92.0, (36.0 - min(max(gauge, -10.0), 60.0)) / 19.5)


def _by_gauge(system: str, gauge: float) -> tuple[str, ...]:
    """By gauge number, which goes as the logarithm of the area."""
    rows = conductors.sizes(system)
    ranked = sorted(rows, key=lambda s: (abs(gauge_of(s.label.partition(" ")[0]) - gauge), s.area_mm2))
    return tuple(s.label for s in ranked[:_NEAREST])


def _by_area(area_mm2: float) -> tuple[str, ...]:
    target = math.log(max(area_mm2, 1e-3))
    ranked = sorted(conductors.sizes("mm2"), key=lambda s: (abs(math.log(s.area_mm2) - target), s.area_mm2))
    return tuple(s.label for s in ranked[:_NEAREST])
