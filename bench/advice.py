"""The advice: slopes, the moves of a rig, and a hundred thousand draws."""

from __future__ import annotations

import time

from bench.rows import Row, at_most


def rows() -> list[Row]:
    """Seconds on the planned trike: all slopes of four cases, everything that would help, and the chances."""
    from loomwright import demo
    from loomwright.advice.chances import DRAWS, chances
    from loomwright.advice.helping import what_would_help
    from loomwright.advice.slopes import slopes
    from loomwright.findings.run import check
    from loomwright.rig.catalogue import builtin
    from loomwright.rig.file import load
    from loomwright.study import Study

    name = "carnival_trike_planned"
    study = Study(load(demo.path(name)))
    found = check(study)
    rig = study.rig
    chances(rig, 1000)
    drawn = []
    for _ in range(3):
        begun = time.perf_counter()
        result = chances(rig, DRAWS)
        drawn.append(time.perf_counter() - begun)
    begun = time.perf_counter()
    slopes(rig, [("off", "loud"), ("idle", "loud"), ("idle", "music"), ("cruise", "loud")])
    sloped = time.perf_counter() - begun
    begun = time.perf_counter()
    what_would_help(study, demo.text(name), builtin(), found)
    helped = time.perf_counter() - begun
    return [
        at_most("100,000 draws of the planned trike, loud and session", min(drawn), "s", 2.0),
        at_most("largest difference of the draws from the full solver", 1000.0 * result.error_v, "mV", 1.0),
        at_most("every slope of the planned trike, four cases", sloped, "s", 3.0),
        at_most("everything that would help the planned trike", helped, "s", 20.0),
    ]
