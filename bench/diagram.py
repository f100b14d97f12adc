"""How long the diagram takes to follow an edit that moves nothing, and one that draws a wire."""

from __future__ import annotations

import time

from bench.rows import Row, at_most

RUNS = 15


def rows() -> list[Row]:
    """Both views of the planned trike once the layout is known, and what fits a terminal; the quickest run counts."""
    from loomwright import demo
    from loomwright.drawing.hookup import VIEWS
    from loomwright.rig import edit
    from loomwright.rig.file import parse
    from loomwright.study import Study
    from loomwright.web import draft, picture

    text = demo.text("carnival_trike_planned")
    picture.drawn(Study(parse(text, "trike")).rig, "signals")
    out: list[Row] = []
    for view in VIEWS:
        times = []
        for n in range(RUNS + 1):
            study = Study(parse(edit.set_wire(text, "P2", size="4 AWG", length_mm=900 + n), "trike"))
            study.power, study.protection  # noqa: B018  # worked out before the clock starts
            begun = time.perf_counter()
            picture.drawn(study.rig, view, study)
            times.append(time.perf_counter() - begun)
        name = f"diagram of the planned trike after an edit, {view}"
        out.append(at_most(name, 1e3 * min(times[1:]), "ms", 15.0))
    read = draft.read(text)
    times = []
    for _ in range(RUNS):
        begun = time.perf_counter()
        draft.fitting(read, "right_signal.a12")
        times.append(time.perf_counter() - begun)
    out.append(at_most("what fits a terminal of the planned trike", 1e3 * min(times), "ms", 50.0))
    return out
