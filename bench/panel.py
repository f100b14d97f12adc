"""How long the placement of the demo panels takes, in processor seconds: first layout, proven optimum, leads."""

from __future__ import annotations

import time

from bench.rows import Row, at_most

LIMITS_S = {"canal_launch": 5.0, "carnival_trike_planned": 20.0, "harvest_buggy": 60.0}


def rows() -> list[Row]:
    """Each demo panel from nothing, its fixed items apart. One worker: processor time is what a free core takes."""
    from loomwright import demo
    from loomwright.panel.bodies import all_bodies
    from loomwright.panel.layout import layout
    from loomwright.panel.place import first_layout, fixed_spots, place
    from loomwright.rig.file import load
    from loomwright.study import Study

    out = []
    for name, limit in LIMITS_S.items():
        rig = Study(load(demo.path(name))).rig
        (panel_id,) = rig.panels
        bodies = all_bodies(rig)[panel_id]
        begun = time.process_time()
        first_layout(rig.panels[panel_id], bodies, fixed_spots(rig, bodies))
        first = time.process_time() - begun
        begun = time.process_time()
        found = place(rig, panel_id)
        whole = time.process_time() - begun
        begun = time.process_time()
        made = layout(rig, panel_id, found.spots)
        leads = time.process_time() - begun
        what = f"{name}, {len(bodies)} items"
        out += [
            at_most(f"first layout of the panel, {what}", first, "s", 1.0),
            at_most(f"panel placed, {found.status}, {what}", whole, "s", limit),
            at_most(f"leads laid, {what}", leads, "s", 5.0),
            at_most(f"rules broken, {what}", float(len(made.broken)), "", 0.0),
            at_most(f"gap to the bound, {what}", 100.0 * found.gap, "%", 0.0),
        ]
    return out
