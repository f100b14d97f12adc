"""One spoiled rig for each check on loudspeakers, crossovers, switching, levels and watts."""

from __future__ import annotations

from tests.findings.bases import BUGGY, LAUNCH, TRIKE, Edit
from tests.findings.edits import Case, add, item, wire, without


def driver(part: str) -> Edit:
    """Another driver at the left of the front."""
    return ('[item.front_left]\npart = "driver_6_5in"', f'[item.front_left]\npart = "{part}"')


def front(extra: str) -> Edit:
    """A key on the front amplifier."""
    return ("[item.front_amp]\n", f"[item.front_amp]\n{extra}\n")


def source(part: str) -> Edit:
    return ('part = "source_line_2out"', f'part = "{part}"')


REVERSED: tuple[Edit, ...] = (
    wire(TRIKE, "S1", "front_left.+", "front_left.-"), wire(TRIKE, "S2", "front_left.-", "front_left.+"),
)  # fmt: skip


def before(part: str, tag: str = "+") -> tuple[Edit, ...]:
    """A passive part in the lead of the left front driver."""
    return (
        wire(TRIKE, "S1", 'to = "front_left.+"', 'to = "part.a"'),
        add(TRIKE, "S2", f'id = "S11", from = "part.b", to = "front_left.{tag}", size = "16 AWG"'),
        item("part", part, "bars"),
    )


BACKWARDS: tuple[Edit, ...] = (
    wire(TRIKE, "S1", 'to = "front_left.+"', 'to = "part.a"'),
    wire(TRIKE, "S2", "front_left.-", "front_left.+"),
    add(TRIKE, "S3", 'id = "S11", from = "part.b", to = "front_left.-", size = "16 AWG"'),
    item("part", "capacitor_nonpolar_100u", "bars"),
)
DSP: tuple[Edit, ...] = (
    item("dsp", "processor_2in_4out", "deck"),
    ("fuses_a = [25, 25, 5, 0]", "fuses_a = [25, 25, 5, 5]"),
    wire(TRIKE, "M1", "front_amp.remote", "dsp.remote_in"),
    wire(TRIKE, "L1", "front_amp.in1", "dsp.in1"),
    wire(TRIKE, "L2", "front_amp.in2", "dsp.in2"),
    add(
        TRIKE, "P6",
        'id = "P7", from = "block.out4", to = "dsp.supply+", size = "16 AWG"',
        'id = "R7", from = "gnd.stud8", to = "dsp.supply-", size = "16 AWG"',
        'id = "M4", from = "dsp.remote_out", to = "front_amp.remote", size = "18 AWG"',
        'id = "L3", from = "dsp.out1", to = "front_amp.in1", size = "0.35 mm2"',
        'id = "L4", from = "dsp.out2", to = "front_amp.in2", size = "0.35 mm2"',
    ),
)  # fmt: skip
M4 = '  { id = "M4", from = "dsp.remote_out", to = "front_amp.remote", size = "18 AWG" },\n'
UNWOKEN: tuple[Edit, ...] = tuple((old, new.replace(M4, "")) for old, new in DSP if "dsp.remote_in" not in new)


def tie(start: str, end: str) -> Edit:
    """One remote wire more."""
    return add(TRIKE, "M2", f'id = "M5", from = "{start}", to = "{end}", size = "18 AWG"')


def speaker_level(*wires: str, amp: str = "amp_hi", unit: str = "source_marine_4spk_6out") -> tuple[Edit, ...]:
    """The launch with speaker wires from the source to the amplifier in place of line leads."""
    rows = [f'id = "H{n}", {w}, size = "16 AWG", metal = "tinned copper"' for n, w in enumerate(wires, 1)]
    return (
        *without(LAUNCH, "L1", "L2"), add(LAUNCH, "M1", *rows),
        ('part = "amp_2x80_class_d"', f'part = "{amp}"'), ('part = "source_marine_4spk_6out"', f'part = "{unit}"'),
    )  # fmt: skip


PAIR = ('from = "source.spk1+", to = "amp.hi1+"', 'from = "source.spk1-", to = "amp.hi1-"')
UNSAID_BRIDGE: tuple[Edit, ...] = (
    *without(TRIKE, "S3", "S4"), ('[item.front_right]\npart = "driver_6_5in"\nplace = "bars"\n', ""),
    wire(TRIKE, "S2", '"front_amp.ch1-"', '"front_amp.ch2-"'),
)  # fmt: skip
LATE: Edit = ('session_engine = "cruise"', 'session_engine = "off"')
HIGH_PASS = "bands = [{ channels = [1, 2], high_pass_hz = 130 }]"

SOUND: tuple[Case, ...] = (
    Case("E911", TRIKE, (wire(TRIKE, "S1", "front_left.+", "front_left.-"),), "Stop",
         ("front_amp.ch1+", "front_amp.ch1-"), ("0 Ω",)),
    Case("E912", TRIKE, (wire(TRIKE, "S4", "front_right.-", "front_left.-"),), "Stop",
         ("front_amp.ch1+", "front_amp.ch2+"), ("2 outputs",)),
    Case("E913", TRIKE, (driver("deep_dip"),), "Fix", ("front_amp.ch1+", "front_left"), ("1.6 Ω",)),
    Case("E914", TRIKE, UNSAID_BRIDGE, "Fix", ("front_amp",), ("bridged",),
         mended=(*UNSAID_BRIDGE, front("bridged = [[1, 2]]"))),
    Case("E915", TRIKE, (
        add(TRIKE, "S2", 'id = "S11", from = "front_left.+", to = "extra.+", size = "16 AWG"',
            'id = "S12", from = "extra.+", to = "extra.-", size = "16 AWG"'),
        item("extra", "driver_6_5in", "bars")), "Fix", ("extra",), ("0 V",)),
    Case("E916", TRIKE, REVERSED, "Fix", ("front_left",), ("front_amp.ch1-", "3 like it")),
    Case("E916", TRIKE, BACKWARDS, "Know", ("front_left",), ("crossover",)),
    Case("E917", TRIKE, (
        add(TRIKE, "S2", 'id = "S11", from = "front_left.+", to = "horn.+", size = "16 AWG"',
            'id = "S12", from = "front_left.-", to = "horn.-", size = "16 AWG"'),
        item("horn", "horn_8ohm", "bars")), "Know", ("front_amp", "horn"), ("13", "louder than front_left")),
    Case("E918", TRIKE, (wire(TRIKE, "S1", "16 AWG", "26 AWG"), wire(TRIKE, "S2", "16 AWG", "26 AWG")), "Fix",
         ("front_left", "S1", "S2"), ("AWG",)),
    Case("E918", TRIKE, (wire(TRIKE, "S1", "16 AWG", "20 AWG"), wire(TRIKE, "S2", "16 AWG", "20 AWG")), "Know",
         ("front_left", "S1", "S2"), ("dB",)),
    Case("E919", TRIKE, tuple(wire(TRIKE, s, "16 AWG", "10 AWG") for s in ("S5", "S6")), "Know", ("case_left",),
         ("1 loudspeaker",)),
    Case("E921", TRIKE, (driver("tweeter_25mm"),), "Fix", ("front_left",), ("3000 Hz", "1500 Hz"),
         mended=(driver("tweeter_25mm"), front("bands = [{ channels = [1], high_pass_hz = 3500 }]"))),
    Case("E921", TRIKE, (*DSP, driver("tweeter_25mm")), "Know", ("front_left",), ("as far as the rig describes",)),
    Case("E922", TRIKE, before("capacitor_nonpolar_100u"), "Know", ("front_left", "part"), ("by the textbook",)),
    Case("E923", TRIKE, before("large_capacitor"), "Know", ("front_left", "part"), ("dB",)),
    Case("E924", TRIKE, before("weak_capacitor"), "Fix", ("part",), ("16 V",), mended=before("capacitor_film_15u")),
    Case("E925", TRIKE, before("resistor_2r2_10w"), "Fix", ("part",), ("10 W",)),
    Case("E926", TRIKE, (source("thumper"),), "Fix", ("front_amp", "source"), ("1500 ms", "3000 ms")),
    Case("E926", TRIKE, (source("slow"),), "Know", ("front_amp", "source"), ("3000 ms",)),
    Case("E927", TRIKE, (source("thumper"),), "Fix", ("front_amp", "source"), ("20 ms", "100 ms")),
    Case("E927", TRIKE, (source("slow"),), "Know", ("front_amp", "source"), ("20 ms",)),
    Case("E928", TRIKE, (wire(TRIKE, "M1", '"source.remote_out"', '"battery.plus"'),), "Fix", ("front_amp",),
         ("0.5 A", "12 Ah")),
    Case("E929", TRIKE, (*DSP, tie("source.remote_out", "dsp.remote_out")), "Fix", ("dsp",), ("500 ms",), mended=DSP),
    Case("E930", TRIKE, UNWOKEN, "Fix", ("dsp",), ("dsp.remote_in",), mended=DSP),
    Case("E931", TRIKE, (*UNWOKEN, tie("dsp.remote_out", "case_amp.remote")), "Know",
         ("source.remote_out", "dsp.remote_out"), ("2 outputs",), mended=DSP),
    Case("E932", LAUNCH, without(LAUNCH, "L1", "L2"), "Know", ("amp",), ("0 signal leads",)),
    Case("E933", TRIKE, (*DSP, source("hot")), "Fix", ("dsp", "dsp.in1"), ("20 V", "5 V"), mended=DSP),
    Case("E934", TRIKE, (source("faint"),), "Fix", ("front_amp",), ("0.112 V", "0.25 V")),
    Case("E934", TRIKE, (source("soft"),), "Know", ("front_amp",), ("0.25 V",)),
    Case("E935", TRIKE, (source("hot"),), "Fix", ("front_amp",), ("8 V",)),
    Case("E936", TRIKE, (front("gains_v = [0.3, 1.1]"),), "Fix", ("front_amp.ch1+",), ("0.3 V", "17.9 V")),
    Case("E937", TRIKE, (driver("horn_8ohm"),), "Know", ("front_left",), ("30 is a quiet evening",)),
    Case("E938", LAUNCH, speaker_level(*PAIR, amp="amp_hi_grounded"), "Stop", ("source.spk1+", "amp.hi1+"), (),
         mended=speaker_level(*PAIR)),
    Case("E939", LAUNCH, speaker_level(*PAIR, unit="senser"), "Fix", ("source.spk1+",), ("47 to 120 Ω",),
         mended=speaker_level(*PAIR)),
    Case("E940", LAUNCH, speaker_level(PAIR[0]), "Fix", ("amp.hi1+",), ("1 of 2 wires",), mended=speaker_level(*PAIR)),
    Case("E941", TRIKE, (('[item.front_amp]\npart = "amp_2x80_class_d"', '[item.front_amp]\npart = "amp_boast"'),),
         "Fix", ("front_amp",), ("1000 W", "333 W")),
    Case("E941", LAUNCH, (('part = "source_marine_4spk_6out"', 'part = "boaster"'),), "Know", ("source",),
         ("200 W", "104 W")),
    Case("E942", TRIKE, (driver("frail"), front("gains_v = [0.3, 1.1]")), "Fix", ("front_left",), ("30 W",),
         mended=(driver("frail"),)),
    Case("E943", TRIKE, (driver("frail"),), "Know", ("front_left", "front_amp"), ("80 W", "11.1 V"),
         mended=(driver("frail"), front("bands = [{ channels = [1], high_pass_hz = 90, limit_w = 30 }]"))),
    Case("E944", TRIKE, (front("bands = [{ channels = [1, 2], high_pass_hz = 30 }]"),), "Fix", ("front_left",), ("Hz",),
         mended=(front(HIGH_PASS),)),
    Case("E945", TRIKE, (), "Know", ("front_left",), ("4 drivers",), mended=(front(HIGH_PASS),)),
    Case("E946", BUGGY, (LATE, ("charge_pct = 90", "charge_pct = 30")),
         "Know", ("front_amp",), ("engine off",)),
    Case("E947", TRIKE, (("", "\n[limits]\nlistening_mm = 200\n"),), "Know", ("front_left",), ("0.2 m",)),
)  # fmt: skip
