"""One spoiled rig for each check on wires, routes, joints, charging, volts, signals, boats and data."""

from __future__ import annotations

from tests.findings.bases import BUGGY, LAUNCH, TRIKE
from tests.findings.edits import (
    COIL,
    LARGE_DCDC,
    LOUD_DCDC,
    MORE_DRIVERS,
    SMALL_DCDC,
    TIED,
    Case,
    add,
    item,
    wire,
    without,
)

BUILD: tuple[Case, ...] = (
    # conductors
    Case("E501", BUGGY, (wire(BUGGY, "P6", '"2 AWG"', '"18 AWG"'),), "Fix", ("P6",), ("19.3 A",)),
    Case(
        "E503",
        TRIKE,
        (wire(TRIKE, "P2", '"4 AWG"', '"4 AWG", metal = "cca10", as_sold = "4 AWG oxygen-free copper"'),),
        "Fix",
        ("P2",),
        ("13.3 mm²", "6 AWG"),
    ),
    Case(
        "E503",
        TRIKE,
        (wire(TRIKE, "P2", '"4 AWG"', '"4 AWG", length_mm = 2000, measured_mohm = 2.8'),),
        "Fix",
        ("P2",),
        ("2.8 mΩ",),
    ),
    Case(
        "E504",
        TRIKE,
        (wire(TRIKE, "P3", '"10 AWG"', '"10 SAE", as_sold = "10 gauge"'),),
        "Know",
        ("P3",),
        ("10 %", "4.73 mm²"),
    ),
    Case(
        "E504",
        TRIKE,
        (wire(TRIKE, "P2", '"4 AWG"', '"4 AWG", length_mm = 2000, measured_mohm = 1.86'),),
        "Know",
        ("P2",),
        ("SAE",),
    ),
    Case(
        "E505",
        TRIKE,
        (wire(TRIKE, "P2", '"4 AWG"', '"4 AWG", length_mm = 2000, measured_mohm = 9'),),
        "Fix",
        ("P2",),
        ("9 mΩ",),
    ),
    Case("E506", TRIKE, (wire(TRIKE, "P6", '"16 AWG"', '"0.5 mm2"'),), "Know", ("P6",), ("0.5 mm²",)),
    Case("E506", LAUNCH, (wire(LAUNCH, "P4", '"14 AWG"', '"0.5 mm2"'),), "Fix", ("P4",), ("0.5 mm²",)),
    Case(
        "E507",
        LAUNCH,
        (wire(LAUNCH, "C2", '"6 AWG"', '"6 AWG", insulation_c = 60'),),
        "Fix",
        ("C2", "engine"),
        ("60 °C",),
    ),
    # routes
    Case(
        "E511",
        TRIKE,
        (
            (
                'part = "driver_6_5in"\nplace = "case"\n[item.case_right]',
                'part = "driver_6_5in"\nplace = "deck"\n[item.case_right]',
            ),
        ),
        "Fix",
        ("case", "S5", "S6"),
        ("2 wires", "2 contacts"),
    ),
    Case(
        "E511",
        TRIKE,
        (
            (
                '[item.front_left]\npart = "driver_6_5in"\nplace = "bars"',
                '[item.front_left]\npart = "driver_6_5in"\nplace = "bars"\ncomes_off = true',
            ),
        ),
        "Fix",
        ("front_left", "S1", "S2"),
        ("2 wires",),
    ),
    Case(
        "E512",
        TRIKE,
        (('cover = ["braided sleeve", "grommet"]', 'cover = ["braided sleeve"]'),),
        "Fix",
        ("run 1", "P2"),
        ("edge", "grommet", "900 mm"),
    ),
    Case(
        "E513",
        TRIKE,
        (
            (', hazards = ["moving", "edge"], cover = ["braided sleeve", "grommet"]', ""),
            wire(TRIKE, "S1", '"16 AWG"', '"16 AWG", cover = ["braided sleeve"]'),
        ),
        "Fix",
        ("run 1", "P2", "S1"),
        ("Cover", "900 mm"),
    ),
    Case("E514", TRIKE, (), "Know", ("P6",), (), mended_base=LAUNCH),
    # joints
    Case(
        "E601",
        BUGGY,
        (wire(BUGGY, "R7", '"6 AWG"', '"6 AWG", to_joint = "pierced"'),),
        "Fix",
        ("bass_amp", "R7"),
        ("12 mΩ", "0.5 W"),
    ),
    Case(
        "E601", BUGGY, (wire(BUGGY, "R6", '"2 AWG"', '"2 AWG", to_joint = "pierced"'),), "Stop", ("house", "R6"), ("W",)
    ),
    Case(
        "E602",
        TRIKE,
        (wire(TRIKE, "M2", '"18 AWG"', '"18 AWG", to_joint = "tap clip"'),),
        "Fix",
        ("signal", "M2"),
        ("tap clip",),
    ),
    Case(
        "E603",
        TRIKE,
        (
            ('cover = ["braided sleeve", "grommet"]', 'cover = ["grommet"]'),
            wire(TRIKE, "S1", '"16 AWG"', '"16 AWG", to_joint = "solder splice"'),
        ),
        "Fix",
        ("S1", "front_left.+"),
        ("50 mm",),
    ),
    Case(
        "E604",
        TRIKE,
        (
            ('part = "connector_power_2_50a"', 'part = "connector_2_open"'),
            ('[item.case_amp]\npart = "amp_2x80_class_d"', '[item.case_amp]\npart = "amp_4x100_class_ab"'),
        ),
        "Fix",
        ("plug",),
        ("15 A",),
    ),
    Case(
        "E605", TRIKE, (wire(TRIKE, "P3", '"10 AWG"', '"4 AWG"'),), "Fix", ("front_amp", "P3"), ("21.2 mm²", "10 mm²")
    ),
    Case(
        "E606",
        TRIKE,
        (
            ('part = "agm_30ah"', 'part = "wide_post"'),
            add(
                TRIKE,
                "V4",
                'id = "V5", from = "frame.stud4", to = "battery.minus", size = "6 AWG", length_mm = 300',
                'id = "V6", from = "frame.stud5", to = "battery.minus", size = "6 AWG", length_mm = 300',
            ),
        ),
        "Fix",
        ("battery.minus", "V4", "V6"),
        ("5 rings",),
        mended=(('part = "agm_30ah"', 'part = "wide_post"'),),
    ),
    Case(
        "E607",
        TRIKE,
        (
            ("[place.deck]\n", "[place.deck]\nwet = true\n"),
            ('part = "connector_power_2_50a"', 'part = "connector_2_open"'),
        ),
        "Fix",
        ("plug", "deck"),
        ("2 contacts",),
    ),
    # charging
    Case(
        "E701",
        TRIKE,
        (
            ('part = "stator_45a"', 'part = "stator_20a"'),
            ('part = "base_load_trike_led"', 'part = "base_load_trike_halogen"'),
        ),
        "Fix",
        ("stator",),
        ("short",),
    ),
    Case(
        "E701", BUGGY, SMALL_DCDC, "Fix", ("house", "parter"), ("cruise, music", "all of its 10 A"), mended=LARGE_DCDC
    ),
    Case("E701", BUGGY, LOUD_DCDC, "Know", ("house", "parter"), ("cruise, loud", "all of its 20 A"), mended=LARGE_DCDC),
    Case(
        "E702",
        TRIKE,
        (("[place.seat]", '[limits]\nsession_engine = "off"\nsession_h = 6\n\n[place.seat]'),),
        "Fix",
        ("battery",),
        ("6 h",),
    ),
    Case("E703", BUGGY, TIED, "Fix", ("start", "house"), ("flooded", "45 Ah and 60 Ah")),
    Case(
        "E704",
        TRIKE,
        (('part = "agm_30ah"', 'part = "old_gel"'),),
        "Fix",
        ("stator", "battery"),
        ("14.40 V", "14.10 V"),
    ),
    Case("E704", TRIKE, (('part = "agm_30ah"', 'part = "high_agm"'),), "Know", ("stator", "battery"), ("14.60",)),
    Case(
        "E705", LAUNCH, (('part = "flooded_70ah"', 'part = "lfp_50ah"'),), "Fix", ("alternator", "battery"), ("DC-DC",)
    ),
    Case(
        "E706",
        LAUNCH,
        (('part = "flooded_70ah"', 'part = "lfp_8ah"'), ("charge_pct = 95", "charge_pct = 20")),
        "Fix",
        ("battery",),
        ("A",),
    ),
    Case("E707", BUGGY, TIED, "Know", ("house",), ("first minute",)),
    Case("E708", LAUNCH, (('part = "flooded_70ah"', 'part = "small_lfp"'),), "Know", ("battery",), ("15 A",)),
    # volts
    Case(
        "E801",
        TRIKE,
        (wire(TRIKE, "P3", '"10 AWG"', '"18 AWG", length_mm = 20000'),),
        "Fix",
        ("front_amp",),
        ("needs 10.00 V", "P3"),
    ),
    Case("E802", TRIKE, (wire(TRIKE, "P3", '"10 AWG"', '"18 AWG", length_mm = 35000'),), "Fix", ("front_amp",), ("%",)),
    Case(
        "E803",
        TRIKE,
        (wire(TRIKE, "P3", '"10 AWG"', '"18 AWG", length_mm = 20000'),),
        "Know",
        ("front_amp",),
        ("times the programme",),
    ),
    Case(
        "E804",
        TRIKE,
        (wire(TRIKE, "P3", '"10 AWG"', '"16 AWG", length_mm = 6000'),),
        "Fix",
        ("front_amp", "P3"),
        ("500 mV", "P3"),
    ),
    Case(  # 110 W through 24 m of 14 AWG: 8.286 mOhm/m out and back at about 8.5 A is 1.7 V
        "E806",
        TRIKE,
        (wire(TRIKE, "V2", '"12 AWG"', '"14 AWG", length_mm = 24000'),),
        "Fix",
        ("base_load", "V2"),
        ("10 % of 12 V", "V2"),
    ),
    Case(
        "E806",
        LAUNCH,
        (wire(LAUNCH, "P5", '"14 AWG"', '"18 AWG", length_mm = 25000'),),
        "Know",
        ("lights", "P5"),
        ("360 mV is 3 % of 12 V", "P5"),
    ),
    Case(
        "E805",
        TRIKE,
        (wire(TRIKE, "P3", '"10 AWG"', '"16 AWG", length_mm = 20000'),),
        "Know",
        ("front_amp",),
        ("needs 10.00 V",),
    ),
    # signals
    Case("E901", TRIKE, (*COIL, item("relay", "relay_40a", "deck")), "Fix", ("source", "relay"), ("162 mA", "150 mA")),
    Case(
        "E902",
        TRIKE,
        (*COIL, item("relay", "relay_40a", "deck")),
        "Fix",
        ("source", "relay"),
        ("150 mA",),
        mended=(*COIL, item("relay", "relay_40a_diode", "deck")),
    ),
    Case(
        "E903",
        TRIKE,
        (
            *without(TRIKE, "M2", "M3"),
            ('[item.signal]\npart = "connector_4_sealed"\nplace = "deck"\n', ""),
        ),
        "Fix",
        ("case_amp",),
        ("6 mA",),
    ),
    Case("E904", TRIKE, MORE_DRIVERS, "Fix", ("front_amp",), ("1.33 Ω", "2 Ω")),
    # boat
    Case("E951", LAUNCH, (wire(LAUNCH, "P2", '"tinned copper"', '"cca10"'),), "Fix", ("P2",), ("tinned",)),
    Case(
        "E952",
        LAUNCH,
        (("fuses_a = [30, 30, 0, 0]", "fuses_a = [30, 60, 0, 0]"),),
        "Fix",
        ("P4", "block.2"),
        ("35 A", "52.5 A"),
    ),
    Case(
        "E953",
        LAUNCH,
        (('part = "fused_block_4way_sf30"\nplace = "cuddy"', 'part = "fused_block_4way_sf30"\nplace = "engine"'),),
        "Know",
        ("block",),
        ("1 part",),
    ),
    # data
    Case(
        "E991",
        TRIKE,
        (),
        "Know",
        ("main.1", "battery"),
        ("From memory",),
        mended=(
            ('part = "agm_30ah"', 'part = "wide_post"'),
            (
                'part = "holder_post"\nplace = "seat"\nfuses_a = [80]',
                'part = "holder_e"\nplace = "seat"\nfuses_a = [40]',
            ),
            (
                'part = "holder_sf30"\nplace = "seat"\nfuses_a = [60]',
                'part = "holder_e"\nplace = "seat"\nfuses_a = [40]',
            ),
        ),
    ),
    Case(
        "E992",
        TRIKE,
        (
            item("lamp", "made_up", "deck"),
            add(
                TRIKE,
                "P6",
                'id = "P9", from = "block.out4", to = "lamp.supply+", size = "16 AWG"',
                'id = "R9", from = "gnd.stud8", to = "lamp.supply-", size = "16 AWG"',
            ),
            ("fuses_a = [25, 25, 5, 0]", "fuses_a = [25, 25, 5, 5]"),
        ),
        "Know",
        ("lamp",),
        ("1 item",),
    ),
)
