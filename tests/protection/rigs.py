"""Small rigs as text, for the tests of this room, and a power result with nothing in it."""

from __future__ import annotations

from loomwright.power.results import PowerResult
from loomwright.rig.file import parse
from loomwright.rig.model import Rig

HEAD = """
format = 1
title = "Bench rig"
ambient_c = 30
[place.seat]
[place.case]
[[run]]
between = ["seat", "case"]
length_mm = 900
"""

# One battery, main device, fused block with a way for each amplifier and one for the source.
ITEMS = """
[item.battery]
part = "agm_20ah"
place = "seat"
[item.main]
part = "holder_sf51"
place = "seat"
fuses_a = [100]
[item.block]
part = "fused_block_4way_c"
place = "case"
fuses_a = [40, 30, 10, 0]
[item.ground]
part = "bus_ground_6"
place = "case"
[item.front]
part = "amp_4x75_class_d"
place = "case"
[item.rear]
part = "amp_2x100_class_ab"
place = "case"
[item.head]
part = "source_line_2out"
place = "case"
"""

WIRES = (
    ("P1", "battery.plus", "main.in", "4 AWG", 120),
    ("P2", "main.out", "block.in", "4 AWG", 1200),
    ("P3", "block.out1", "front.supply+", "8 AWG", 450),
    ("P4", "block.out2", "rear.supply+", "10 AWG", 450),
    ("P5", "block.out3", "head.supply+", "16 AWG", 450),
    ("R1", "ground.stud1", "battery.minus", "4 AWG", 1200),
    ("R3", "front.supply-", "ground.stud2", "8 AWG", 400),
    ("R4", "rear.supply-", "ground.stud3", "10 AWG", 400),
    ("R5", "head.supply-", "ground.stud4", "16 AWG", 400),
    ("M1", "head.remote_out", "front.remote", "18 AWG", 400),
    ("M2", "front.remote", "rear.remote", "18 AWG", 400),
)
Row = tuple[str, str, str, str, float]


def text(items: str = ITEMS, wires: tuple[Row, ...] = WIRES, head: str = HEAD) -> str:
    """A rig file."""
    rows = [
        f'[[wire]]\nid = "{i}"\nfrom = "{a}"\nto = "{b}"\nsize = "{size}"\n'
        + ("" if size == "bolted" else f"length_mm = {mm}\n")
        for i, a, b, size, mm in wires
    ]
    return head + items + "\n".join(rows)


def rig(items: str = ITEMS, wires: tuple[Row, ...] = WIRES, head: str = HEAD) -> Rig:
    """The rig in :func:`text`."""
    return parse(text(items, wires, head), "bench.toml")


def without(*ids: str) -> tuple[Row, ...]:
    """The usual wires less some."""
    return tuple(w for w in WIRES if w[0] not in ids)


NO_POWER = PowerResult(cases={}, balance=(), sessions=(), bass=(), prospective_a={})
