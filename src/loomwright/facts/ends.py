"""Ends of wires: what goes on which wire at which terminal, how far to strip, what pull it must stand."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from loomwright.facts import tables, workmanship
from loomwright.facts.conductors import SAME_SIZE, sizes
from loomwright.facts.tables import Mark

_THINNER = {"AWG": SAME_SIZE, "SAE": 1.12, "mm2": 1.06}
"""How much less metal a size may hold than the AWG size whose row it is held to."""


@dataclass(frozen=True, slots=True)
class End:
    """One kind of end in one size.

    ``stud_mm`` are the threads a ring lug is sold for; ``colour`` the collar's, in letters of IEC 60757.
    """

    name: str
    from_mm2: float
    to_mm2: float
    strip_mm: float
    outside_mm: float
    colour: str = ""
    stud_mm: tuple[float, ...] = ()
    mark: Mark = "from memory"
    source: str = ""

    def takes(self, area_mm2: float) -> bool:
        """Whether a conductor goes in and is gripped."""
        return self.from_mm2 / SAME_SIZE <= area_mm2 <= self.to_mm2 * SAME_SIZE


@dataclass(frozen=True, slots=True)
class Shrink:
    """A heat-shrink sleeve: ratio, inside as delivered and after shrinking freely [mm]."""

    ratio: str
    expanded_mm: float
    recovered_mm: float


@dataclass(frozen=True, slots=True)
class Pull:
    """Force that a crimp must stand [N], with the standard it comes from."""

    force_n: float
    source: str
    mark: Mark


@cache
def rings() -> tuple[End, ...]:
    """Ring lugs, by rising barrel."""
    return tuple(
        End(
            r.name, r.number("from_mm2"), r.number("to_mm2"), r.number("strip_mm"), r.number("outside_mm"),
            stud_mm=r.numbers("stud_mm"), mark=r.mark, source=r.source,
        )
        for r in tables.rows("ends", "end.ring").values()
    )  # fmt: skip


@cache
def ferrules() -> tuple[End, ...]:
    """Ferrules of DIN 46228-4, by rising size. One takes conductors from the size below it to its own."""
    colours = tables.rows("ends", "end.ferrule_colour")
    found: list[End] = []
    below = 0.3
    for r in tables.rows("ends", "end.ferrule").values():
        size = float(r.name)
        # A conductor that is a little over the named size still goes in: 6 AWG (13.3) in 16, 10 AWG (5.26) in 6.
        to = size * 1.03
        found.append(
            End(r.name, below, to, r.number("strip_mm"), 0.0, colours[r.name].text(), mark=r.mark, source=r.source)
        )
        below = to
    return tuple(found)


@cache
def collars() -> tuple[End, ...]:
    """Insulated crimp terminals, by rising size: blades and butt splices."""
    more = tables.rows("ends", "end.collar_strip")
    return tuple(
        End(
            r.name, r.number("from_mm2"), r.number("to_mm2"), more[r.name].number("strip_mm"),
            more[r.name].number("outside_mm"), r.text("colour"), mark=r.mark, source=r.source,
        )
        for r in tables.rows("ends", "end.collar").values()
    )  # fmt: skip


@cache
def sleeves() -> tuple[End, ...]:
    """Crimp sleeves for thick splices, by rising size."""
    return tuple(
        End(
            r.name, r.number("from_mm2"), r.number("to_mm2"), r.number("strip_mm"), r.number("outside_mm"),
            mark=r.mark, source=r.source,
        )
        for r in tables.rows("ends", "end.sleeve").values()
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Contact:
    """A contact of a connector by its trade size."""

    name: str
    rating_a: float
    from_mm2: float
    to_mm2: float
    strip_mm: float


@cache
def contacts() -> tuple[Contact, ...]:
    """Contacts of sealed connectors, by rising rating."""
    return tuple(
        Contact(r.name, r.number("rating_a"), r.number("from_mm2"), r.number("to_mm2"), r.number("strip_mm"))
        for r in tables.rows("ends", "end.contact").values()
    )


def contact_for(rating_a: float) -> Contact:
    """The contact that a connector of this rating is built with: the smallest that carries it, else the largest."""
    return next((c for c in contacts() if c.rating_a >= rating_a), contacts()[-1])


def other(name: str) -> End:
    """Ends with one row each: ``line`` for the plug of a screened lead, ``solder`` for a soldered joint."""
    r = tables.row("ends", f"end.other.{name}")
    return End(
        name, r.number("from_mm2"), r.number("to_mm2"), r.number("strip_mm"), r.number("outside_mm"),
        mark=r.mark, source=r.source,
    )  # fmt: skip


def squaring_mm() -> float:
    """What is cut off both ends of a wire together to square them [mm]."""
    return tables.row("ends", "end.other.square").number("length_mm")


def pull(area_mm2: float, system: str) -> Pull | None:
    """Pull that a crimp on this conductor must stand; None beyond both tables.

    AWG and SAE sizes by the UL 486A values, mm2 sizes by IEC 60352-2 up to 10 mm2 and by the AWG size below them
    beyond. The row is the largest whose conductor is not above this one.
    """
    if system == "mm2":
        found = tables.rows("ends", "end.pull_mm2")
        fits = [r for r in found.values() if float(r.name) <= area_mm2 * SAME_SIZE]
        if fits and area_mm2 <= float(list(found)[-1]) * SAME_SIZE:
            last = fits[-1]
            return Pull(last.number(), last.source, last.mark)
    awg = tables.rows("workmanship", "workmanship.crimp_pull")
    named = [
        name for s in sizes("AWG")
        if s.area_mm2 <= area_mm2 * _THINNER[system] and (name := s.label.partition(" ")[0]) in awg
    ]  # fmt: skip
    if not named:
        return None
    row = awg[named[-1]]
    return Pull(workmanship.crimp_pull_n(named[-1]), row.source, row.mark)


@cache
def shrinks() -> tuple[Shrink, ...]:
    """Heat-shrink sleeves, 2:1 first, then 3:1 with adhesive."""
    found = tables.rows("ends", "end.shrink").values()
    return tuple(Shrink(r.text("ratio"), r.number("expanded_mm"), r.number("recovered_mm")) for r in found)


def shrink_for(thin_mm: float, thick_mm: float, *, sealed: bool = False) -> Shrink | None:
    """The smallest sleeve that goes over the thick part and grips the thin one; None where no sleeve does both.

    ``sealed`` asks for adhesive (3:1). Rules: expanded at least 1.2 x the thick part, recovered at most 0.9 x the thin.
    """
    over = tables.row("ends", "end.shrink_rule.over").number("factor")
    under = tables.row("ends", "end.shrink_rule.under").number("factor")
    fits = [
        s for s in shrinks()
        if s.expanded_mm >= over * thick_mm and s.recovered_mm <= under * thin_mm and (s.ratio == "3:1" or not sealed)
    ]  # fmt: skip
    return min(fits, key=lambda s: (s.ratio != "2:1" and not sealed, s.expanded_mm), default=None)


def shrink_length_mm(strip_mm: float) -> float:
    """Length to cut of a sleeve over an end [mm]: from the barrel onto the insulation, and what it loses by heat."""
    times = tables.row("ends", "end.shrink_rule.length").number("multiple")
    lost = tables.row("ends", "end.shrink_rule.shorter").number("share")
    return strip_mm * times / (1.0 - lost)
