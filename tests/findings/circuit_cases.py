"""One spoiled rig for each check on loudspeaker circuits that stay open and on loads that must go on."""

from __future__ import annotations

from tests.findings.bases import BUGGY, LAUNCH, TRIKE, Edit
from tests.findings.edits import Case, add, item, wire, without

PLUGGED: tuple[Edit, ...] = (
    wire(TRIKE, "S7", 'to = "case_right.+"', 'to = "half.a1"'),
    wire(TRIKE, "S8", 'to = "case_right.-"', 'to = "half.a2"'),
    item("half", "connector_4_sealed", "case"),
)
"""A loudspeaker behind a plug of which only one half is wired."""
PUMP: tuple[Edit, ...] = (
    add(
        TRIKE,
        "P6",
        'id = "P7", from = "block.out4", to = "pump.supply+", size = "14 AWG"',
        'id = "R7", from = "pump.supply-", to = "gnd.stud5", size = "14 AWG"',
    ),
    ("fuses_a = [25, 25, 5, 0]", "fuses_a = [25, 25, 5, 7.5]"),
    item("pump", "bilge_pump", "deck"),
)
LIGHTS: tuple[Edit, ...] = (
    wire(LAUNCH, "P5", 'from = "lights_fuse.out"', 'from = "block.out3"'),
    *without(LAUNCH, "P6"),
    ("fuses_a = [30, 30, 0, 0]", "fuses_a = [30, 30, 7.5, 0]"),
)

CIRCUITS: tuple[Case, ...] = (
    Case(
        "E906",
        TRIKE,
        without(TRIKE, "S2"),
        "Fix",
        ("front_amp", "front_left", "front_amp.ch1-", "front_left.-"),
        ("Run a wire from front_amp.ch1- to front_left.-",),
    ),
    Case(
        "E906",
        BUGGY,
        (wire(BUGGY, "S4", 'to = "bass.-"', 'to = "left.-"'),),
        "Fix",
        ("bass_amp", "bass", "bass.-"),
        ("bass.-",),
    ),
    Case(
        "E907",
        TRIKE,
        PLUGGED,
        "Fix",
        ("case_amp", "S7", "S8"),
        ("ch2 of case_amp", "half.b1 and half.b2"),
        mended=(
            *PLUGGED,
            add(
                TRIKE,
                "S6",
                'id = "S9", from = "half.b1", to = "case_right.+", size = "16 AWG"',
                'id = "S10", from = "half.b2", to = "case_right.-", size = "16 AWG"',
            ),
        ),
    ),
    Case(
        "E908",
        TRIKE,
        without(TRIKE, "S1", "S2", "S3", "S4"),
        "Know",
        ("front_amp", "front_left", "front_right"),
        ("2 channels of front_amp", "2 drivers"),
    ),
    Case("E308", TRIKE, PUMP, "Fix", ("main.1", "pump"), ("P2", "a device of its own, not below main.1")),
    Case("E308", LAUNCH, LIGHTS, "Fix", ("main.1", "lights", "amp"), ("1 place",)),
)
