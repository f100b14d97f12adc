"""How long all the drawings of a rig take, cold, and what they are like to read."""

from __future__ import annotations

import os
import tempfile
import time

from bench.rows import Row, at_most


def rows() -> list[Row]:
    """All sheets of the planned trike, its loom known; then the faults and bends of every demo rig's sheets."""
    from loomwright import demo
    from loomwright.drawing import measure, sheets, svg
    from loomwright.rig.file import load
    from loomwright.study import Study

    study = Study(load(demo.path("carnival_trike_planned")))
    study.power, study.protection, study.loom  # noqa: B018  # worked out before the clock starts
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_CACHE_HOME"] = os.environ["LOCALAPPDATA"] = folder  # nothing kept on the disk
        begun = time.perf_counter()
        made = sheets.sheets(study)
        cold = time.perf_counter() - begun
    begun = time.perf_counter()
    sheets.sheets(study)
    again = time.perf_counter() - begun
    faults = crossings = bends = 0
    for name in demo.names():
        whole = made if name == "carnival_trike_planned" else sheets.sheets(Study(load(demo.path(name))))
        for sheet in whole:
            m = measure.measure(svg.render(sheet.drawing))
            faults += sum(map(len, (m.through_boxes, m.text_on_text, m.text_on_line, m.merged, m.off_sheet)))
            if name == "carnival_trike_planned" and sheet.id.startswith("wiring"):
                crossings, bends = crossings + m.crossings, bends + m.bends
    return [
        at_most("all sheets of the planned trike, cold", cold, "s", 1.5),
        at_most("all sheets of the planned trike, layouts kept", again, "s", 0.5),
        at_most("faults on the sheets of all demo rigs", float(faults), "", 0.0),
        at_most("crossings on the wiring sheets of the planned trike", float(crossings), "", 25.0),
        at_most("bends on the wiring sheets of the planned trike", float(bends), "", 160.0),
    ]
