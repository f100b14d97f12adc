"""Rigs made by chance, 20 to 60 wires: what a drawing must stand that no one has drawn by hand."""

from __future__ import annotations

import random

from loomwright.rig.file import parse
from loomwright.study import Study

_AMPLIFIERS = {
    "amp_4x50_class_d": 4, "amp_2x80_class_d": 2, "amp_1x250_class_d": 1, "amp_2x50_class_ab": 2, "amp_4x75_class_d": 4,
}  # fmt: skip
_DRIVERS = ("driver_6_5in", "driver_8in", "tweeter_25mm", "driver_10in")
_CASES = ("deck", "left", "right")
_ODD = ("=SUM(A1)", "the wire with a name that goes on and on", "<b>&\"'</b>", "ירוק")


class _Text:
    def __init__(self, seed: int) -> None:
        self.rng = random.Random(seed)
        self.items: list[str] = []
        self.wires: list[str] = []

    def item(self, name: str, part: str, place: str, more: str = "") -> str:
        self.items.append(f'[item.{name}]\npart = "{part}"\nplace = "{place}"\n{more}')
        return name

    def wire(self, start: str, end: str, size: str) -> None:
        name = _ODD[len(self.wires)] if len(self.wires) < len(_ODD) and self.rng.random() < 0.5 else ""
        name = name or f"W{len(self.wires) + 1}"
        quoted = name.replace("\\", "\\\\").replace('"', '\\"')
        long = "" if size == "bolted" else "length_mm = 700"
        self.wires.append(f'[[wire]]\nid = "{quoted}"\nfrom = "{start}"\nto = "{end}"\nsize = "{size}"\n{long}')


def text(seed: int) -> str:
    """A rig file: a battery, a block, a source, a processor at times, amplifiers with loudspeakers, some unplugged."""
    t = _Text(seed)
    rng = t.rng
    t.item("battery", "agm_30ah", "box", "charge_pct = 90")
    t.item("main", "holder_post", "box", "fuses_a = [80]")
    t.item("block", "fused_block_8way_c", "deck", f"fuses_a = [{', '.join(['25'] * 6)}, 5, 5]")
    t.item("gnd", "bus_ground_10", "deck")
    t.item("source", "source_line_4out_balanced", "deck")
    t.wire("battery.plus", "main.in", "bolted")
    t.wire("main.out", "block.in", "6 AWG")
    t.wire("gnd.stud1", "battery.minus", "6 AWG")
    t.wire("block.out7", "source.supply+", "16 AWG")
    t.wire("gnd.stud2", "source.supply-", "16 AWG")
    feeder, outs = "source", 4
    if rng.random() < 0.6:
        feeder, outs = t.item("processor", "processor_6in_8out", "deck"), 8
        t.wire("block.out8", "processor.supply+", "16 AWG")
        t.wire("processor.supply-", "gnd.stud3", "16 AWG")
        t.wire("source.out1", "processor.in1", "0.35 mm2")
        t.wire("source.out2", "processor.in2", "0.35 mm2")
        t.wire("source.remote_out", "processor.remote_in", "18 AWG")
    most = rng.randint(20, 60)
    line = 0
    for n in range(1, 6):
        part = rng.choice(sorted(_AMPLIFIERS))
        channels = _AMPLIFIERS[part]
        if n > 1 and len(t.wires) + 3 + channels * 5 > most:
            break
        case = rng.choice(_CASES)
        amp = t.item(f"amp{n}", part, case)
        if case != "deck":
            plug = t.item(f"plug{n}", "connector_power_2_50a", "deck")
            t.wire(f"block.out{n}", f"{plug}.a1", "8 AWG")
            t.wire(f"{plug}.b1", f"{amp}.supply+", "8 AWG")
            t.wire(f"{plug}.a2", f"gnd.stud{n + 3}", "8 AWG")
            t.wire(f"{amp}.supply-", f"{plug}.b2", "8 AWG")
        else:
            t.wire(f"block.out{n}", f"{amp}.supply+", "8 AWG")
            t.wire(f"gnd.stud{n + 3}", f"{amp}.supply-", "8 AWG")
        if n <= 2:
            t.wire(f"{feeder}.remote_out", f"{amp}.remote", "18 AWG")
        joint = t.item(f"joint{n}", "connector_8_sealed", "deck") if rng.random() < 0.6 else ""
        for c in range(1, channels + 1):
            if line < outs:
                line += 1
                t.wire(f"{feeder}.out{line}", f"{amp}.in{c}", "0.35 mm2")
            driver = t.item(f"driver{n}{c}", rng.choice(_DRIVERS), case)
            for k, sign in enumerate("+-"):
                end = f"{amp}.ch{c}{sign}"
                if joint:
                    contact = 2 * c - 1 + k
                    t.wire(end, f"{joint}.b{contact}", "16 AWG")
                    end = f"{joint}.a{contact}"
                t.wire(end, f"{driver}.{sign}", "16 AWG")
    head = f'format = 1\ntitle = "Made by chance, {seed}"\nambient_c = 30\n[vehicle]\nkind = "other"\n'
    places = "[place.box]\n[place.deck]\n[place.left]\ncomes_off = true\n[place.right]\ncomes_off = true\n"
    runs = "".join(
        f'[[run]]\nbetween = ["{a}", "{b}"]\nlength_mm = {rng.randint(3, 30) * 100}\n'
        for a, b in (("box", "deck"), ("deck", "left"), ("deck", "right"), ("left", "right"))
    )
    return "\n".join([head, places, runs, *t.items, *t.wires])


def study(seed: int) -> Study:
    """A rig made by chance, as a study."""
    return Study(parse(text(seed), f"chance_{seed}.toml"))
