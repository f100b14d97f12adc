"""One spoiled rig for each check on the harness: lengths, holes, bends, ends, disconnects."""

from __future__ import annotations

from tests.findings.bases import BUGGY, TRIKE, Edit
from tests.findings.edits import Case, add, item, wire, without

DECK_CASE = 'between = ["deck", "case"], length_mm = 700, hazards = ["edge"], cover = ["grommet"]'


def run(extra: str) -> Edit:
    """An edit that says more of the run from the deck into the case."""
    return (DECK_CASE, f"{DECK_CASE}, {extra}")


SECOND_PLUG = (
    item("plug2", "connector_power_2_50a", "deck"),
    wire(TRIKE, "R4", '"plug.a2"', '"plug2.a1"'),
    wire(TRIKE, "R5", '"plug.b2"', '"plug2.b1"'),
)
TWO_SPEAKER_PLUGS = (
    item("front_plug", "connector_4_sealed", "deck"), item("rear_plug", "connector_4_sealed", "deck"),
    wire(TRIKE, "S1", '"front_left.+"', '"front_plug.a1"'), wire(TRIKE, "S2", '"front_left.-"', '"front_plug.a2"'),
    wire(TRIKE, "S3", '"front_right.+"', '"rear_plug.a1"'), wire(TRIKE, "S4", '"front_right.-"', '"rear_plug.a2"'),
    add(TRIKE, "S5", 'id = "S11", from = "front_plug.b1", to = "front_left.+", size = "16 AWG"',
        'id = "S12", from = "front_plug.b2", to = "front_left.-", size = "16 AWG"',
        'id = "S13", from = "rear_plug.b1", to = "front_right.+", size = "16 AWG"',
        'id = "S14", from = "rear_plug.b2", to = "front_right.-", size = "16 AWG"'),
)  # fmt: skip
TURNED = (wire(TRIKE, "S3", "ch2+", "ch2-"), wire(TRIKE, "S4", "ch2-", "ch2+"))
SIX_LOADED = (
    item("lights", "connector_12_sealed", "deck"),
    ("fuses_a = [25, 25, 5, 0]", "fuses_a = [25, 25, 5, 20]"),
    item("lamp", "lamp_130w", "deck"),
    add(TRIKE, "P6", 'id = "P7", from = "block.out4", to = "lights.a1", size = "14 AWG", length_mm = 200',
        'id = "P8", from = "lights.b1", to = "lamp.supply+", size = "14 AWG", length_mm = 200',
        'id = "R7", from = "gnd.stud5", to = "lights.a2", size = "14 AWG", length_mm = 200',
        'id = "R8", from = "lights.b2", to = "lamp.supply-", size = "14 AWG", length_mm = 200'),
    wire(TRIKE, "S1", '"front_left.+"', '"lights.a3"'), wire(TRIKE, "S2", '"front_left.-"', '"lights.a4"'),
    wire(TRIKE, "S3", '"front_right.+"', '"lights.a5"'), wire(TRIKE, "S4", '"front_right.-"', '"lights.a6"'),
    add(TRIKE, "S5", 'id = "S11", from = "lights.b3", to = "front_left.+", size = "16 AWG"',
        'id = "S12", from = "lights.b4", to = "front_left.-", size = "16 AWG"',
        'id = "S13", from = "lights.b5", to = "front_right.+", size = "16 AWG"',
        'id = "S14", from = "lights.b6", to = "front_right.-", size = "16 AWG"'),
)  # fmt: skip
THICK = ('length_mm = 900, hazards = ["moving", "edge"], cover = ["braided sleeve", "grommet"]',
         'length_mm = 900, hazards = ["moving", "edge"], cover = ["convoluted tube"]')  # fmt: skip
FOUR_HEAVY = (("P2", '"4 AWG"'), ("R2", '"4 AWG"'), ("P6", '"16 AWG"'), ("R6", '"16 AWG"'), ("M1", '"18 AWG"'))
FIRST_RUN = '  { between = ["seat", "deck"]'
STRAIGHT = (FIRST_RUN, '  { between = ["deck", "bars"], length_mm = 2600 },\n' + FIRST_RUN)
ROUND = (FIRST_RUN, '  { between = ["case", "bars"], length_mm = 4000 },\n' + FIRST_RUN)
CHARGE_PLUG = (
    item("charge_plug", "connector_2_open", "seat", 'sockets = "a"'),
    wire(TRIKE, "C2", '"stator.out"', '"charge_plug.a1"'),
    wire(TRIKE, "C3", '"stator.ground", to = "battery.minus"', '"charge_plug.a2", to = "battery.minus"'),
    add(TRIKE, "V1", 'id = "C4", from = "charge_plug.b1", to = "stator.out", size = "6 AWG", insulation_c = 125',
        'id = "C5", from = "stator.ground", to = "charge_plug.b2", size = "6 AWG", insulation_c = 125'),
)  # fmt: skip

LOOM: tuple[Case, ...] = (
    Case(
        "E521",
        TRIKE,
        (("  { " + DECK_CASE + " },\n", ""), wire(TRIKE, "M3", "length_mm = 600", "length_mm = 650")),
        "Know",
        ("case", "deck", "P5", "R5", "M3"),
        ("No runs join case and deck", "3 wires"),
    ),
    Case(
        "E522", TRIKE, (wire(TRIKE, "P5", "length_mm = 600", "length_mm = 450"),), "Fix", ("P5",), ("450 mm", "700 mm")
    ),
    Case("E523", TRIKE, (wire(TRIKE, "P5", "length_mm = 600", "length_mm = 2100"),), "Know", ("P5",), ("1400 mm",)),
    # Two 10 AWG and a 18 AWG pack to about 13 mm; a 10 mm hole takes neither them nor a grommet.
    Case("E524", TRIKE, (run("hole_mm = 10"),), "Fix", ("run 4",), ("10 mm", "3 wires"), (run("hole_mm = 20"),)),
    Case("E525", TRIKE, (run("hole_mm = 25"),), "Know", ("run 4", "plug"), ("41.1 mm",), (run("hole_mm = 45"),)),
    Case("E526", TRIKE, (run("bend_radius_mm = 8"),), "Fix", ("run 4",), ("8 mm",), (run("bend_radius_mm = 40"),)),
    Case(
        "E527", TRIKE, (run("supports_mm = 500"),), "Fix", ("run 4",), ("500 mm", "450 mm"), (run("supports_mm = 450"),)
    ),
    Case(
        "E528",
        TRIKE,
        (
            ("[place.case]\ncomes_off = true", "[place.case]\ncomes_off = true\nslack_mm = 20"),
            wire(TRIKE, "M3", ", length_mm = 600", ""),
        ),
        "Fix",
        ("case", "M3"),
        ("20 mm",),
        (
            ("[place.case]\ncomes_off = true", "[place.case]\ncomes_off = true\nslack_mm = 150"),
            wire(TRIKE, "M3", ", length_mm = 600", ""),
        ),
    ),
    Case("E529", TRIKE, (wire(TRIKE, "S5", "length_mm = 400", "length_mm = 30"),), "Know", ("S5",), ("30 mm", "Bolt")),
    Case(
        "E530",
        TRIKE,
        (wire(TRIKE, "R2", '"4 AWG"', '"4 AWG", colour = "RD"'),),
        "Fix",
        ("R2",),
        ("red (RD)", "black (BK)"),
        (wire(TRIKE, "R2", '"4 AWG"', '"4 AWG", colour = "BK"'),),
    ),
    # A 2/0 lug has no M5 hole: the ways of this block have M5 screws.
    Case("E611", TRIKE, (wire(TRIKE, "P3", '"10 AWG"', '"2/0 AWG"'),), "Fix", ("block", "P3"), ("67.4 mm²", "M5")),
    Case("E612", TRIKE, SIX_LOADED, "Fix", ("lights", "lights.a1"), ("6 loaded contacts", "13 A")),
    Case(
        "E613",
        TRIKE,
        SECOND_PLUG,
        "Fix",
        ("plug", "plug2"),
        ("power meets ground",),
        (*SECOND_PLUG[1:], item("plug2", "connector_power_2_120a", "deck")),
    ),
    Case("E613", TRIKE, TWO_SPEAKER_PLUGS, "Know", ("front_plug", "rear_plug"), ("2 connectors",)),
    Case(
        "E614",
        TRIKE,
        (('[item.plug]\npart = "connector_power_2_50a"', '[item.plug]\npart = "connector_2_open"\nsockets = "b"'),),
        "Fix",
        ("plug",),
        ("Half a", "half a"),
        (('[item.plug]\npart = "connector_power_2_50a"', '[item.plug]\npart = "connector_2_open"\nsockets = "a"'),),
    ),
    Case(
        "E615",
        TRIKE,
        (wire(TRIKE, "P4", '"plug.a1"', '"case_amp.supply+"'), *without(TRIKE, "P5")),
        "Fix",
        ("plug", "case_amp"),
        ("1 item",),
    ),
    Case(
        "E616",
        TRIKE,
        (*TWO_SPEAKER_PLUGS[:2], *(
            wire(TRIKE, w, old, new) for w, old, new in (
                ("S1", '"front_left.+"', '"front_plug.a1"'), ("S2", '"front_left.-"', '"rear_plug.a2"'),
            )
        ), add(TRIKE, "S5", 'id = "S11", from = "front_plug.b1", to = "front_left.+", size = "16 AWG"',
               'id = "S12", from = "rear_plug.b2", to = "front_left.-", size = "16 AWG"')),
        "Know",
        ("front_left", "front_plug", "rear_plug"),
        ("1 pair in 2 connectors",),
    ),
    Case(  # one that has no like: beside its like it is E916, and told once
        "E617",
        TRIKE,
        (*TURNED, ('[item.front_right]\npart = "driver_6_5in"', '[item.front_right]\npart = "driver_6_5in_marine"')),
        "Know",
        ("front_right",),
        ("front_right on front_amp.ch2",),
    ),
    Case(
        "E617",
        BUGGY,
        (wire(BUGGY, "S3", "ch1+", "ch1-"), wire(BUGGY, "S4", "ch1-", "ch1+")),
        "Know",
        ("bass",),
        ("bass on bass_amp.ch1",),
    ),
    Case("E531", TRIKE, (wire(TRIKE, "M2", 'id = "M2"', 'id = "P-2"'),), "Know", ("P2", "P-2"), ("read alike",)),
    Case(
        "E531",
        TRIKE,
        (wire(TRIKE, "M2", 'id = "M2"', 'id = "remote_from_front_amp_to_case_plug"'),),
        "Know",
        ("remote_from_front_amp_to_case_plug",),
        ("28 characters",),
    ),
    Case(
        "E532",
        TRIKE,
        (THICK, *(wire(TRIKE, w, old, '"4/0 AWG"') for w, old in FOUR_HEAVY)),
        "Fix",
        ("run 1",),
        ("convoluted tube",),
        (THICK,),
    ),
    Case(
        "E533",
        TRIKE,
        (STRAIGHT, wire(TRIKE, "L1", '"0.35 mm2"', '"0.35 mm2", via = ["seat"]')),
        "Know",
        ("L1",),
        ("over seat", "2100 mm"),
        (STRAIGHT,),
    ),
    Case(
        "E534",
        TRIKE,
        (ROUND, wire(TRIKE, "P6", '"16 AWG"', '"16 AWG", via = ["case"]')),
        "Know",
        ("P6",),
        ("4700 mm", "2100 mm"),
        (ROUND,),
    ),
    Case("E619", TRIKE, CHARGE_PLUG, "Know", ("charge_plug",), ("half b has the pins",),
         (*CHARGE_PLUG[1:], item("charge_plug", "connector_power_2_50a", "seat"))),
    Case(
        "E620",
        TRIKE,
        (wire(TRIKE, "R6", '"16 AWG"', '"20 AWG"'),),
        "Know",
        ("gnd", "R6"),
        ("1 end",),
    ),
    Case(
        "E621",
        TRIKE,
        (
            wire(TRIKE, "S5", '"case_left.+"', '"front_left.+"'), wire(TRIKE, "S6", '"case_left.-"', '"front_left.-"'),
            *without(TRIKE, "S1", "S2"), ('[item.case_left]\npart = "driver_6_5in"\nplace = "case"\n', ""),
        ),
        "Know",
        ("case", "front_left"),
        ("1 item elsewhere",),
    ),
    Case(
        "E618",
        TRIKE,
        (item("lights", "connector_6_sealed", "deck"), *SIX_LOADED[1:]),
        "Know",
        ("lights",),
        ("All 6 contacts",),
        SIX_LOADED,
    ),
)  # fmt: skip
