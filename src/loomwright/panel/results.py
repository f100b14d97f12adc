"""What the panel says: frozen results, unit at the end of every name.

Points are on the face of the board, x to the right and y down from the upper left corner of the box round it [mm].
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from loomwright.rig.model import Kind
from loomwright.rig.plan import Panel, Point, SideName

Box = tuple[float, float, float, float]
"""Left, top, right, bottom [mm]."""
Class = Literal["power", "speaker", "line", "remote"]
RoomFor = Literal["wires", "heat", "plug", "screwdriver", "fuses"]
Rule = Literal[
    "board", "screws", "overlap", "wires", "heat", "plug", "screwdriver", "height", "reach", "under", "spacers", "turn",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class LaidTerminal:
    """A terminal of a placed item: ``item.terminal``, the side its wire leaves by, where it lies."""

    ref: str
    side: SideName
    at_mm: Point


@dataclass(frozen=True, slots=True)
class RoomBox:
    """Room that an item needs beside its body, and what for; ``depth_mm`` is how far it reaches out."""

    what: RoomFor
    side: SideName
    box_mm: Box
    depth_mm: float
    height_mm: float = 0.0  # of a screwdriver's axis


@dataclass(frozen=True, slots=True)
class Drill:
    """A hole to drill."""

    item: str
    at_mm: Point
    hole_mm: float


@dataclass(frozen=True, slots=True)
class LaidItem:
    """An item as it lies. ``foot_mm`` is the height of its underside above the board, 0 on the board itself."""

    id: str
    part: str
    at_mm: Point
    size_mm: tuple[float, float]
    height_mm: float
    turn_deg: int
    layer: Literal[1, 2]
    foot_mm: float
    terminals: tuple[LaidTerminal, ...]
    rooms: tuple[RoomBox, ...]
    drills: tuple[Drill, ...]
    reach_mm: float
    warm: bool
    fixed: bool

    @property
    def box_mm(self) -> Box:
        """Its body."""
        (x, y), (w, h) = self.at_mm, self.size_mm
        return x, y, x + w, y + h


@dataclass(frozen=True, slots=True)
class Broken:
    """A rule that a layout breaks: which, by what, how much is needed and how much is there [mm]."""

    rule: Rule
    items: tuple[str, ...]
    text: str
    needed_mm: float
    there_mm: float
    side: SideName | None = None


@dataclass(frozen=True, slots=True)
class Cost:
    """What a layout costs, in grams of copper.

    ``crossings``, ``hot_pairs``, ``on_spacers`` and ``covered_fuses`` are counted, the rest is weight.
    """

    copper_g: float
    crossings: int
    hot_pairs: int
    on_spacers: int
    covered_fuses: int
    total_g: float


@dataclass(frozen=True, slots=True)
class Lead:
    """Wires that go the same way on the board, side by side: as one line of straight pieces and bends.

    ``points_mm`` are the corners, ends included; each inner one is bent to ``radius_mm``, measured to the middle of the
    lead. ``on_board_mm`` is the length of one wire along it. ``to`` is None where it leaves by the cable entry.
    """

    id: str
    wires: tuple[str, ...]
    kind: Class
    start: str  # item
    to: str | None
    points_mm: tuple[Point, ...]
    width_mm: float
    radius_mm: float
    least_radius_mm: float
    on_board_mm: float
    ties_mm: tuple[Point, ...]
    held: bool = True  # False: no way was found that keeps every rule; drawn straight


@dataclass(frozen=True, slots=True)
class LeadCrossing:
    """Two leads that cross, and where. ``mixed`` where one is power and the other line level."""

    leads: tuple[str, str]
    at_mm: Point
    mixed: bool


@dataclass(frozen=True, slots=True)
class Beside:
    """A power lead and a line lead that run along each other: how near and how far [mm]."""

    power: str
    line: str
    apart_mm: float
    along_mm: float


@dataclass(frozen=True, slots=True)
class WireOnPanel:
    """How much of a wire lies on a board. ``both`` where both its ends are on it."""

    wire: str
    kind: Kind
    panel: str
    length_mm: float
    both: bool


@dataclass(frozen=True, slots=True)
class Covered:
    """Something that lies under something on spacers: whether nothing but the spacers' screws has to be undone."""

    under: str
    over: str
    screws: int
    reachable: bool


@dataclass(frozen=True, slots=True)
class Laid:
    """One panel with what lies on it, before any lead is laid.

    ``unplaced`` are its items that the rig does not place yet. ``least`` says how much of each wire lies on the board
    at the least: from terminal to terminal, or to the cable entry, at right angles.
    """

    panel: Panel
    items: tuple[LaidItem, ...]
    unplaced: tuple[str, ...]
    broken: tuple[Broken, ...]
    cost: Cost
    covered: tuple[Covered, ...]
    least: tuple[WireOnPanel, ...]

    @property
    def drills(self) -> tuple[Drill, ...]:
        """Every hole to drill, item by item."""
        return tuple(d for i in self.items for d in i.drills)

    def item(self, item_id: str) -> LaidItem:
        """One item. KeyError where it does not lie here."""
        for i in self.items:
            if i.id == item_id:
                return i
        raise KeyError(item_id)


@dataclass(frozen=True, slots=True)
class PanelLayout(Laid):
    """One panel with everything that lies on it: leads are laid for the items that have a place."""

    leads: tuple[Lead, ...]
    crossings: tuple[LeadCrossing, ...]
    beside: tuple[Beside, ...]
    lengths: tuple[WireOnPanel, ...]

    def as_data(self) -> dict[str, object]:
        """The panel as the command line and the pages give it to other programs."""
        return {
            "panel": self.panel.id, "place": self.panel.place, "width_mm": self.panel.size_mm[0],
            "height_mm": self.panel.size_mm[1], "items": self.items, "unplaced": self.unplaced,
            "broken": self.broken, "cost": self.cost, "drills": self.drills, "leads": self.leads,
            "crossings": self.crossings, "beside": self.beside, "covered": self.covered, "lengths": self.lengths,
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class PanelResult:
    """Every panel of a rig, in the order of the rig."""

    layouts: tuple[PanelLayout, ...]

    def layout(self, panel_id: str) -> PanelLayout:
        """One panel. KeyError where there is none."""
        for one in self.layouts:
            if one.panel.id == panel_id:
                return one
        raise KeyError(panel_id)


@dataclass(frozen=True, slots=True)
class Where:
    """Where the solver puts an item; written to the rig as ``at_mm``, ``turn_deg`` and ``layer``."""

    item: str
    at_mm: Point
    turn_deg: int
    layer: Literal[1, 2]


@dataclass(frozen=True, slots=True)
class Relaxation:
    """A change that makes everything fit, and how much of it: the least that is proven enough.

    ``kind`` says what ``amount_mm``, ``item`` and ``part`` mean; ``space_mm`` is the free height that it needs
    besides, 0 where that stays.
    """

    kind: Literal["wider", "higher", "second layer", "other part", "leave out", "lower", "taller space"]
    text: str
    item: str = ""
    part: str = ""
    amount_mm: float = 0.0
    space_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Placement:
    """What the solver found for one panel.

    ``status`` is ``proven`` where no layout on whole millimetres is cheaper, ``stopped`` where the gap is not closed,
    ``cannot fit`` where it is proven that there is no layout. ``bound_g`` is below every layout there is; ``gap`` is
    what is left between the two, as a share. ``why`` says why it cannot fit.
    """

    panel: str
    status: Literal["proven", "stopped", "cannot fit", "not found"]
    spots: tuple[Where, ...]
    cost: Cost | None
    bound_g: float
    gap: float
    why: tuple[str, ...] = ()
    clash: tuple[str, ...] = ()  # the fewest items that cannot lie together
    relaxations: tuple[Relaxation, ...] = ()
