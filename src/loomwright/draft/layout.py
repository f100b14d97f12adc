"""Layouts: which amplifiers hang on which fused block, where the blocks sit, who comes straight from the battery."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Literal

from loomwright.rig.model import Item, Rig

BlockType = Literal["C", "SF30"]
MOST_BLOCKS = 2
BLOCK_WAYS = (4, 6, 8)
"""Ways of the fused blocks that there are. What the electronics and a remote relay take is kept free."""
HOT_C = 60.0
"""Hotter places are no places for fuses, where there is another."""


@dataclass(frozen=True, slots=True)
class Block:
    """A fused block to be placed, or one that the list has (``item``), and the amplifiers on it."""

    place: str
    type: BlockType
    amplifiers: tuple[str, ...]
    item: str | None = None


@dataclass(frozen=True, slots=True)
class Layout:
    """Blocks, and amplifiers with a device of their own on the battery post."""

    blocks: tuple[Block, ...]
    alone: tuple[str, ...] = ()

    def words(self) -> str:
        parts = [
            f"{b.item or f'block of type {b.type}'} at {b.place} for {', '.join(b.amplifiers) or 'the electronics'}"
            for b in self.blocks
        ]
        parts += [f"{a} straight from the battery" for a in self.alone]
        return "; ".join(parts) or "no new block: everything has its feed"


def places(rig: Rig, wanted: Sequence[str]) -> tuple[str, ...]:
    """Places where a block may sit, in the order of the list."""
    if wanted:
        return tuple(wanted)
    firm = [p for p in rig.places.values() if not p.comes_off and not p.engine_space]
    cool = [p for p in firm if p.temperature_c <= HOT_C]
    dry = [p for p in cool if not p.wet] or cool or firm
    return tuple(p.id for p in dry) or tuple(rig.places)


def partitions(groups: Sequence[str], most: int) -> Iterator[tuple[tuple[str, ...], ...]]:
    """Every way to put places into at most ``most`` heaps; each once."""
    if not groups:
        yield ()
        return
    for labels in product(range(min(most, len(groups))), repeat=len(groups) - 1):
        marks = (0, *labels)
        if any(m > 0 and m - 1 not in marks[:k] for k, m in enumerate(marks)):
            continue
        yield tuple(
            tuple(g for g, m in zip(groups, marks, strict=True) if m == n) for n in range(max(marks) + 1)
        )


def layouts(
    rig: Rig, amplifiers: Sequence[Item], where: Sequence[str], types: Sequence[BlockType], alone: Sequence[str]
) -> Iterator[Layout]:
    """Every layout: amplifiers of one place share a block; one or two blocks; every place and type for each.

    ``alone`` are amplifiers too strong for a way of any block.
    """
    shared = [a for a in amplifiers if a.id not in alone]
    spots = list(dict.fromkeys(a.place for a in shared))
    if not shared:
        for place, kind in product(where, types):
            yield Layout((Block(place, kind, ()),), tuple(alone))
        return
    for heaps in partitions(spots, MOST_BLOCKS):
        for spread in product(where, repeat=len(heaps)):
            if len(heaps) > 1 and len(set(spread)) < len(heaps):
                continue
            for kinds in product(types, repeat=len(heaps)):
                yield Layout(
                    tuple(
                        Block(place, kind, tuple(a.id for a in shared if a.place in heap))
                        for heap, place, kind in zip(heaps, spread, kinds, strict=True)
                    ),
                    tuple(alone),
                )
