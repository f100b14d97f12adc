"""One spoiled rig for each check on feeds, devices, the fault drill and returns."""

from __future__ import annotations

from tests.findings.bases import BUGGY, LAUNCH, TRIKE
from tests.findings.edits import FRONT_AB, PLAIN, WEAK_MAIN, WEAKER_MAIN, Case, add, item, wire, without

SUPPLY: tuple[Case, ...] = (
    # feeds
    Case(
        "E101",
        TRIKE,
        (wire(TRIKE, "P6", '"block.out3"', '"battery.plus"'),),
        "Stop",
        ("battery", "P6"),
        ("1280 mm", "178 mm", "source"),
    ),
    Case(
        "E102",
        TRIKE,
        (wire(TRIKE, "P1", 'size = "bolted"', 'size = "4 AWG", length_mm = 620'),),
        "Fix",
        ("main", "P1"),
        ("620 mm", "Move main within 178 mm of battery (now 620 mm)"),
    ),
    Case(
        "E103",
        TRIKE,
        (
            *without(TRIKE, "C1"),
            wire(TRIKE, "C2", '"charge_fuse.out"', '"battery.plus"'),
            ('[item.charge_fuse]\npart = "holder_sf30"\nplace = "seat"\nfuses_a = [60]\n', ""),
        ),
        "Fix",
        ("stator", "C2"),
        ("780 mm",),
    ),
    Case(
        "E104",
        TRIKE,
        (
            wire(TRIKE, "P2", 'to = "block.in"', 'to = "join.leg1"'),
            add(TRIKE, "P3", 'id = "P2b", from = "join.leg2", to = "block.in", size = "4 AWG"'),
            item("join", "splice_crimp_heavy", "deck"),
        ),
        "Fix",
        ("join", "P2", "P2b"),
        ("2 amplifiers",),
    ),
    # devices
    Case("E201", TRIKE, PLAIN, "Fix", ("main.1", "front_amp", "case_amp"), ("80 A", "2 fuses")),
    Case(
        "E202",
        TRIKE,
        (("fuses_a = [25, 25, 5, 0]", "fuses_a = [40, 25, 5, 0]"), wire(TRIKE, "P3", '"10 AWG"', '"14 AWG"')),
        "Fix",
        ("block.1", "P3"),
        ("35 A", "114 %", "Fit 35 A or less"),
    ),
    Case(
        "E202",
        TRIKE,
        (("fuses_a = [25, 25, 5, 0]", "fuses_a = [40, 25, 5, 0]"), wire(TRIKE, "P3", '"10 AWG"', '"16 AWG"')),
        "Stop",
        ("block.1", "P3"),
        ("25 A", "160 %"),
    ),
    Case(
        "E203",
        LAUNCH,
        (
            (
                'part = "fused_block_4way_sf30"\nplace = "cuddy"\nfuses_a = [30, 30, 0, 0]',
                'part = "fused_block_4way_c"\nplace = "cuddy"\nfuses_a = [30, 5, 5, 0]',
            ),
        ),
        "Fix",
        ("block.1",),
        ("1000 A",),
    ),
    Case("E204", TRIKE, (("fuses_a = [25, 25, 5, 0]", "fuses_a = [7.5, 25, 5, 0]"),), "Fix", ("block.1",), ("7.5 A",)),
    Case(
        "E205",
        TRIKE,
        (
            ("fuses_a = [25, 25, 5, 0]", "fuses_a = [15, 25, 5, 0]"),
            ("[place.deck]\n", "[place.deck]\ntemperature_c = 90\n"),
        ),
        "Know",
        ("block.1",),
        ("90 °C",),
    ),
    Case(
        "E206",
        TRIKE,
        (("fuses_a = [25, 25, 5, 0]", "fuses_a = [10, 25, 5, 0]"),),
        "Know",
        ("block.1", "front_amp"),
        ("25 A",),
    ),
    Case(
        "E212",
        TRIKE,
        (),
        "Know",
        ("block.1",),
        ("1000 A", "%"),
        mended=(("charge_pct = 90", "charge_pct = 90\nresistance_factor = 2"),),
    ),
    Case("E212", BUGGY, (), "Know", ("bass_amp.own",), ("block.1",), mended_base=TRIKE),
    Case("E213", TRIKE, (), "Know", ("main.1", "block.1"), ("typical",), mended=PLAIN),
    Case("E207", TRIKE, WEAK_MAIN, "Fix", ("main.1", "block.1"), ("case_amp", "2 to 1")),
    Case(
        "E208",
        TRIKE,
        (('part = "holder_c"\nplace = "seat"\nfuses_a = [15]', 'part = "breaker_auto_15a"\nplace = "seat"'),),
        "Fix",
        ("vehicle_fuse.1", "base_load"),
        ("15 A",),
    ),
    Case(
        "E209",
        TRIKE,
        (("fuses_a = [25, 25, 5, 0]", "fuses_a = [22, 25, 5, 0]"),),
        "Fix",
        ("block.1",),
        ("22 A", "Fit 20 A"),
    ),
    Case(
        "E210",
        TRIKE,
        (("fuses_a = [25, 25, 5, 0]", 'fuses_a = ["auto", 25, 5, 0]'), wire(TRIKE, "P3", '"10 AWG"', '"0.35 mm2"')),
        "Fix",
        (),
        (),
    ),
    Case(
        "E211",
        BUGGY,
        (
            wire(BUGGY, "P6", 'from = "main.out"', 'from = "cut.out"'),
            add(BUGGY, "P5", 'id = "P5b", from = "main.out", to = "cut.in", size = "2 AWG"'),
            item("cut", "switch_toggle_15a", "middle"),
        ),
        "Fix",
        ("cut",),
        ("15 A",),
    ),
    # drill
    Case("E301", TRIKE, PLAIN, "Stop", ("main.1", "P3"), ("not cleared",)),
    Case(
        "E302",
        TRIKE,
        (("fuses_a = [25, 25, 5, 0]", "fuses_a = [40, 25, 5, 0]"), wire(TRIKE, "P3", '"10 AWG"', '"18 AWG"')),
        "Fix",
        ("block.1", "front_amp"),
        ("limit 155 °C", "P3"),
    ),
    Case("E303", TRIKE, WEAKER_MAIN, "Fix", (), ("main.1",)),
    Case(
        "E304",
        BUGGY,
        (),
        "Know",
        ("R7",),
        ("L3", "A"),
        mended=(
            ('part = "amp_2x100_class_ab"', 'part = "amp_2x80_class_d"'),
            ('part = "amp_1x500_class_d"', 'part = "amp_1x250_class_d"'),
        ),
    ),
    Case("E305", BUGGY, (), "Know", ("charge_fuse",), ("W",), mended_base=TRIKE),
    Case("E306", BUGGY, (), "Know", ("charge_fuse.1",), ("150 A",), mended_base=TRIKE),
    Case(
        "E307",
        TRIKE,
        (('part = "agm_30ah"', 'part = "agm_12ah"'), ("charge_pct = 90", "charge_pct = 60"), FRONT_AB),
        "Know",
        ("source",),
        ("h",),
    ),
    # returns
    Case(
        "E401", TRIKE, (wire(TRIKE, "R3", '"10 AWG"', '"18 AWG"'),), "Fix", ("R3", "P3"), ("25 A", "Run R3 in 10 AWG")
    ),
    Case("E401", TRIKE, (wire(TRIKE, "R3", '"10 AWG"', '"14 AWG"'),), "Know", ("R3", "P3"), ("35 A",)),
    Case(
        "E402",
        TRIKE,
        (wire(TRIKE, "R3", 'from = "gnd.stud2"', 'from = "frame.stud3", from_joint = "painted frame"'),),
        "Fix",
        ("R3", "frame.stud3"),
        ("30 mΩ", "mV"),
    ),
    Case("E403", TRIKE, (wire(TRIKE, "R3", '"gnd.stud2"', '"frame.stud3"'),), "Know", ("frame", "front_amp"), ("mV",)),
    Case(
        "E404",
        TRIKE,
        (FRONT_AB, wire(TRIKE, "R3", '"gnd.stud2"', '"frame.stud3"')),
        "Fix",
        ("front_amp", "source", "L1", "L2"),
        ("mV",),
    ),
    Case(
        "E405",
        TRIKE,
        (FRONT_AB, wire(TRIKE, "R3", '"10 AWG"', '"18 AWG", length_mm = 25000')),
        "Know",
        ("L1", "L2"),
        ("A",),
    ),
)
