"""One spoiled rig for each check: which base, what is changed, what the finding must say.

The corrected twin is the base itself, unless ``mended`` names the edits that put it right.
"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.findings.model import Severity
from tests.findings.bases import BUGGY, LAUNCH, TRIKE, Edit


@dataclass(frozen=True)
class Case:
    """A check, the rig that must raise it, and words that its evidence and remedy must hold."""

    code: str
    base: str
    edits: tuple[Edit, ...]
    severity: Severity
    where: tuple[str, ...] = ()
    says: tuple[str, ...] = ()
    mended: tuple[Edit, ...] = ()
    mended_base: str = ""

    @property
    def twin(self) -> str:
        return self.mended_base or self.base


def line(text: str, wire: str) -> str:
    """The line of a wire in a base."""
    return next(row for row in text.splitlines(keepends=True) if f'{{ id = "{wire}",' in row)


def without(text: str, *wires: str) -> tuple[Edit, ...]:
    """Edits that take wires out."""
    return tuple((line(text, w), "") for w in wires)


def item(name: str, part: str, place: str, extra: str = "") -> Edit:
    """An edit that adds an item."""
    return ("", f'\n[item.{name}]\npart = "{part}"\nplace = "{place}"\n{extra}\n')


def wire(text: str, wire_id: str, old: str, new: str) -> Edit:
    """An edit on one wire's line."""
    row = line(text, wire_id)
    assert old in row, row
    return (row, row.replace(old, new))


def add(text: str, after: str, *rows: str) -> Edit:
    """An edit that adds wires behind one."""
    row = line(text, after)
    return (row, row + "".join(f"  {{ {r} }},\n" for r in rows))


PLAIN = (
    ('part = "fused_block_4way_c"\nplace = "deck"\nfuses_a = [25, 25, 5, 0]', 'part = "plain_block_4"\nplace = "deck"'),
)
WEAK_MAIN = (
    ('part = "holder_post"\nplace = "seat"\nfuses_a = [80]', 'part = "holder_c"\nplace = "seat"\nfuses_a = [30]'),
)
WEAKER_MAIN = ((WEAK_MAIN[0][0], WEAK_MAIN[0][1].replace("30", "20")),)
FRONT_AB = ('[item.front_amp]\npart = "amp_2x80_class_d"', '[item.front_amp]\npart = "amp_2x100_class_ab"')
TIED = (
    wire(BUGGY, "P2", 'to = "parter.main"', 'to = "link_fuse.out"'),
    *without(BUGGY, "P3"),
    ('[item.parter]\npart = "isolator_relay_100a"\nplace = "rear"\n', ""),
)
COIL = (
    add(
        TRIKE,
        "M1",
        'id = "M8", from = "source.remote_out", to = "relay.86", size = "18 AWG"',
        'id = "M9", from = "relay.85", to = "gnd.stud9", size = "18 AWG"',
    ),
)
MORE_DRIVERS = (
    add(
        TRIKE,
        "S2",
        'id = "S11", from = "front_left.+", to = "extra1.+", size = "16 AWG"',
        'id = "S12", from = "front_left.-", to = "extra1.-", size = "16 AWG"',
        'id = "S13", from = "extra1.+", to = "extra2.+", size = "16 AWG"',
        'id = "S14", from = "extra1.-", to = "extra2.-", size = "16 AWG"',
    ),
    item("extra1", "driver_6_5in", "bars"),
    item("extra2", "driver_6_5in", "bars"),
)

CASES: tuple[Case, ...] = (
    # feeds
    Case(
        "E101",
        TRIKE,
        (wire(TRIKE, "P6", '"block.out3"', '"battery.plus"'),),
        "Stop",
        ("battery", "P6"),
        ("1200 mm", "178 mm", "source"),
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
        ("700 mm",),
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
                'part = "fused_block_4way_sf30"\nplace = "cuddy"\nfuses_a = [30, 30, 30, 0]',
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
    Case("E308", BUGGY, (), "Know", ("M1", "M2"), ("go dark",), mended_base=TRIKE),
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
        "Know",
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
        (wire(TRIKE, "P2", '"4 AWG"', '"4 AWG", length_mm = 2000, measured_mohm = 2.2'),),
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
        (("fuses_a = [30, 30, 30, 0]", "fuses_a = [30, 60, 30, 0]"),),
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
