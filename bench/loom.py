"""How long the harness takes: packing bundles, the whole loom of the planned trike, cutting plans."""

from __future__ import annotations

import random
import time

from bench.rows import Row, at_most


def rows() -> list[Row]:
    """Each once, cold: what a user waits for."""
    from loomwright import demo
    from loomwright.loom.cut_plan import Piece, pieces, plan
    from loomwright.loom.packing import pack
    from loomwright.loom.stock_file import Spool, load_stock
    from loomwright.rig.file import load
    from loomwright.study import Study

    study = Study(load(demo.path("carnival_trike_planned")))
    study.power.case("idle", "loud")
    assert study.panels.layouts
    begun = time.perf_counter()
    wanted = pieces(study.loom.wires)
    whole = time.perf_counter() - begun
    begun = time.perf_counter()
    pack([2.0] * 19)
    equal = time.perf_counter() - begun
    begun = time.perf_counter()
    found = plan(wanted, load_stock(demo.stock_path()))
    shelf = time.perf_counter() - begun
    rng = random.Random(1)
    sixty = [Piece(f"W{k}", "16 AWG", "copper", 105, "WH", False, rng.randint(30, 420) * 5.0) for k in range(60)]
    spools = [Spool(f"s{k}", "16 AWG", "copper", 105, "WH", False, float(rng.randint(900, 14_000))) for k in range(14)]
    begun = time.perf_counter()
    large = plan(sixty, spools)
    many = time.perf_counter() - begun
    return [
        at_most("loom of the planned trike, power and panel known", whole, "s", 2.0),
        at_most("19 equal circles packed", equal, "s", 1.0),
        at_most("cutting plan of the planned trike", shelf, "s", 2.0),
        at_most("cutting plan of 60 wires", many, "s", 2.0),
        at_most("of these plans not proven optimal", float((not found.proven) + (not large.proven)), "", 0.0),
    ]
