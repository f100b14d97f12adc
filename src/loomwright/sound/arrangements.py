"""Every way to join loudspeakers in series and parallel, each once.

What differs only by swapping like ones counts once. Drivers are counted by kind: ``(2, 1)`` is two of the first kind
and one of the second.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import product
from typing import Literal

Counts = tuple[int, ...]
Op = Literal["series", "parallel"]
OTHER: dict[Op, Op] = {"series": "parallel", "parallel": "series"}


@dataclass(frozen=True, slots=True)
class Net:
    """A series-parallel network: one driver of a ``kind``, or ``branches`` joined by ``op``."""

    op: Op | None
    branches: tuple[Net, ...] = ()
    kind: int = -1

    @property
    def counts(self) -> tuple[int, ...]:
        """Kinds of its drivers, from left to right."""
        return (self.kind,) if self.op is None else tuple(k for b in self.branches for k in b.counts)


def networks(counts: Counts) -> tuple[Net, ...]:
    """Every network of exactly these drivers."""
    if sum(counts) == 1:
        return (Net(None, (), counts.index(1)),)
    return (*_rooted(counts, "series"), *_rooted(counts, "parallel"))


@cache
def _rooted(counts: Counts, op: Op) -> tuple[Net, ...]:
    """Networks whose outermost join is ``op``: bags of two or more pieces that are not joined so themselves."""
    return tuple(Net(op, pieces) for pieces in _bags(counts, op, None) if len(pieces) > 1)


def _pieces(counts: Counts, op: Op) -> tuple[Net, ...]:
    """What may be a branch of a join: one driver, or a network joined the other way."""
    return networks(counts) if sum(counts) == 1 else _rooted(counts, OTHER[op])


def _bags(counts: Counts, op: Op, last: tuple[Counts, int] | None) -> Iterator[tuple[Net, ...]]:
    """Bags of pieces that use up the drivers, in an order that lets each come once."""
    if not any(counts):
        yield ()
        return
    for part in product(*(range(c, -1, -1) for c in counts)):
        if not any(part) or (last is None and part == counts and sum(counts) > 1):
            continue
        rest = tuple(c - p for c, p in zip(counts, part, strict=True))
        for n, piece in enumerate(_pieces(part, op)):
            if _follows(part, n, last):
                for more in _bags(rest, op, (part, n)):
                    yield (piece, *more)


def _follows(part: Counts, number: int, last: tuple[Counts, int] | None) -> bool:
    """Whether a piece may come after the last one: those with more drivers first, then by number."""
    return last is None or part < last[0] or (part == last[0] and number >= last[1])


def shares(counts: Counts, channels: tuple[int, ...]) -> Iterator[tuple[tuple[Counts, int], ...]]:
    """Every way to spread drivers over channels: for each channel the drivers it gets and the number of their network.

    ``channels`` gives each channel's kind; channels of one kind are alike, so that swapping them gives nothing new. An
    empty channel has the number 0. Channels of one kind stand together.
    """
    yield from _spread(counts, channels, None)


def _spread(
    counts: Counts, channels: tuple[int, ...], last: tuple[Counts, int] | None
) -> Iterator[tuple[tuple[Counts, int], ...]]:
    if not channels:
        if not any(counts):
            yield ()
        return
    for part in product(*(range(c, -1, -1) for c in counts)):
        rest = tuple(c - p for c, p in zip(counts, part, strict=True))
        for n in range(len(networks(part)) if any(part) else 1):
            if _follows(part, n, last):
                alike = len(channels) > 1 and channels[1] == channels[0]
                for more in _spread(rest, channels[1:], (part, n) if alike else None):
                    yield ((part, n), *more)
