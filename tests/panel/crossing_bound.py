"""The least number of crossings that leads need, from outside the router: by counting faces, with no geometry at all.

Items are islands, and leads end on their rims in a known order. That order round every island says all there is to
know: the leads can be drawn without a crossing exactly where corners less edges plus faces comes to two for each part
that hangs together (Euler). A crossing that is allowed is one more corner, on two leads, in one of two senses. So the
least number is found by trying every set of allowed crossings, fewest first. Leads that leave the board end in one
spot, in any order: for them it is asked that their ends border on one face.

It knows neither widths nor bends nor the rim of the board, so it is a bound below what any router can do.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

Rotation = tuple[tuple[int, ...], ...]
"""For each corner the darts that leave it, clockwise. Dart ``2 k`` runs along piece ``k``, ``2 k + 1`` back."""


@dataclass(frozen=True)
class Drawing:
    """Leads between islands with some crossings allowed. ``lead_of`` names the lead of each piece of lead."""

    rotation: Rotation
    lead_of: tuple[int, ...]
    loose: tuple[int, ...]  # corners at which a lead leaves the board


def drawing(islands: Sequence[Sequence[int]], leads: int) -> Drawing:
    """``islands`` lists the leads that end on each rim, clockwise. A lead that ends only once leaves the board."""
    seen: set[int] = set()
    rotation: list[tuple[int, ...]] = []
    for rim in islands:
        darts = []
        for lead in rim:
            darts.append(2 * lead + (lead in seen))
            seen.add(lead)
        rotation.append(tuple(darts))
    ends = [lead for rim in islands for lead in rim]
    leaving = [k for k in range(leads) if ends.count(k) == 1]
    first = len(rotation)
    rotation += [(2 * k + 1,) for k in leaving]
    return Drawing(tuple(rotation), tuple(range(leads)), tuple(range(first, len(rotation))))


def crossed(was: Drawing, one: int, two: int, mirrored: bool) -> Drawing:
    """With one more corner, in which two pieces of lead cross."""
    a, b = len(was.lead_of), len(was.lead_of) + 1
    new = {2 * one + 1: 2 * a + 1, 2 * two + 1: 2 * b + 1}
    rotation = [tuple(new.get(d, d) for d in darts) for darts in was.rotation]
    here = (2 * one + 1, 2 * two + 1, 2 * a, 2 * b)
    rotation.append((here[0], here[3], here[2], here[1]) if mirrored else here)
    return Drawing(tuple(rotation), (*was.lead_of, was.lead_of[one], was.lead_of[two]), was.loose)


def short_of_plane(d: Drawing) -> int:
    """How many handles the plane would need: 0 where it can be drawn as it is."""
    corner = {dart: v for v, darts in enumerate(d.rotation) for dart in darts}
    after = {dart: darts[(k + 1) % len(darts)] for darts in d.rotation for k, dart in enumerate(darts)}
    part = list(range(len(d.rotation)))

    def root(v: int) -> int:
        while part[v] != v:
            v = part[v]
        return v

    for k in range(len(d.lead_of)):
        part[root(corner[2 * k])] = root(corner[2 * k + 1])
    euler: dict[int, int] = {}
    borders: dict[int, set[int]] = {}
    for v, darts in enumerate(d.rotation):
        if darts:
            euler[root(v)] = euler.get(root(v), 0) + 1
    for k in range(len(d.lead_of)):
        euler[root(corner[2 * k])] -= 1
    face: dict[int, int] = {}
    for begin in corner:
        if begin in face:
            continue
        dart = begin
        while dart not in face:
            face[dart] = begin
            dart = after[dart ^ 1]
        euler[root(corner[begin])] += 1
    for v in d.loose:
        borders.setdefault(root(v), set()).add(face[d.rotation[v][0]])
    handles = sum((2 - chi) // 2 for chi in euler.values())
    return handles or int(any(len(faces) > 1 for faces in borders.values()))


def drawable(d: Drawing, free: frozenset[frozenset[int]], counted: int, tied: int, seen: set[object]) -> bool:
    """Whether so many crossings, and so many between leads that may be tied together, are enough."""
    short = short_of_plane(d)
    if short == 0:
        return True
    if short > counted + tied or (d, counted, tied) in seen:
        return False
    seen.add((d, counted, tied))
    for one, two in pieces(d):
        free_here = frozenset((d.lead_of[one], d.lead_of[two])) in free
        if (tied if free_here else counted) == 0:
            continue
        for mirrored in (False, True):
            more = crossed(d, one, two, mirrored)
            if drawable(more, free, counted - (not free_here), tied - free_here, seen):
                return True
    return False


def pieces(d: Drawing) -> Iterator[tuple[int, int]]:
    """Pieces of two different leads."""
    for one, two in combinations(range(len(d.lead_of)), 2):
        if d.lead_of[one] != d.lead_of[two]:
            yield one, two


def least_crossings(
    islands: Sequence[Sequence[int]], leads: int, free: frozenset[frozenset[int]] = frozenset(), tied: int = 0,
    most: int = 3,
) -> int | None:  # fmt: skip
    """The least number of crossings; None where more than ``most`` are needed.

    Leads in ``free`` may be tied together: theirs are not counted, and up to ``tied`` of them are tried.
    """
    start = drawing(islands, leads)
    for counted in range(most + 1):
        if drawable(start, free, counted, tied, set()):
            return counted
    return None
