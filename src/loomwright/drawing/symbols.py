"""Graphical symbols in the manner of IEC 60617, drawn about the origin, in millimetres.

Symbols in a line (fuse, breaker, switch, contact) lie along x and reach from ``-REACH`` to ``REACH``. Sources stand
with plus on top.
"""

from __future__ import annotations

from loomwright.drawing.marks import Arc, Circle, Mark, Path, Point, Stroke, Text, line, placed, rectangle

REACH = 6.0
THIN = Stroke(0.35)
BOLD = Stroke(0.7)
_FINE = Stroke(0.25)


def fuse() -> tuple[Mark, ...]:
    """Fuse: a rectangle with the conductor through it."""
    return (rectangle(-4.0, -1.5, 8.0, 3.0, THIN), line(-REACH, 0, REACH, 0, THIN))


def _contact(opened: float = -3.2) -> tuple[Mark, ...]:
    return (
        line(-REACH, 0, -3.0, 0, THIN),
        line(-3.0, 0, 3.2, opened, THIN),
        line(3.0, 0, REACH, 0, THIN),
    )


def switch() -> tuple[Mark, ...]:
    """Switch: make contact, drawn open as is the custom."""
    return (*_contact(), Circle((-3.0, 0), 0.45, THIN, "raised"), Circle((3.0, 0), 0.45, THIN, "raised"))


def breaker() -> tuple[Mark, ...]:
    """Circuit breaker: a contact with a cross, and the bow of its thermal release."""
    return (
        *_contact(),
        line(2.0, -1.0, 4.0, 1.0, THIN),
        line(2.0, 1.0, 4.0, -1.0, THIN),
        Path(((-1.6, 2.6), (-1.6, 1.2), (0.6, 1.2), (0.6, 2.6)), _FINE),
    )


def contact() -> tuple[Mark, ...]:
    """One contact of a connector: pin and socket."""
    return (
        line(-REACH, 0, -1.0, 0, THIN),
        Arc((0.9, 0), 1.9, 90, 270, THIN),
        rectangle(-0.6, -0.6, 3.2, 1.2, THIN, "ink"),
        line(2.6, 0, REACH, 0, THIN),
    )


def relay_contact() -> tuple[Mark, ...]:
    """Make contact of a relay, drawn at rest."""
    return _contact()


def coil() -> tuple[Mark, ...]:
    """Operating coil of a relay."""
    return (rectangle(-4.0, -1.75, 8.0, 3.5, THIN),)


def diode() -> tuple[Mark, ...]:
    """Diode, conducting to the right."""
    return (
        line(-REACH, 0, -2.0, 0, THIN),
        Path(((-2.0, -2.2), (2.0, 0), (-2.0, 2.2)), THIN, "raised", closed=True),
        line(2.0, -2.2, 2.0, 2.2, THIN),
        line(2.0, 0, REACH, 0, THIN),
    )


def battery() -> tuple[Mark, ...]:
    """Battery of cells, plus on top: reaches from y = -6 to 6."""
    return (
        line(0, -6, 0, -3.2, THIN),
        line(-4.5, -3.2, 4.5, -3.2, THIN),
        line(-2.2, -1.6, 2.2, -1.6, BOLD),
        line(0, -1.3, 0, 1.3, Stroke(0.35, "ink", "dotted")),
        line(-4.5, 1.6, 4.5, 1.6, THIN),
        line(-2.2, 3.2, 2.2, 3.2, BOLD),
        line(0, 3.2, 0, 6, THIN),
        line(2.6, -5.6, 4.2, -5.6, _FINE),
        line(3.4, -6.4, 3.4, -4.8, _FINE),
    )


def generator() -> tuple[Mark, ...]:
    """Generator with rectified output, plus on top: reaches from y = -6 to 6."""
    return (
        line(0, -6, 0, -4.8, THIN),
        Circle((0, 0), 4.8, THIN, "raised"),
        Text((0, 0.6), "G", 3.0, "middle", "semibold"),
        *_direct(0, 2.3),
        line(0, 4.8, 0, 6, THIN),
    )


def _direct(x: float, y: float) -> tuple[Mark, ...]:
    """The mark for direct current: a line over a broken line."""
    return (
        line(x - 1.5, y - 0.45, x + 1.5, y - 0.45, _FINE),
        *(line(x + d, y + 0.45, x + d + 0.8, y + 0.45, _FINE) for d in (-1.5, -0.4, 0.7)),
    )


def converter() -> tuple[Mark, ...]:
    """DC-DC converter: a square with a diagonal and the mark of direct current on both sides."""
    return (
        rectangle(-5, -5, 10, 10, THIN, "raised"),
        line(-5, 5, 5, -5, THIN),
        *_direct(-2.4, -2.6),
        *_direct(2.4, 2.6),
    )


def amplifier() -> tuple[Mark, ...]:
    """Amplifier: a triangle pointing the way the signal goes."""
    return (Path(((-4.5, -5), (-4.5, 5), (5.0, 0)), THIN, "raised", closed=True),)


def loudspeaker() -> tuple[Mark, ...]:
    """Loudspeaker."""
    return (
        rectangle(-3.5, -2.0, 3.0, 4.0, THIN, "raised"),
        Path(((-0.5, -2.0), (3.0, -4.5), (3.0, 4.5), (-0.5, 2.0)), THIN, "raised", closed=True),
    )


def processor() -> tuple[Mark, ...]:
    """Signal processor: a box with an adjustable filter."""
    return (
        rectangle(-5, -5, 10, 10, THIN, "raised"),
        *(_wave(y) for y in (-2.2, 0.0, 2.2)),
        line(-3.8, 3.8, 3.4, -3.4, _FINE),
        Path(((1.9, -3.2), (3.6, -3.6), (3.2, -1.9)), _FINE),
    )


def _wave(y: float) -> Path:
    points: list[Point] = []
    for cx, up in ((-1.25, True), (1.25, False)):
        for k in range(9):
            x = cx - 1.25 + 2.5 * k / 8
            rise = 0.9 * (1 - ((x - cx) / 1.25) ** 2)
            points.append((x, y - rise if up else y + rise))
    return Path(tuple(points), _FINE)


def source() -> tuple[Mark, ...]:
    """Source unit: a box with a player's mark."""
    return (
        rectangle(-5, -5, 10, 10, THIN, "raised"),
        Path(((-1.8, -2.6), (-1.8, 2.6), (2.6, 0)), THIN, None, closed=True),
    )


def load() -> tuple[Mark, ...]:
    """Any other load."""
    return (rectangle(-5, -2.0, 10, 4.0, THIN, "raised"),)


def frame_ground() -> tuple[Mark, ...]:
    """Connection to the vehicle's frame, hanging from the origin."""
    return (
        line(0, 0, 0, 3, THIN),
        line(-4, 3, 4, 3, Stroke(0.5)),
        *(line(x, 3, x - 2.0, 6, THIN) for x in (-3.2, 0.2, 3.6)),
    )


def earth() -> tuple[Mark, ...]:
    """Connection to earth, hanging from the origin."""
    return (
        line(0, 0, 0, 3, THIN),
        *(line(-w, y, w, y, Stroke(0.5)) for w, y in ((4.0, 3.0), (2.6, 4.2), (1.2, 5.4))),
    )


def dot(x: float, y: float, radius_mm: float = 0.7) -> Circle:
    """Where conductors join."""
    return Circle((x, y), radius_mm, None, "ink")


def at(symbol: tuple[Mark, ...], x: float, y: float, scale: float = 1.0) -> tuple[Mark, ...]:
    """A symbol moved to its place."""
    return placed(symbol, x, y, scale)
