"""From an equipment list to a proven rig."""

from __future__ import annotations

import time

from bench.rows import Row, at_most

RUNS = 3


def rows() -> list[Row]:
    """The demo lists, each drafted to a proven optimum and checked, quickest of several."""
    from loomwright.demo import list_names, list_path
    from loomwright.draft import engine, equipment

    made = []
    for name in list_names():
        times = []
        for _ in range(RUNS):
            given = equipment.load(list_path(name))
            start = time.perf_counter()
            result = engine.draft(given, 1)
            times.append(time.perf_counter() - start)
            if result.proof is None or not result.proof.proven:
                raise RuntimeError(f"{name}: no proven rig")
        limit = 3.0 if name == "carnival_trike" else 6.0
        made.append(at_most(f"draft {name.replace('_', ' ')}, proven and checked", min(times), "s", limit))
    return made
