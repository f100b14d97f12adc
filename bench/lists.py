"""A hundred equipment lists at random, each to its end: a rig that passes, or demands that cannot be met together."""

from __future__ import annotations

import time

from bench.rows import Row, at_least, at_most
from tests.draft.test_random_lists import test_a_rig_that_passes_or_a_minimal_set as ends_well

LISTS = 100


def rows() -> list[Row]:
    """How many of a hundred lists end as they should, and the slowest of them."""
    good, slowest_s = 0, 0.0
    for seed in range(LISTS):
        begun = time.perf_counter()
        try:
            ends_well(seed)
        except AssertionError as error:
            print(f"list {seed}: {error}")
        else:
            good += 1
        slowest_s = max(slowest_s, time.perf_counter() - begun)
    return [
        at_least("lists at random that end with a rig that passes or a minimal set", good, "lists", LISTS),
        at_most("the slowest of them", slowest_s, "s", 60.0),
    ]
