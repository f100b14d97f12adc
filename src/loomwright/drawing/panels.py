"""Boxes of a signal diagram: the item, and beside each wire end the name of its terminal."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from loomwright.drawing import fonts, symbols
from loomwright.drawing.boxes import LINE_MM, TEXT_MM, Build, End, Shape, lines, widest
from loomwright.drawing.marks import Stroke, Text, rectangle
from loomwright.rig.model import Item

_CASE = Stroke(0.35)
_WORDS_MM = 31.0
_NUMBER = re.compile(r"\d+")
_SYMBOL_MM = 11.0


def panel(
    item: Item, west: Sequence[End], east: Sequence[End], facts: Sequence[str] = (),
    more: Mapping[str, str] = {},
) -> Shape:
    """One item with its wires: its name on top, what else is said of it, then a row for each pair of ends.

    ``more`` says by terminal what follows its name.
    """
    west, east = _in_order(item, west), _in_order(item, east)
    words = lines(item.id, item.part.title, facts, _WORDS_MM, 3)
    inner = _names_mm(west, more) + _names_mm(east, more) + 6.0
    build = Build(list(west), list(east), max(widest(words) + 3.0, inner, 16.0))
    build.y = 1.4
    symbol = {
        "driver": symbols.loudspeaker, "amplifier": symbols.amplifier,
        "processor": symbols.processor, "source": symbols.source,
    }.get(item.part.family)  # fmt: skip
    if symbol is not None:
        build.marks += symbols.at(symbol(), build.middle, build.y + _SYMBOL_MM / 2)
        build.y += _SYMBOL_MM + 0.8
    build.y = build.words(words, build.middle, build.y, "middle") - LINE_MM + TEXT_MM
    for y, w, e in build.rows(west, east, 0):
        if w is not None:
            build.marks.append(Text((build.left + 1.4, y + TEXT_MM / 2), _named(w, more), TEXT_MM, role="pencil"))
        if e is not None:
            at = (build.right - 1.4, y + TEXT_MM / 2)
            build.marks.append(Text(at, _named(e, more), TEXT_MM, "end", role="pencil"))
    build.y += 0.8
    build.marks.insert(0, rectangle(build.left, 0, build.core_mm, build.y, _CASE))
    return build.finish()


def _named(end: End, more: Mapping[str, str]) -> str:
    said = more.get(end.terminal, "")
    return f"{end.terminal}: {said}" if said else end.terminal


def _names_mm(ends: Sequence[End], more: Mapping[str, str]) -> float:
    return max((fonts.width_mm(_named(e, more), TEXT_MM) for e in ends), default=0.0)


def _in_order(item: Item, ends: Sequence[End]) -> list[End]:
    """By the order of terminals; contacts of a connector by their number, so that both sides of one lie abreast."""
    order = {t.name: k for k, t in enumerate(item.part.terminals)}

    def key(end: End) -> tuple[int, int]:
        number = _NUMBER.search(end.terminal) if item.part.family == "connector" else None
        return (int(number[0]) if number else 0, order.get(end.terminal, 999))

    return sorted(ends, key=key)
