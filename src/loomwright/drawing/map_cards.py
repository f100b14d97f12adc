"""What stands on the map of the runs: the box of a place, and the card of a run with the section of its bundle."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.drawing import figures, fonts, stripes
from loomwright.drawing.boxes import LINE_MM, TEXT_MM
from loomwright.drawing.marks import Circle, Group, Mark, Stroke, Text, rectangle
from loomwright.loom.bundles import THROUGH_HOLE
from loomwright.loom.results import Bundle
from loomwright.rig.model import Rig, Run

_TITLE_MM = 3.5
_CARD_MM = 43.0  # words of a run
_PLACE_MM, _NAME_MM = 30.0, 46.0
_CASE, _THIN, _FINE = Stroke(0.5), Stroke(0.25), Stroke(0.18)


@dataclass(frozen=True, slots=True)
class MapShape:
    """A box or card about its own upper left corner."""

    marks: tuple[Mark, ...]
    width_mm: float
    height_mm: float


def pen(bundle: Bundle | None) -> Stroke:
    """The line of a run: the thicker its bundle the wider; thin and broken where no wire lies in it."""
    if bundle is None:
        return Stroke(0.25, "pencil", "dashed")
    widths = ((6.0, 0.7), (12.0, 1.0), (20.0, 1.4), (float("inf"), 2.0))
    return Stroke(next(w for most, w in widths if bundle.diameter_mm < most))


def again(place: str) -> MapShape:
    """A place that stands elsewhere already: its name in a broken outline."""
    name = fonts.shortened(place, _NAME_MM, _TITLE_MM, "semibold")
    wide, high = fonts.width_mm(name, _TITLE_MM, "semibold") + 4.0, _TITLE_MM + 4.4
    outline = rectangle(0.0, 0.0, wide, high, Stroke(0.25, "pencil", "dashed"))
    return MapShape((outline, Text((2.0, 2.0 + _TITLE_MM), name, _TITLE_MM, "start", "semibold", "pencil")), wide, high)


def place_box(rig: Rig, place: str) -> MapShape:
    """A place: its name, what it is like, and the items in it."""
    known = rig.places[place]
    words = [figures.unit(f"{known.temperature_c:.0f}", "°C")]
    kinds = (("engine space", known.engine_space), ("wet", known.wet), ("comes off", known.comes_off))
    words += [w for w, so in kinds if so]
    items = [i.id for i in rig.items.values() if i.place == place]
    name = fonts.shortened(place, _NAME_MM, _TITLE_MM, "semibold")
    limit = min(max([_PLACE_MM, *(fonts.width_mm(f"{i},", TEXT_MM) for i in items)]), _NAME_MM)
    about = fonts.wrapped(", ".join(words), limit, TEXT_MM, 2)
    lines = [*about, *fonts.wrapped(", ".join(items), limit, TEXT_MM, 16)]
    wide = max(
        fonts.width_mm(name, _TITLE_MM, "semibold"), *(fonts.width_mm(w, TEXT_MM) for w in lines)
    ) + 4.0  # fmt: skip
    marks: list[Mark] = [Text((2.0, 2.0 + _TITLE_MM), name, _TITLE_MM, weight="semibold")]
    y = 2.0 + _TITLE_MM
    for k, text in enumerate(lines):
        y += LINE_MM + (0.6 if k == 0 else 0.0)
        marks.append(Text((2.0, y), text, TEXT_MM, role="pencil" if k < len(about) else "ink"))
    high = y + 2.4
    return MapShape((rectangle(0.0, 0.0, wide, high, _CASE), *marks), wide, high)


def run_card(run: Run, number: int, bundle: Bundle | None, colour: Mapping[str, str]) -> MapShape:
    """A run: its number, what is said of it, and the section of its bundle."""
    said = [w for text in _words(run, bundle) for w in fonts.wrapped(text, _CARD_MM, TEXT_MM, 3)]
    name = f"run {number}"
    across = bundle.covered_mm if bundle is not None else 0.0
    inner = max(fonts.width_mm(name, TEXT_MM, "semibold"), across, *(fonts.width_mm(w, TEXT_MM) for w in said))
    wide = inner + 4.0
    y = 2.0 + TEXT_MM
    marks: list[Mark] = [Text((2.0, y), name, TEXT_MM, weight="semibold")]
    for text in said:
        y += LINE_MM
        marks.append(Text((2.0, y), text, TEXT_MM))
    if bundle is not None:
        y += 2.2 + across
        marks += _section(bundle, wide / 2, y - across / 2, colour)
    high = y + 2.4
    return MapShape((rectangle(0.0, 0.0, wide, high, _THIN, "raised"), *marks), wide, high)


def _words(run: Run, bundle: Bundle | None) -> list[str]:
    """What is said of a run: its length and count, its bundle, covers, hole and hazards."""
    hazards = [f"hazards: {', '.join(run.hazards)}"] if run.hazards else []
    if bundle is None:
        return [f"{figures.length(run.length_mm)}, no wires", *hazards]
    count = len(bundle.wires)
    across = f"bundle {figures.unit(f'{bundle.diameter_mm:.1f}', 'mm')}"
    if bundle.covered_mm > bundle.diameter_mm + 0.05:
        across += f", covered {figures.unit(f'{bundle.covered_mm:.1f}', 'mm')}"
    hole = f"hole {_mm(bundle.hole_mm)}"
    covers = [c for c in bundle.covers if c not in THROUGH_HOLE] or ["no sleeve"]
    if bundle.grommet_mm:
        hole += f", grommet {_mm(bundle.grommet_mm)}"
    if bundle.hole_there_mm:
        hole += f", there {_mm(bundle.hole_there_mm)}"
    first = f"{figures.length(run.length_mm)}, {count} {'wire' if count == 1 else 'wires'}"
    return [first, across, ", ".join(covers), hole, *hazards]


def _section(bundle: Bundle, x: float, y: float, colour: Mapping[str, str]) -> list[Mark]:
    marks: list[Mark] = [Circle((x, y), bundle.covered_mm / 2, _FINE)]
    for p in bundle.section:
        roles = stripes.roles(colour.get(p.wire, ""))
        at = (x + p.x_mm, y + p.y_mm)
        own: list[Mark] = [Circle(at, p.diameter_mm / 2, _FINE, roles[0] if roles else "raised")]
        if len(roles) > 1:
            own.append(Circle(at, p.diameter_mm / 6, None, roles[1]))
        marks.append(Group(tuple(own), "wire", p.wire, p.wire))
    return marks


def _mm(value: float) -> str:
    return figures.unit(f"{value:.1f}", "mm")
