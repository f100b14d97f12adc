"""What a template shows: the line to saw, the holes to drill, marks to draw on the board."""

from __future__ import annotations

from dataclasses import dataclass, replace

from loomwright.trace.outline import Outline, Point


@dataclass(frozen=True, slots=True)
class Hole:
    """A hole to drill: its centre, its diameter [mm], what it is for."""

    at_mm: Point
    hole_mm: float
    label: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    """A line to draw on the board, straight piece by straight piece, with words at its middle; closed or not."""

    points_mm: tuple[Point, ...]
    words: str = ""
    closed: bool = True

    @property
    def middle_mm(self) -> Point:
        """Middle of the box round it."""
        xs, ys = zip(*self.points_mm, strict=True)
        return (min(xs) + max(xs)) / 2.0, (min(ys) + max(ys)) / 2.0


@dataclass(frozen=True, slots=True)
class Template:
    """A board to cut, seen from its face; from its back where ``outline.back``.

    Attributes
    ----------
    title : str
        Name of the board.
    outline : Outline
        The line to saw, and holes and slots to cut.
    holes : tuple of Hole
        To drill.
    notes : tuple of Note
        To draw: what stands where, which side is up.
    stock : str
        Such as ``plywood 9 mm``.
    words : tuple of str
        What else must be said: allowances, which side of the line.
    """

    title: str
    outline: Outline
    holes: tuple[Hole, ...] = ()
    notes: tuple[Note, ...] = ()
    stock: str = ""
    words: tuple[str, ...] = ()

    def mirrored(self) -> Template:
        """The board seen from its other side. Words stay upright."""
        width = self.outline.size_mm[0]

        def over(p: Point) -> Point:
            return width - p[0], p[1]

        return replace(
            self,
            outline=self.outline.mirrored(),
            holes=tuple(replace(h, at_mm=over(h.at_mm)) for h in self.holes),
            notes=tuple(replace(n, points_mm=tuple(over(p) for p in n.points_mm)) for n in self.notes),
        )

    @property
    def side(self) -> str:
        """``face`` or ``back``."""
        return "back" if self.outline.back else "face"
