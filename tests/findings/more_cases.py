"""One spoiled rig for each check on short leads, breaking capacity at its edge, strength and bridged pairs."""

from __future__ import annotations

from tests.findings.bases import BUGGY, LAUNCH, TRIKE, Edit
from tests.findings.edits import Case, wire, without

MAIN_NEAR = wire(TRIKE, "P1", 'size = "bolted"', 'size = "4 AWG", length_mm = 150')
BRIDGED: tuple[Edit, ...] = (
    *without(TRIKE, "S3", "S4"),
    ('[item.front_right]\npart = "driver_6_5in"\nplace = "bars"\n', ""),
    ("[item.front_amp]\n", "[item.front_amp]\nbridged = [[1, 2]]\n"),
)

MORE: tuple[Case, ...] = (
    Case(
        "E105",
        TRIKE,
        (MAIN_NEAR,),
        "Know",
        ("C1", "P1", "V1"),
        ("C1 (120 mm), P1 (150 mm) and V1 (120 mm)", "Bolt charge_fuse, main and vehicle_fuse on the battery post"),
    ),
    Case(
        "E203",
        LAUNCH,
        (('[item.main]\npart = "holder_post"', '[item.main]\npart = "holder_e"'), ("fuses_a = [80]", "fuses_a = [70]")),
        "Stop",
        ("main.1",),
        ("post_mount",),
    ),
    Case(
        "E506",
        TRIKE,
        (wire(TRIKE, "S1", '"16 AWG"', '"26 AWG"'),),
        "Know",
        ("S1",),
        ("26 AWG", "where it moves", "18 AWG"),
    ),
    Case(
        "E506",
        TRIKE,
        (wire(TRIKE, "S5", '"16 AWG"', '"22 AWG"'),),
        "Know",
        ("S5",),
        ("20 AWG",),
        mended=(wire(TRIKE, "S5", '"16 AWG"', '"20 AWG"'),),
    ),
    Case(
        "E708",
        BUGGY,
        (('part = "flooded_45ah"', 'part = "small_lfp"'),),
        "Fix",
        ("start",),
        ("180 A crank against 15 A protection", "starter will not turn"),
    ),
    Case(
        "E905",
        TRIKE,
        BRIDGED,
        "Fix",
        ("front_amp", "front_amp.ch1+", "front_amp.ch1-"),
        ("ch1 and ch2", "ch1+ and ch1-", "front_amp.ch2-"),
        mended=(*BRIDGED, wire(TRIKE, "S2", '"front_amp.ch1-"', '"front_amp.ch2-"')),
    ),
)
