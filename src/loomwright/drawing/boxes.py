"""What a box on a diagram is: wire ends in rows on its left and right, words, a symbol, a size."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from loomwright.drawing import figures, fonts, stripes
from loomwright.drawing.layout import Port, Side
from loomwright.drawing.marks import Group, Mark, Role, Stroke, Text, Weight, line

THIN = Stroke(0.35)
TEXT_MM = 2.5  # height of capitals
LINE_MM = 4.1  # from one baseline to the next
_GAP = 1.1  # between words and a line
_ABOVE = 0.7 + _GAP + TEXT_MM + 0.3
_BELOW = 2.2
_WORD_MM = 1.6  # between the label of a wire and the letters of its colour
_ASIDE_MM = 1.2  # from a box to the words on a wire


@dataclass(frozen=True, slots=True)
class End:
    """One end of a wire at a box; ``label`` stands over it. ``joint`` is ``wire@item.terminal``.

    Letters of a ``colour`` and a ``note`` follow the label; the stripe of the colour lies on the wire.
    """

    port: str
    terminal: str
    side: Side
    label: str
    stroke: Stroke
    joint: str = ""
    colour: str = ""
    note: str = ""

    @property
    def words(self) -> str:
        """What stands after the label."""
        return " ".join(w for w in (self.colour, self.note) if w)

    @property
    def words_mm(self) -> float:
        """Width of the label and what stands after it [mm]."""
        rest = fonts.width_mm(self.words, TEXT_MM) + _WORD_MM if self.words else 0.0
        return fonts.width_mm(self.label, TEXT_MM, "semibold") + rest


Row = tuple[float, End | None, End | None]  # height, who is on the left, who is on the right


@dataclass(frozen=True, slots=True)
class Shape:
    """A finished box about its own upper left corner; ``ends`` are its joints and free terminals."""

    width_mm: float
    height_mm: float
    ports: tuple[Port, ...]
    marks: tuple[Mark, ...]
    ends: tuple[Group, ...] = ()


@dataclass(slots=True)
class Build:
    """A box being put together. ``left`` and ``right`` are the core's edges; stubs of wires lie outside them."""

    west: list[End]
    east: list[End]
    core_mm: float
    marks: list[Mark] = field(default_factory=list)
    ports: list[Port] = field(default_factory=list)
    ends: list[Group] = field(default_factory=list)
    left: float = 0.0
    right: float = 0.0
    y: float = 0.0

    def __post_init__(self) -> None:
        self.left = stub_mm(self.west)
        self.right = self.left + self.core_mm

    @property
    def middle(self) -> float:
        return (self.left + self.right) / 2

    def rows(self, west: Sequence[End], east: Sequence[End], least: int = 1) -> list[Row]:
        """Lay wire ends in rows from ``y`` down, two abreast; returns the height of each row and who is in it."""
        out: list[Row] = []
        for k in range(max(len(west), len(east), least)):
            w = west[k] if k < len(west) else None
            e = east[k] if k < len(east) else None
            self.y = round(self.y + (_ABOVE if w or e else _BELOW), 2)
            for end in (w, e):
                if end is not None:
                    self._stub(end)
            out.append((self.y, w, e))
            self.y += _BELOW
        return out

    def _stub(self, end: End) -> None:
        outer = 0.0 if end.side == "WEST" else self.right + stub_mm(self.east)
        inner = self.left if end.side == "WEST" else self.right
        stub = line(outer, self.y, inner, self.y, end.stroke)
        words = self._beside(end, inner) if end.words else self._named(end, (outer + inner) / 2)
        wire, _, ref = end.joint.rpartition("@")
        self.ends.append(Group((stub, *words), "joint", end.joint, f"{wire} on {ref}"))
        self.ports.append(Port(end.port, end.side, self.y))

    def _named(self, end: End, x: float) -> tuple[Mark, ...]:
        base = self.y - end.stroke.width_mm / 2 - _GAP
        return (Text((x, base), end.label, TEXT_MM, "middle", "semibold"),)

    def _beside(self, end: End, inner: float) -> tuple[Mark, ...]:
        """The stripe of a wire's colour beside the box, and over it label, letters and note."""
        base = self.y - max(end.stroke.width_mm / 2, stripes.HIGH_MM / 2 if end.colour else 0.0) - _GAP
        west = end.side == "WEST"
        left = inner - _ASIDE_MM - end.words_mm if west else inner + _ASIDE_MM
        after = left + fonts.width_mm(end.label, TEXT_MM, "semibold") + _WORD_MM
        middle = inner - _ASIDE_MM - stripes.LONG_MM / 2 if west else inner + _ASIDE_MM + stripes.LONG_MM / 2
        return (
            *(stripes.stripe(end.colour, middle, self.y) if end.colour else ()),
            Text((left, base), end.label, TEXT_MM, "start", "semibold"),
            Text((after, base), end.words, TEXT_MM),
        )

    def words(self, lines: Iterable[Line], x: float, y: float, anchor: str = "start") -> float:
        """Write lines with the first capital's top at ``y``; returns the y under the last."""
        for text in lines:
            self.marks.append(
                Text((x, y + TEXT_MM), text.text, TEXT_MM, "middle" if anchor == "middle" else "start",
                     text.weight, text.role)
            )  # fmt: skip
            y += LINE_MM
        return y

    def finish(self) -> Shape:
        return Shape(self.right + stub_mm(self.east), self.y, tuple(self.ports), tuple(self.marks), tuple(self.ends))


@dataclass(frozen=True, slots=True)
class Line:
    """One line of words in a box. It takes at least ``room_mm``, so that a box keeps its size as figures change."""

    text: str
    weight: Weight = "regular"
    role: Role = "ink"
    room_mm: float = 0.0

    @property
    def width_mm(self) -> float:
        return max(self.room_mm, fonts.width_mm(self.text, TEXT_MM, self.weight))


def stub_mm(ends: Sequence[End]) -> float:
    """Length of the wire stubs on one side: as long as the words on them."""
    if not ends:
        return 0.0
    return max(max(e.words_mm, stripes.LONG_MM if e.colour else 0.0) for e in ends) + 2.0 * _ASIDE_MM


def lines(name: str, title: str, facts: Iterable[str], limit_mm: float, title_lines: int = 3) -> tuple[Line, ...]:
    """The usual words of a box: its id, what it is, and its figures."""
    out = [Line(fonts.named(name, limit_mm, TEXT_MM, "semibold"), "semibold")]
    if title:
        out += [Line(t, role="pencil") for t in fonts.wrapped(title, limit_mm, TEXT_MM, title_lines)]
    out += [fact(f, limit_mm) for f in facts if f]
    return tuple(out)


def fact(text: str, limit_mm: float) -> Line:
    """A line of figures with room for other figures of its kind."""
    room_mm = min(limit_mm, fonts.width_mm(figures.roomy(text), TEXT_MM))
    return Line(fonts.shortened(text, limit_mm, TEXT_MM), room_mm=room_mm)


def widest(words: Iterable[Line]) -> float:
    """Width of the widest line [mm]."""
    return max((w.width_mm for w in words), default=0.0)


def at_terminal(ends: Iterable[End], *terminals: str) -> list[End]:
    """The ends at these terminals, in the order they came."""
    return [e for e in ends if e.terminal in terminals]
