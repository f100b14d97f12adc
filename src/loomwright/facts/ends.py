"""Ends of wires: what goes on which wire at which terminal, how far to strip, what pull it must stand."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from loomwright.facts import tables, workmanship
from loomwright.facts.conductors import SAME_SIZE, sizes
from loomwright.facts.tables import Mark

_SAE_LESS = 1.12
"""How much more metal the AWG size of an SAE size's number holds, at most."""


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
    inside = tables.row("ends", "end.ferrule_strip.inside").number("share")
    found: list[End] = []
    below = 0.3
    for r in tables.rows("ends", "end.ferrule").values():
        size = float(r.name)
        # A conductor that is a little over the named size still goes in: 6 AWG (13.3) in 16, 10 AWG (5.26) in 6.
        to = size * 1.03
        strip_mm = round(r.number("length_mm") + inside * r.number("collar_mm"))
        found.append(End(r.name, below, to, strip_mm, 0.0, colours[r.name].text(), mark=r.mark, source=r.source))
        below = to
    return tuple(found)


@cache
def collars() -> tuple[End, ...]:
    """Insulated crimp terminals, by rising size: blades and butt splices."""
    strip, outside = tables.rows("ends", "end.collar_strip"), tables.rows("ends", "end.collar_outside")
    return tuple(
        End(
            r.name, r.number("from_mm2"), r.number("to_mm2"), strip[r.name].number("strip_mm"),
            outside[r.name].number("outside_mm"), r.text("colour"), mark=r.mark, source=r.source,
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
    """Pull that a crimp on this conductor must stand, by the UL 486A values; None where they do not reach.

    AWG and SAE sizes have their rows. A mm2 size stands between two of them, and so does its pull, by metal area.
    IEC 60352-2, which is for mm2 sizes, was not at hand; from memory it asks 60, 85 and 108 N at 0.5, 0.75 and 1 mm2
    (4 N more than this at most) and less than this from 1.5 mm2 up.
    """
    known = _pulls()
    above = [p for p in known if p.area_mm2 * SAME_SIZE >= area_mm2]
    below = [p for p in known if p.area_mm2 <= area_mm2 * (_SAE_LESS if system == "SAE" else SAME_SIZE)]
    if not below:
        return None
    here = below[-1]
    if system != "mm2" or not above or here.area_mm2 * SAME_SIZE >= area_mm2:
        return here.pull
    more = above[0]
    share = (area_mm2 - here.area_mm2) / (more.area_mm2 - here.area_mm2)
    force = here.pull.force_n + (more.pull.force_n - here.pull.force_n) * share
    return Pull(force, f"{here.pull.source}, between {here.name} and {more.name} AWG by metal", "calculated")


@dataclass(frozen=True, slots=True)
class _SizePull:
    """The pull of one AWG size."""

    name: str
    area_mm2: float
    pull: Pull


@cache
def _pulls() -> tuple[_SizePull, ...]:
    """The AWG sizes that have a pull, by rising metal area."""
    rows = tables.rows("workmanship", "workmanship.crimp_pull")
    return tuple(
        _SizePull(name, s.area_mm2, Pull(workmanship.crimp_pull_n(name), rows[name].source, rows[name].mark))
        for s in sizes("AWG") if (name := s.label.partition(" ")[0]) in rows
    )  # fmt: skip


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
