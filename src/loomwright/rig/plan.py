"""Parts in plan, panels, and where items lie on them.

A panel is seen from the front: x to the right, y down, (0, 0) at the upper left corner of the box round it. A part at
turn 0 is as wide as its width and as deep as its depth; turns run clockwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Point = tuple[float, float]
SideName = Literal["left", "top", "right", "bottom"]
Turn = Literal[0, 90, 180, 270]
Material = Literal["plywood", "expanded PVC", "HDPE", "aluminium"]
SIDES: tuple[SideName, ...] = ("left", "top", "right", "bottom")
TURNS: tuple[Turn, ...] = (0, 90, 180, 270)


def turned_side(side: SideName, turn_deg: int) -> SideName:
    """Where a side looks after a turn."""
    return SIDES[(SIDES.index(side) + turn_deg // 90) % 4]


def turned(point: Point, width_mm: float, depth_mm: float, turn_deg: int) -> Point:
    """A point of a part after a turn, from the upper left corner of the part as it then lies [mm]."""
    x, y = point
    match turn_deg % 360:
        case 90:
            return depth_mm - y, x
        case 180:
            return width_mm - x, depth_mm - y
        case 270:
            return y, width_mm - x
        case _:
            return x, y


@dataclass(frozen=True, slots=True)
class PlanTerminal:
    """Where a terminal lies at turn 0: the side that its wire leaves by, and the point on the edge of the body [mm]."""

    name: str
    side: SideName
    at_mm: Point


@dataclass(frozen=True, slots=True)
class Adjuster:
    """Gains and switches on one side: from where to where along it, height of the axis, length of the tool [mm]."""

    side: SideName
    from_mm: float
    to_mm: float
    height_mm: float
    driver_mm: float


@dataclass(frozen=True, slots=True)
class Plan:
    """A part in plan, at turn 0.

    ``reach_mm`` is what a hand needs above the body to pull a fuse or to work a handle, 0 where there is none. On
    ``heat_sides`` nothing may stand nearer than ``heat_gap_mm``; ``warm`` says that it gives off heat at all.
    """

    width_mm: float
    depth_mm: float
    height_mm: float
    terminals: tuple[PlanTerminal, ...]
    holes_mm: tuple[Point, ...] = ()
    hole_mm: float = 4.5
    adjusters: tuple[Adjuster, ...] = ()
    reach_mm: float = 0.0
    heat_sides: tuple[SideName, ...] = ()
    heat_gap_mm: float = 0.0
    warm: bool = False

    def terminal(self, name: str) -> PlanTerminal:
        """One terminal. KeyError where there is none."""
        for t in self.terminals:
            if t.name == name:
                return t
        raise KeyError(name)

    def size_mm(self, turn_deg: int) -> tuple[float, float]:
        """Width and depth after a turn."""
        return (self.depth_mm, self.width_mm) if turn_deg % 180 else (self.width_mm, self.depth_mm)


@dataclass(frozen=True, slots=True)
class KeepOut:
    """A rectangle of the board that nothing may stand on: upper left corner, width and height [mm]."""

    at_mm: Point
    size_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Panel:
    """The board that equipment is mounted on, and the space it goes into.

    ``outer`` and ``holes`` are closed rings of straight pieces, the last point not repeated.
    """

    id: str
    place: str
    outer: tuple[Point, ...]
    space_mm: float  # free height above the face of the board
    entry_mm: Point  # where the wires leave the board
    holes: tuple[tuple[Point, ...], ...] = ()
    keep_outs: tuple[KeepOut, ...] = ()
    material: Material = "plywood"
    thickness_mm: float = 12.0
    upright: bool = False  # it stands, its top edge up
    pull_out_mm: float = 150.0  # how far it comes out while gains are set
    edge_mm: float = 5.0  # least distance of a body from the edge
    screw_edge_mm: float = 15.0  # least distance of a screw from the edge
    spacer_mm: float | None = None  # spacers of a second layer; None: no second layer

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the box round the board."""
        return max(x for x, _ in self.outer), max(y for _, y in self.outer)


@dataclass(frozen=True, slots=True)
class Spot:
    """An item on a panel. ``at_mm`` is the upper left corner of its body as it lies; None where it is to be placed.

    ``turns`` are the turns that are welcome; ``fixed`` keeps it where it is when the rest is placed.
    """

    panel: str
    at_mm: Point | None = None
    turn_deg: int = 0
    layer: Literal[1, 2] | None = None
    fixed: bool = False
    turns: tuple[int, ...] = TURNS
