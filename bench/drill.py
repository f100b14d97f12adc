"""How long the fault drill of the planned trike takes, and how many faults it tries."""

from __future__ import annotations

import statistics
import time

from bench.rows import Row, at_least, at_most

RUNS = 7


def rows() -> list[Row]:
    """The whole drill, warm, median of several runs in one process."""
    from loomwright import demo
    from loomwright.protection.devices import devices
    from loomwright.protection.drill import run_drill
    from loomwright.protection.guards import guards
    from loomwright.rig.file import load
    from loomwright.study import Study

    study = Study(load(demo.path("carnival_trike_planned")))
    rig, power = study.rig, study.power
    times, count = [], 0
    for _ in range(RUNS):
        begun = time.perf_counter()
        found = devices(rig)
        count = len(run_drill(rig, power, found, guards(rig, power, found)))
        times.append(time.perf_counter() - begun)
    return [
        at_least("faults in the drill of the planned trike", count, "faults", 200),
        at_most("whole drill of the planned trike", statistics.median(times), "s", 0.5),
    ]
