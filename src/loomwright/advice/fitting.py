"""An amplifier put in the place of another one: which wires go to which of its terminals, as edits of the rig file."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from loomwright.advice.equipment import Fit, Position
from loomwright.errors import InputError, Problem
from loomwright.rig.changes import Change, ItemKey, WireKey
from loomwright.rig.model import Item, Part, Rig

_OF_CHANNEL = re.compile(r"(ch|in)(\d+)([+-]?)\Z")


def fitting(rig: Rig, position: Position, fit: Fit, part: Part) -> tuple[Change, ...]:
    """The edits that put ``part`` in the place of an amplifier, each load on a channel or pair as the fit has it.

    Raises
    ------
    InputError
        Where a wire, or a filter of the old amplifier, has no place on the new one.
    """
    item = rig.items[position.amplifier]
    pairs = _channels([_number(w.load) for w in position.loads], fit.bridged, dict(item.bridged))
    moves = dict(zip(*pairs, strict=True))
    problems = list(_refused(item, moves))
    changes: list[Change] = [ItemKey(item.id, "part", part.id)]
    bridged = [[a, b] for a, b in pairs[1] if a != b]
    if bridged != [list(p) for p in item.bridged]:
        changes.append(ItemKey(item.id, "bridged", bridged or None))
    if item.gains_v:
        changes.append(ItemKey(item.id, "gains_v", None))
    known = {t.name for t in part.terminals}
    for wire in rig.wires:
        for key, ref in (("from", wire.start), ("to", wire.end)):
            owner, _, terminal = ref.partition(".")
            if owner != item.id:
                continue
            there = _moved(terminal, moves)
            if there not in known:
                problems.append(Problem(
                    "rig", wire.id, f"a terminal {there} on {part.id}", "none",
                    f"Lead {wire.id} elsewhere first, or change the part by hand.",
                ))  # fmt: skip
            elif there != terminal:
                changes.append(WireKey(wire.id, key, f"{item.id}.{there}"))
    if problems:
        raise InputError(problems)
    return tuple(changes)


Pair = tuple[int, int]


def _channels(loads: Sequence[int], bridged: Sequence[bool], was: Mapping[int, int]) -> tuple[list[Pair], list[Pair]]:
    """For each load the channels that feed it now and then: one twice, or the two of a bridged pair.

    Pairs are an odd channel and the next. What needs no pair stays on its own channel where that is free.
    """
    old = [(n, was.get(n, n)) for n in loads]
    new: dict[int, Pair] = {}
    taken: set[int] = set()
    for k, n in enumerate(loads):
        if bridged[k]:
            starts = (n if n % 2 else n - 1, *range(1, 100, 2))
            first = next(a for a in starts if not {a, a + 1} & taken)
            new[k] = (first, first + 1)
            taken |= {first, first + 1}
    for k, n in enumerate(loads):
        if not bridged[k]:
            free = next(a for a in (n, *range(1, 100)) if a not in taken)
            new[k] = (free, free)
            taken.add(free)
    return old, [new[k] for k in range(len(loads))]


def _number(load: str) -> int:
    return int(load.rpartition(".ch")[2])


def _moved(terminal: str, moves: Mapping[Pair, Pair]) -> str:
    """The terminal of the new amplifier for one of the old: channels and inputs go with their loads."""
    found = _OF_CHANNEL.match(terminal)
    if found is None:
        return terminal
    kind, number, sign = found[1], int(found[2]), found[3]
    for (first, second), (a, b) in moves.items():
        if number in (first, second):
            return f"{kind}{b if sign == '-' else a}{sign}"
    return terminal


def _refused(item: Item, moves: Mapping[Pair, Pair]) -> Iterator[Problem]:
    """Filters set in the amplifier that would be on another channel, or on none."""
    if item.bands and any(old != new for old, new in moves.items()):
        yield Problem(
            "rig", item.id, "no filters set in the amplifier where its channels change", f"{len(item.bands)} of them",
            "Take its filters out first; set them anew in the new one.",
        )  # fmt: skip
