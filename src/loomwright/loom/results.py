"""What the loom says: frozen results, unit at the end of every name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from loomwright.rig.model import Kind, Metal

LengthFrom = Literal["measured", "runs", "one place", "panel", "panel and runs"]
Half = Literal["a", "b"]


@dataclass(frozen=True, slots=True)
class WireEnd:
    """What goes on one end of a wire. ``strip_mm`` is 0 where nothing is stripped.

    ``fits`` is False where no end takes both wire and terminal; ``would_fit`` then says what does.
    """

    terminal: str
    end: str                        # "ring lug M6, 16 mm2", "ferrule 2.5 mm2", ..
    strip_mm: float
    colour: str = ""                # of a collar, letters of IEC 60757
    pull_n: float | None = None     # a crimp must stand this
    pull_source: str = ""
    shrink: str = ""                # "2:1, 9.5 to 4.8 mm"
    shrink_mm: float = 0.0          # length to cut
    fits: bool = True
    would_fit: str = ""


@dataclass(frozen=True, slots=True)
class LoomWire:
    """One wire as it is cut. ``length_mm`` is what the rig reckons with, ``slack_mm`` the spare wire in it."""

    id: str
    start: str
    end: str
    kind: Kind
    size: str
    metal: Metal
    insulation_c: int
    colour: str
    colour_given: bool
    runs: tuple[int, ...]           # numbers of the runs, from 1
    length_from: LengthFrom
    length_mm: float
    slack_mm: float
    cut_mm: float
    outside_mm: float
    mass_g: float
    ends: tuple[WireEnd, WireEnd]
    labels: tuple[str, str]


@dataclass(frozen=True, slots=True)
class Placed:
    """One wire in the section of a bundle: its middle, seen from the middle of the bundle, and its diameter."""

    wire: str
    x_mm: float
    y_mm: float
    diameter_mm: float


@dataclass(frozen=True, slots=True)
class Bundle:
    """What lies in one run.

    ``diameter_mm`` is that of the packed wires, ``covered_mm`` over the covers of the run, ``hole_mm`` the hole that
    it needs, its grommet counted in where there is one. ``connector`` is the largest connector body at one of its ends,
    ``connector_mm`` the round hole that this body needs.
    """

    run: int
    between: tuple[str, str]
    length_mm: float
    wires: tuple[str, ...]
    section: tuple[Placed, ...]
    diameter_mm: float
    covered_mm: float
    covers: tuple[str, ...]
    grommet_mm: float | None        # bore
    hole_mm: float
    hole_there_mm: float | None
    connector: str | None
    connector_mm: float | None
    loaded: int                     # wires that warm each other
    derating: float
    mass_g: float
    bend_mm: float                  # least radius
    support_mm: float               # widest distance between supports
    ties: int


@dataclass(frozen=True, slots=True)
class ContactUse:
    """One contact: the wires on its two sides, what it carries at `loud`, and what it may carry here."""

    number: int
    a_wire: str | None
    b_wire: str | None
    kind: Kind | None
    amps_a: float
    a_colour: str = ""
    b_colour: str = ""


@dataclass(frozen=True, slots=True)
class Disconnect:
    """One connector. ``live`` are the halves that stay fed when it is parted; ``lost`` is what then stands still.

    ``no_return`` are items that keep their feed but lose their return. ``face`` is the mating side of half a, row by
    row; the wire side is its mirror.
    """

    id: str
    part: str
    place: str
    contacts: tuple[ContactUse, ...]
    spare: int
    contact_a: float
    usable_a: float                 # for each contact, so many being loaded
    loaded: int
    sockets: Half | None            # None: halves alike
    live: tuple[Half, ...]
    lost: tuple[str, ...]
    no_return: tuple[str, ...]
    key: int
    keyings: int
    face: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class Joined:
    """Two points that must connect: what is expected, and the most that passes."""

    order: int
    a: str
    b: str
    wires: tuple[str, ...]
    expected_mohm: float
    most_mohm: float
    suspicion: float                # weight of its faults over the time of the test


@dataclass(frozen=True, slots=True)
class Apart:
    """Two nets that must not connect, each by one point."""

    order: int
    a: str
    b: str
    why: str
    suspicion: float


@dataclass(frozen=True, slots=True)
class Polarity:
    """How a driver is wired: which channel moves it, and whether plus is on plus."""

    driver: str
    channel: str | None
    plus_on: str | None
    minus_on: str | None
    right: bool | None              # None: nothing drives it


@dataclass(frozen=True, slots=True)
class RingOut:
    """The sheet to ring the harness out by, before power. Each list is in the order that finds a fault soonest."""

    joined: tuple[Joined, ...]
    one_against_rest: tuple[str, ...]   # a point of each net: every short shows against the rest tied together
    apart: tuple[Apart, ...]
    polarity: tuple[Polarity, ...]


@dataclass(frozen=True, slots=True)
class Crossing:
    """A place where line leads and feeds meet without sharing a run: cross at right angles."""

    place: str
    line: tuple[str, ...]
    feeds: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LoomResult:
    """The whole loom of one rig."""

    wires: tuple[LoomWire, ...]
    bundles: tuple[Bundle, ...]
    disconnects: tuple[Disconnect, ...]
    crossings: tuple[Crossing, ...]
    ring_out: RingOut

    def wire(self, wire_id: str) -> LoomWire:
        """One wire. KeyError where there is none."""
        for w in self.wires:
            if w.id == wire_id:
                return w
        raise KeyError(wire_id)
