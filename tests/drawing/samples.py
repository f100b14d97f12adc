"""Small rigs and results made by hand, so that drawings and papers can be tried without any working-out.

The figures are round and invented; only their places matter here.
"""

from __future__ import annotations

import math

from loomwright.power.results import (
    BassHit,
    CaseResult,
    ChargeBalance,
    DeviceState,
    ItemState,
    JointState,
    PowerResult,
    Session,
    WireState,
)
from loomwright.protection.results import (
    Choice,
    Device,
    FaultResult,
    Guard,
    Opening,
    ProtectionResult,
    Selectivity,
)
from loomwright.rig.model import (
    ENGINE_STATES,
    PROGRAMMES,
    AmplifierSpec,
    BarSpec,
    BatterySpec,
    ChargerSpec,
    ConnectorSpec,
    DcdcSpec,
    Family,
    FuseSpec,
    IsolatorSpec,
    Item,
    Kind,
    LoadSpec,
    Part,
    Place,
    RelaySpec,
    Rig,
    Spec,
    Terminal,
    Vehicle,
    Wire,
    WireSize,
)
from loomwright.study import Study

SIZES = {
    "1/0 AWG": WireSize("1/0 AWG", "AWG", 53.5, 9.5),
    "4 AWG": WireSize("4 AWG", "AWG", 21.2, 6.0),
    "8 AWG": WireSize("8 AWG", "AWG", 8.37, 3.7),
    "12 AWG": WireSize("12 AWG", "AWG", 3.31, 2.4),
    "16 AWG": WireSize("16 AWG", "AWG", 1.31, 1.5),
    "bolted": WireSize("bolted", "bolted", 50.0, 8.0),
}
BATTERY = BatterySpec("agm", 20.0, 10.0, 250.0, "agm_a", 13.8, 14.7, 6.0, 0.1, 1.1)
AMPLIFIER = AmplifierSpec("D", 4, 75, 120, 14.4, 2, 240, 4, "stiff", 1.0, 0.8, 0.6, 9.0, 10, True, 0.1, (30.0, 30.0))
LOAD = LoadSpec("power", 12.0)


def part(family: Family, title: str, spec: Spec, *names: str, ways: int = 0) -> Part:
    def kind(name: str) -> Kind:
        grounds = ("minus", "ground", "supply-", "g")
        return "ground" if name in grounds or (title.startswith("Ground") or family == "frame") else "power"

    return Part(f"{family}_part", family, title, tuple(Terminal(n, kind(n)) for n in names), spec, ways)


def battery(title: str = "AGM battery") -> Part:
    return part("battery", title, BATTERY, "plus", "minus")


def amplifier(title: str = "Amplifier 4 × 75 W, class D") -> Part:
    return part("amplifier", title, AMPLIFIER, "supply+", "supply-")


def holder(title: str = "Bolted fuse holder") -> Part:
    return part("fuse_holder", title, FuseSpec("SF30", 200), "in", "out")


def block(ways: int) -> Part:
    return part(
        "fused_block",
        f"Fused block, {ways} ways",
        FuseSpec("C", 80),
        "in",
        *(f"out{k + 1}" for k in range(ways)),
        ways=ways,
    )


def bus(title: str = "Ground bus bar", studs: int = 8) -> Part:
    return part("bus", title, BarSpec(0.05, 150), *(f"stud{k + 1}" for k in range(studs)))


def rig(title: str, items: dict[str, Part], wires: list[tuple[str, str, str, str, float]], **more: object) -> Rig:
    made = {}
    for item_id, its_part in items.items():
        fuses: tuple[float, ...] = (
            tuple([60.0, 40.0, 30.0, 20.0, 15.0, 10.0][: its_part.ways]) if its_part.ways else (80.0,)
        )
        made[item_id] = Item(item_id, its_part, "bay", fuses if "fuse" in its_part.family else ())
    drawn = []
    for wire_id, start, end, size, length_mm in wires:
        owner, _, name = start.rpartition(".")
        kind = items[owner].terminal(name).kind
        drawn.append(Wire(wire_id, start, end, kind, SIZES[size], "copper", length_mm, ()))
    return Rig(
        title,
        "sample.toml",
        30.0,
        Vehicle("trike", start_battery="battery"),
        {"bay": Place("bay", 40.0)},
        (),
        made,
        tuple(drawn),
        **more,
    )  # type: ignore[arg-type]


def trike() -> Rig:
    items = {
        "battery": battery("AGM battery, front"),
        "alternator": part(
            "charger", "Alternator 40 A", ChargerSpec("alternator", (1000, 4000), (15, 40), 14.2, 5), "out", "ground"
        ),
        "main_fuse": holder(),
        "block": block(4),
        "gnd_bus": bus(),
        "rear_amp": amplifier(),
        "front_amp": amplifier("Amplifier 2 × 100 W, class AB"),
        "sub_amp": amplifier("Amplifier 1 × 300 W, class D"),
        "processor": part("processor", "Processor 4 in, 6 out", LOAD, "supply+", "supply-"),
    }
    wires = [
        ("P0", "alternator.out", "battery.plus", "8 AWG", 900.0),
        ("P1", "battery.plus", "main_fuse.in", "4 AWG", 150.0),
        ("P2", "main_fuse.out", "block.in", "4 AWG", 1800.0),
        ("P3", "block.out1", "rear_amp.supply+", "8 AWG", 450.0),
        ("P4", "block.out2", "front_amp.supply+", "8 AWG", 2400.0),
        ("P5", "block.out3", "sub_amp.supply+", "8 AWG", 500.0),
        ("P6", "block.out4", "processor.supply+", "16 AWG", 600.0),
        ("G0", "alternator.ground", "battery.minus", "8 AWG", 900.0),
        ("G1", "battery.minus", "gnd_bus.stud1", "4 AWG", 1900.0),
        ("G3", "rear_amp.supply-", "gnd_bus.stud2", "8 AWG", 450.0),
        ("G4", "front_amp.supply-", "gnd_bus.stud3", "8 AWG", 2400.0),
        ("G5", "sub_amp.supply-", "gnd_bus.stud4", "8 AWG", 500.0),
        ("G6", "processor.supply-", "gnd_bus.stud5", "16 AWG", 600.0),
    ]
    return rig("Carnival trike, sample", items, wires)


def buggy() -> Rig:
    items = {
        "battery": battery("Flooded battery, starting"),
        "house": battery("LFP battery, house"),
        "alternator": part(
            "charger", "Alternator 70 A", ChargerSpec("alternator", (1000, 4000), (25, 70), 14.2, 5), "out", "ground"
        ),
        "frame": part("frame", "Vehicle frame", BarSpec(0.5, 400), *(f"stud{k}" for k in range(1, 7))),
        "charge_fuse": holder(),
        "charger": part("dcdc", "DC-DC charger 30 A", DcdcSpec(14.4, 30, 0.9, 13.0), "in", "out", "ground"),
        "house_fuse": holder(),
        "cutoff": part("switch", "Battery switch", BarSpec(0.2, 300), "in", "out"),
        "block": block(6),
        "relay": part("relay", "Relay 40 A", RelaySpec(150, 40, 2, True), "30", "87", "85", "86"),
        "plug": part(
            "connector", "Two-pole power connector", ConnectorSpec(2, 50, 0.5, 5, 16, True), "a1", "b1", "a2", "b2"
        ),
        "gnd_bus": bus(),
        "amp_a": amplifier(),
        "amp_b": amplifier(),
        "amp_c": amplifier(),
        "amp_d": amplifier(),
        "player": part("source", "Source unit", LOAD, "supply+", "supply-"),
        "pump": part("accessory", "Bilge pump", LOAD, "supply+", "supply-"),
        "parallel": part("isolator", "Paralleling relay", IsolatorSpec("relay", 140, 0.5), "main", "aux"),
    }
    wires = [
        ("A1", "alternator.out", "battery.plus", "8 AWG", 700.0),
        ("A2", "alternator.ground", "frame.stud1", "bolted", 1.0),
        ("A3", "battery.minus", "frame.stud2", "4 AWG", 400.0),
        ("B1", "battery.plus", "charge_fuse.in", "8 AWG", 150.0),
        ("B2", "charge_fuse.out", "charger.in", "8 AWG", 2200.0),
        ("B3", "charger.out", "house.plus", "8 AWG", 300.0),
        ("B4", "charger.ground", "gnd_bus.stud1", "8 AWG", 350.0),
        ("C1", "house.plus", "house_fuse.in", "1/0 AWG", 120.0),
        ("C2", "house_fuse.out", "cutoff.in", "1/0 AWG", 200.0),
        ("C3", "cutoff.out", "block.in", "1/0 AWG", 900.0),
        ("C4", "house.minus", "gnd_bus.stud2", "1/0 AWG", 900.0),
        ("C5", "gnd_bus.stud3", "frame.stud3", "4 AWG", 600.0),
        ("D1", "block.out1", "plug.a1", "8 AWG", 500.0),
        ("D2", "plug.b1", "amp_a.supply+", "8 AWG", 700.0),
        ("D3", "amp_a.supply-", "plug.b2", "8 AWG", 700.0),
        ("D4", "plug.a2", "gnd_bus.stud4", "8 AWG", 500.0),
        ("E1", "block.out2", "amp_b.supply+", "8 AWG", 450.0),
        ("E2", "amp_b.supply-", "gnd_bus.stud5", "8 AWG", 450.0),
        ("F1", "block.out3", "amp_c.supply+", "8 AWG", 450.0),
        ("F2", "amp_c.supply-", "gnd_bus.stud6", "8 AWG", 450.0),
        ("H1", "block.out4", "amp_d.supply+", "8 AWG", 450.0),
        ("H2", "amp_d.supply-", "gnd_bus.stud7", "8 AWG", 450.0),
        ("K1", "block.out5", "relay.30", "12 AWG", 300.0),
        ("K2", "relay.87", "player.supply+", "12 AWG", 900.0),
        ("K3", "player.supply-", "gnd_bus.stud8", "12 AWG", 900.0),
        ("K4", "relay.86", "gnd_bus.stud8", "16 AWG", 500.0),
        ("L1", "block.out6", "pump.supply+", "12 AWG", 3000.0),
        ("L2", "pump.supply-", "frame.stud4", "12 AWG", 400.0),
        ("M1", "battery.plus", "parallel.main", "4 AWG", 800.0),
        ("M2", "parallel.aux", "house.plus", "4 AWG", 800.0),
    ]
    return rig("Harvest buggy, sample", items, wires)


def tiny() -> Rig:
    items = {"battery": battery(), "fuse": holder(), "amp": amplifier()}
    wires = [
        ("P1", "battery.plus", "fuse.in", "8 AWG", 150.0),
        ("P2", "fuse.out", "amp.supply+", "8 AWG", 1200.0),
        ("G1", "amp.supply-", "battery.minus", "8 AWG", 1200.0),
    ]
    return rig("Tiny", items, wires)


HOSTILE = (
    "<b>&\"'</b>",
    '#import "x"',
    "$x^2$ `r`",
    "../../etc",
    "a|b; --",
    "]]> <!--",
    "\x00\x1b[31m",
    "*bold* _it_ @ref",
)


def hostile() -> Rig:
    """Ids that are markup in SVG, typst or a path."""
    names = [n.replace(".", "") for n in HOSTILE]
    items = {names[0]: battery(names[1]), names[2]: holder(names[3]), names[4]: amplifier(names[5])}
    wires = [
        (HOSTILE[3], f"{names[0]}.plus", f"{names[2]}.in", "8 AWG", 150.0),
        (HOSTILE[6], f"{names[2]}.out", f"{names[4]}.supply+", "8 AWG", 1200.0),
        (HOSTILE[7], f"{names[4]}.supply-", f"{names[0]}.minus", "8 AWG", 1200.0),
    ]
    return rig("#panic() </title> $title$", items, wires)


def power(given: Rig) -> PowerResult:
    refs = sorted({r for w in given.wires for r in (w.start, w.end)})
    cases = {}
    for k, engine in enumerate(ENGINE_STATES):
        for n, programme in enumerate(PROGRAMMES):
            items = {}
            for item in given.items.values():
                if item.part.family in ("amplifier", "processor", "source", "accessory"):
                    amps = 0.5 + 12.0 * n if item.part.family == "amplifier" else 0.9
                    items[item.id] = ItemState(12.4 + 0.5 * k - 0.3 * n, amps, amps * 12.2, amps * 7.0, 0.1 + 0.1 * n)
                elif item.part.family in ("battery", "charger"):
                    items[item.id] = ItemState(12.7 + 0.6 * k, -20.0 * n + 4.0 * k, -240.0 * n)
            wires = {
                w.id: WireState(
                    (1.0 if w.kind == "power" else -1.0) * (0.4 + 9.0 * n),
                    20.0 + 30 * n,
                    0.4 * n,
                    41.0 + 8 * n,
                    40.0 + 7 * n,
                    41.0 + 8 * n,
                    105.0,
                    60.0,
                    1.1,
                )
                for w in given.wires
            }
            joints = {
                f"{w.id}@{r}": JointState(9.0 * n, 2.0 * n, 0.02 * n, 0.2)
                for w in given.wires
                for r in (w.start, w.end)
            }
            cases[engine, programme] = CaseResult(
                engine,
                programme,
                not (engine == "off" and programme == "sine"),
                2.5 - 0.5 * n + k,
                None if n < 3 else "amp",
                1.0,
                items,
                wires,
                joints,
                {d.id: DeviceState(9.0 * n, d.rating_a, d.rating_a * 0.8, 20.0) for d in devices(given)},
                {r: (12.6 if given.terminal(r).kind == "power" else 0.05) + 0.4 * k for r in refs},
                {},
            )
    hours = tuple(0.1 * k for k in range(61))
    batteries = [i.id for i in given.family("battery")]
    sessions = []
    for engine, fall in (("off", 16.0), ("idle", 6.0), ("cruise", -2.0)):
        charge = {
            b: tuple(max(0.0, min(100.0, 85.0 - (fall + 3 * k) * h)) for h in hours) for k, b in enumerate(batteries)
        }
        sessions.append(
            Session(
                engine,
                "music",
                hours,
                charge,
                {b: tuple(12.7 for _ in hours) for b in batteries},  # type: ignore[arg-type]
                tuple(10.5 - fall * 0.05 * h for h in hours),
                3.2 if fall > 10 else math.inf,
                6.0,
            )
        )
    amps = [i.id for i in given.family("amplifier")]
    ms = tuple(range(0, 121, 4))
    bass = tuple(
        BassHit(
            engine,
            dict.fromkeys(amps, 11.4 + 0.3 * k),
            dict.fromkeys(amps, 0.6),
            0.0,
            2.0,
            ms,
            {a: tuple(12.6 - 0.1 * n - (0.8 if 10 <= t <= 60 else 0.0) for t in ms) for n, a in enumerate(amps)},
        )
        for k, engine in enumerate(ENGINE_STATES)
    )
    balance = tuple(
        ChargeBalance(e, p, 12.0 if e == "idle" else 32.0, 6.0 + 8 * n, 3.0, 6.0 - 8 * n)
        for e in ("idle", "cruise")
        for n, p in enumerate(PROGRAMMES)
    )
    return PowerResult(cases, balance, tuple(sessions), bass, {d.id: 900.0 for d in devices(given)})  # type: ignore[arg-type]


def devices(given: Rig) -> tuple[Device, ...]:
    out = []
    for item in given.items.values():
        if item.part.family == "fuse_holder":
            out.append(
                Device(
                    f"{item.id}.1", item.id, 1, "SF30", 80.0, 1, 40.0, 2000.0, f"{item.id}.in", f"{item.id}.out", True
                )
            )
        if item.part.family == "fused_block":
            out += [
                Device(
                    f"{item.id}.{k + 1}",
                    item.id,
                    k + 1,
                    "C",
                    float(item.fuses_a[k]),
                    1,
                    40.0,
                    1000.0,
                    f"{item.id}.in",
                    f"{item.id}.out{k + 1}",
                    False,
                )
                for k in range(item.part.ways)
            ]
        if item.part.family == "amplifier":
            out.append(
                Device(
                    f"{item.id}.own",
                    item.id,
                    0,
                    "C",
                    30.0,
                    2,
                    40.0,
                    1000.0,
                    f"{item.id}.supply+",
                    f"{item.id}.supply+",
                    False,
                )
            )
    return tuple(out)


def protection(given: Rig) -> ProtectionResult:
    found = {d.id: d for d in devices(given)}
    mains = [d for d in found.values() if d.type == "SF30"]
    ways = [d for d in found.values() if d.way and d.type == "C"]
    own = [d for d in found.values() if d.way == 0]
    first = mains[0]
    lower = ways or own
    chains = tuple((first.id, d.id) for d in lower)
    feeds = [w for w in given.wires if w.kind == "power"]
    drill = []
    verdicts = ("cleared", "spread", "not cleared", "burned", "no harm")
    for k, wire in enumerate(feeds):
        verdict = verdicts[k % len(verdicts)]
        opening = Opening(lower[0].id, 450.0, 7.5, 0.004, 0.006, 0.012, True, False)
        drill.append(
            FaultResult(
                f"chafe:{wire.id}:end:bolted",
                "chafe",
                wire.id,
                "at the far end, bolted",
                verdict,  # type: ignore[arg-type]
                "The fuse carries 7.5 times its rating and opens within 12 ms.",
                (opening,) if verdict != "not cleared" else (),
                450.0,
                wire.id,
                88.0 + k,
                60.0,
                160.0,
                ("rear_amp",) if verdict == "spread" else (),
                (),
                {},
                {},
                k % 2 == 0,
                False,
            )
        )
    return ProtectionResult(
        found,
        chains,
        {w.id: Guard(w.id, (first.id,), 80.0, 31.0, 60.0, 0.0) for w in feeds},
        tuple(Selectivity(first.id, d.id, 620.0, 3.4, False, True, True) for d in lower),
        (Choice(f"wire {feeds[0].id}", "8 AWG", "0.31 V drop at loud", True),),
        tuple(drill),
    )


def study(given: Rig) -> Study:
    """A study whose results are the hand-made ones."""
    made = Study(given)
    made.__dict__.update(rig=given, power=power(given), protection=protection(given))
    return made


ALL = {"trike": trike, "buggy": buggy, "tiny": tiny, "hostile": hostile}
