"""Lists of the loom page: wires in the order and by the words that a reader asks for, findings at their places."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from loomwright.facts import colours, conductors
from loomwright.findings.model import Finding
from loomwright.loom.results import LoomWire

Sort = Literal["", "wire", "size", "colour", "cut", "from", "to", "-wire", "-size", "-colour", "-cut", "-from", "-to"]
OF_THE_LOOM = ("E5", "E6")
"""Codes that begin like this are about wires, routes, ends and connectors."""


def filtered(wires: Sequence[LoomWire], find: str) -> tuple[LoomWire, ...]:
    """The wires that hold every word: number, ends, kind, size, colour in letters or words, what its ends are."""
    wanted = find.casefold().split()
    return tuple(w for w in wires if all(word in _text(w) for word in wanted)) if wanted else tuple(wires)


def _text(w: LoomWire) -> str:
    ends = " ".join(e.end for e in w.ends)
    what = (w.id, w.start, w.end, w.kind, w.size, w.metal, w.colour, colours.words(w.colour), ends)
    return " ".join(what).casefold()


def in_order(wires: Sequence[LoomWire], sort: str) -> tuple[LoomWire, ...]:
    """The wires in an order: by a column, ``-`` before it turns it round; empty for that of the rig file."""
    if not sort:
        return tuple(wires)
    column = sort.removeprefix("-")

    def key(w: LoomWire) -> tuple[object, ...]:
        match column:
            case "size":
                return (conductors.parse_size(w.size).area_mm2, w.size)
            case "cut":
                return (w.cut_mm,)
            case "colour":
                return (w.colour,)
            case "from":
                return (w.start,)
            case "to":
                return (w.end,)
            case _:
                return natural(w.id)

    return tuple(sorted(wires, key=key, reverse=sort.startswith("-")))


def natural(name: str) -> tuple[object, ...]:
    """A name as a person sorts it: P2 before P10."""
    parts: list[object] = []
    digits = ""
    for c in f"{name}\0":
        if c.isdecimal():
            digits += c
            continue
        parts += [(1, int(digits), "")] if digits else []
        digits = ""
        parts.append((0, 0, c))
    return tuple(parts)


def of_the_loom(found: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings on wires, routes, ends and connectors, most urgent first."""
    return tuple(f for f in found if f.code.startswith(OF_THE_LOOM))


def at_their_places(found: Iterable[Finding]) -> Mapping[str, tuple[Finding, ...]]:
    """The findings at each place that they name."""
    out: dict[str, list[Finding]] = {}
    for f in found:
        for ref in dict.fromkeys(f.where):
            out.setdefault(ref, []).append(f)
    return {ref: tuple(fs) for ref, fs in out.items()}
