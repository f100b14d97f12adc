"""What rigs have in common. A rig that was edited is mostly the rig that it was before.

A result that follows from a part of a rig is a function of that part alone, so it cannot look at the rest. Parts that
are equal are one and the same object, and :func:`loomwright.rig.once.once` keeps with that object what was worked out
of it: an edit that leaves a part as it was finds it done.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from functools import wraps
from threading import Lock
from typing import TypeVar

from loomwright.rig.once import once

Whole = TypeVar("Whole")
Part = TypeVar("Part")

MOST = 32
"""So many different parts of a sort are remembered, those that were asked for last."""


def alike(most: int = MOST) -> Callable[[Callable[[Whole], Part]], Callable[[Whole], Part]]:
    """Makes a function that takes a part out of a rig. Of parts that are equal, the one that came first stands for all.

    The function is called once for each rig. What it gives is frozen, and hashed by names rather than by all that it
    holds: it is asked for its hash at every rig, and compared in full where that agrees. ``most`` different parts are
    remembered; fewer, where much is kept with each.
    """

    def of(take: Callable[[Whole], Part]) -> Callable[[Whole], Part]:
        known: OrderedDict[Part, Part] = OrderedDict()
        one_at_a_time = Lock()

        @once
        @wraps(take)
        def part(whole: Whole) -> Part:
            made = take(whole)
            with one_at_a_time:
                same = known.setdefault(made, made)
                known.move_to_end(same)
                if len(known) > most:
                    known.popitem(last=False)
            return same

        return part

    return of
