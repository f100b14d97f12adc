"""The working sheet of a draft: what is added to the list, and why."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from loomwright.draft.equipment import EquipmentList
from loomwright.draft.results import Choice
from loomwright.rig.edit import Value
from loomwright.rig.model import Item, Kind, Part, Rig
from loomwright.rig.routes import Routes

OPEN = "auto"
"""The size of a wire that is still to be chosen."""


@dataclass(frozen=True, slots=True)
class NewItem:
    """A part that the draft places. ``why`` stands behind its heading in the file; ``chapter`` groups the file."""

    id: str
    part: str
    place: str
    chapter: str
    why: str = ""
    keys: tuple[tuple[str, Value], ...] = ()


@dataclass(frozen=True, slots=True)
class NewWire:
    """A wire that the draft runs. ``group`` names the wires that get one size together; empty: its size is fixed."""

    id: str
    start: str
    end: str
    size: str
    chapter: str
    why: str = ""
    group: str = ""
    keys: tuple[tuple[str, Value], ...] = ()


@dataclass(frozen=True, slots=True)
class Pull:
    """A conductor that is wanted from one terminal to another, before disconnects cut it into pieces.

    ``bundle`` names pulls that must go through one connector side by side, such as a feed and its return; ``letter``
    begins its number.
    """

    kind: Kind
    start: str
    end: str
    letter: str
    chapter: str
    bundle: str
    size: str = OPEN
    group: str = ""
    why: str = ""
    keys: tuple[tuple[str, Value], ...] = ()


@dataclass
class Sheet:
    """Collects what a draft adds. Names are given in order, so that the same list gives the same file."""

    given: EquipmentList
    items: dict[str, NewItem] = field(default_factory=dict)
    wires: list[NewWire] = field(default_factory=list)
    pulls: list[Pull] = field(default_factory=list)
    keys: dict[tuple[str, str], tuple[Value, str]] = field(default_factory=dict)
    covers: dict[int, tuple[tuple[str, ...], str]] = field(default_factory=dict)
    choices: list[Choice] = field(default_factory=list)
    ends: dict[str, int] = field(default_factory=dict)
    posts: dict[str, str] = field(default_factory=dict)     # battery -> terminal that the next device bolts to
    landings: dict[str, str] = field(default_factory=dict)  # battery -> ground bus bolted to its minus post
    ways: dict[str, dict[int, str]] = field(default_factory=dict)  # fused block -> way -> group that it feeds
    prices: dict[str, float] | None = None  # of a millimetre of wire, by size
    _taken: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self._taken = {*self.rig.items, *(w.id for w in self.rig.wires)}
        self.routes = Routes(self.rig.runs)
        for wire in self.rig.wires:
            for ref in (wire.start, wire.end):
                self.ends[ref] = self.ends.get(ref, 0) + 1

    @property
    def rig(self) -> Rig:
        """What the list holds already."""
        return self.given.rig

    def part(self, part_id: str) -> Part:
        return self.given.catalogue.part(part_id)

    def name(self, stem: str) -> str:
        """A free id: the stem, or the stem with a number."""
        found = stem if stem not in self._taken else next(
            f"{stem}{n}" for n in range(2, 1000) if f"{stem}{n}" not in self._taken
        )  # fmt: skip
        self._taken.add(found)
        return found

    def number(self, letter: str) -> str:
        """The next free number of a letter: ``P3``."""
        found = next(f"{letter}{n}" for n in range(1, 10_000) if f"{letter}{n}" not in self._taken)
        self._taken.add(found)
        return found

    def place(self, stem: str, part: str, place: str, chapter: str, why: str = "", **keys: Value) -> str:
        """Place a part and give its id."""
        made = self.name(stem)
        self.items[made] = NewItem(made, part, place, chapter, why, tuple(keys.items()))
        return made

    def put(self, item: str, why: str, **keys: Value) -> None:
        """Set keys of an item, new or of the list."""
        for key, value in keys.items():
            self.keys[item, key] = (value, why)

    def pull(
        self, kind: Kind, start: str, end: str, letter: str, chapter: str, bundle: str = "", *,
        size: str = OPEN, group: str = "", why: str = "", **keys: Value,
    ) -> None:  # fmt: skip
        """Ask for a conductor between two terminals."""
        self.pulls.append(
            Pull(kind, start, end, letter, chapter, bundle or start, size, group, why, tuple(keys.items()))
        )
        for ref in (start, end):
            self.ends[ref] = self.ends.get(ref, 0) + 1

    def bolt(self, start: str, end: str, letter: str, chapter: str, why: str) -> None:
        """Bolt two terminals together."""
        self.wires.append(NewWire(self.number(letter), start, end, "bolted", chapter, why))
        for ref in (start, end):
            self.ends[ref] = self.ends.get(ref, 0) + 1

    def choose(self, where: str, chosen: str, why: str, others: Iterable[str] = ()) -> None:
        self.choices.append(Choice(where, chosen, why, tuple(others)))

    def wired(self, ref: str) -> bool:
        """Whether a terminal has a wire, in the list or in the draft."""
        return self.ends.get(ref, 0) > 0

    def way(self, block: str, group: str) -> str:
        """The next free way of a block, taken for a group."""
        names = [t.name for t in self.part_of(block).terminals if t.name.startswith("out")]
        name = next(n for n in names if not self.wired(f"{block}.{n}"))
        number = int(name.removeprefix("out"))
        self.ways.setdefault(block, {})[number] = group
        held: list[Value] = list(self.rig.items[block].fuses_a) if block in self.rig.items else []
        held += [0] * (len(names) - len(held))
        for n in self.ways[block]:
            held[n - 1] = "auto"
        self.put(block, "a way for each circuit; 0 is empty", fuses_a=held)
        return f"{block}.{name}"

    def free(self, item: str) -> int:
        """Terminals of a new or listed item that have no wire yet."""
        return sum(not self.wired(f"{item}.{t.name}") for t in self.part_of(item).terminals)

    def room(self, ref: str) -> bool:
        """Whether a terminal takes one more wire."""
        item, _, name = ref.partition(".")
        return self.ends.get(ref, 0) < self.part_of(item).terminal(name).max_wires

    def part_of(self, item: str) -> Part:
        return self.part(self.items[item].part) if item in self.items else self.rig.items[item].part

    def place_of(self, item: str) -> str:
        return self.items[item].place if item in self.items else self.rig.items[item].place

    def next_stud(self, item: str, *, share: bool = True) -> str | None:
        """The first stud of a bar without a wire; else, where it may be shared, one that takes another."""
        names = [t.name for t in self.part_of(item).terminals]
        free = [n for n in names if not self.wired(f"{item}.{n}")]
        roomy = [n for n in names if self.room(f"{item}.{n}")] if share else []
        found = (free or roomy)[:1]
        return f"{item}.{found[0]}" if found else None

    def length_mm(self, a: str, b: str) -> float | None:
        """Way between two places along the runs [mm]; None where there is none."""
        way = self.routes.way(a, b)
        return None if way is None else way.length_mm

    def families(self, *families: str) -> tuple[Item, ...]:
        return tuple(i for i in self.rig.items.values() if i.part.family in families)


def keys_of(new: NewItem, sheet: Sheet) -> Mapping[str, Value]:
    """The keys of a new item with those that were set later."""
    later = {key: value for (item, key), (value, _) in sheet.keys.items() if item == new.id}
    return {**dict(new.keys), **later}
