"""How long the sound study of the planned trike takes, its loads alone, and a tolerance study of a two-way channel."""

from __future__ import annotations

import time
from collections.abc import Callable

from bench.rows import Row, at_most

RUNS = 5
TWO_WAY = """
format = 1
title = "Two ways on one channel"
ambient_c = 25
[place.case]
[item.battery]
part = "agm_60ah"
place = "case"
[item.fuse]
part = "holder_e"
place = "case"
fuses_a = [60]
"""
PARTS = {
    "amp": "amp_2x80_class_d", "low": "driver_6_5in", "high": "tweeter_25mm", "c": "capacitor_film_6u8",
    "l": "coil_0m47", "plus": "splice_crimp", "minus": "splice_crimp",
}  # fmt: skip
WIRES = (
    ("battery.plus", "fuse.in"), ("fuse.out", "amp.supply+"), ("amp.supply-", "battery.minus"),
    ("amp.ch1+", "plus.leg1"), ("plus.leg2", "c.a"), ("c.b", "high.+"), ("high.-", "minus.leg2"), ("plus.leg3", "l.a"),
    ("l.b", "low.+"), ("low.-", "minus.leg3"), ("minus.leg1", "amp.ch1-"),
)  # fmt: skip


def rows() -> list[Row]:
    """Quickest of several runs in one process, warm."""
    from loomwright import demo
    from loomwright.rig.file import load, parse
    from loomwright.sound.crossings import responses
    from loomwright.sound.loads import study_loads
    from loomwright.sound.speaker_wire import speaker_leads
    from loomwright.sound.study import study_sound
    from loomwright.sound.tolerance import DRAWS, POINTS, study_tolerance
    from loomwright.study import Study

    text = TWO_WAY
    text += "".join(f'[item.{name}]\npart = "{part}"\nplace = "case"\n' for name, part in PARTS.items())
    for n, (a, b) in enumerate(WIRES, 1):
        size = "6 AWG" if n <= 3 else "16 AWG"
        text += f'[[wire]]\nid = "W{n}"\nfrom = "{a}"\nto = "{b}"\nsize = "{size}"\n'
    two_way = parse(text, "two_way.toml")
    study = Study(load(demo.path("carnival_trike_planned")))
    trike = study.rig
    power = study.power

    def loads() -> None:
        found = study_loads(trike)
        for channel in found.channels:
            responses(channel)
        speaker_leads(trike, found)

    return [
        at_most("whole sound study of the planned trike", quickest(lambda: study_sound(trike, power)), "s", 0.15),
        at_most("loads, crossings and leads of the planned trike", quickest(loads), "s", 0.1),
        at_most(
            f"tolerance of a two-way channel, {DRAWS} draws x {POINTS} frequencies",
            quickest(lambda: study_tolerance(two_way, "amp", 1)),
            "s",
            1.0,
        ),
    ]


def quickest(work: Callable[[], object]) -> float:
    """Seconds of the quickest of several runs."""
    work()
    times = []
    for _ in range(RUNS):
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return min(times)
