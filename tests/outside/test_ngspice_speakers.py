"""The AC solution of speaker circuits against ngspice ``.ac``: 100 random networks."""

from __future__ import annotations

import numpy as np
from random_speakers import Element, network, spice_lines
from spice import OPTIONS, run

from loomwright.facts import loudspeakers
from loomwright.rig.catalogue import builtin
from loomwright.rig.catalogue import parse as parse_catalogue
from loomwright.rig.file import parse
from loomwright.sound import boxes
from loomwright.sound.circuit import Branch, solve
from loomwright.sound.frequencies import Complexes, Floats
from loomwright.sound.loads import study_loads

NETWORKS = 100
POINTS_PER_DECADE = 20
WITHIN_DB = 0.01
WITHIN_DEGREES = 0.1
LEAST_SHARE = 1e-4
"""Volts under this share of the channel's are not compared: nothing is heard of them (-80 dB)."""


def ngspice(elements: list[Element]) -> tuple[Floats, dict[str, Complexes], Complexes]:
    """Frequencies, volts at every node, and what the source sees."""
    nodes = sorted({n for e in elements for n in (e.a, e.b)} - {"0", "plus"})
    deck = "\n".join(
        [
            "* speakers", OPTIONS, "V1 plus 0 dc 0 ac 1", *spice_lines(elements, loudspeakers.box_leak_q()),
            ".control", "set wr_singlescale", f"ac dec {POINTS_PER_DECADE} 10 40k",
            "wrdata out0.txt " + " ".join([*(f"v({n})" for n in nodes), "i(v1)"]), ".endc", ".end",
        ]
    )  # fmt: skip
    table = run(deck)[0]
    columns = table[:, 1::2] + 1j * table[:, 2::2]
    volts = {n: columns[:, k] for k, n in enumerate(nodes)}
    return table[:, 0], volts, -1.0 / columns[:, -1]


def ours(elements: list[Element], frequency_hz: Floats) -> tuple[dict[str, Complexes], Complexes]:
    jw = 2j * np.pi * frequency_hz
    branches = []
    for k, e in enumerate(elements):
        if e.kind == "D":
            assert e.driver is not None
            z = boxes.impedance_ohm(e.driver, e.mounting, frequency_hz)
        else:
            z = {"R": e.value + 0 * jw, "L": jw * e.value, "C": 1 / (jw * e.value)}[e.kind]
        branches.append(Branch(str(k), e.a, e.b, 1 / z))
    solution = solve(branches, "plus", "0")
    assert solution.impedance_ohm is not None
    return dict(solution.volts), solution.impedance_ohm


def test_a_hundred_random_networks_agree() -> None:
    rng = np.random.default_rng(20)
    worst_db = worst_degrees = 0.0
    for _ in range(NETWORKS):
        elements = network(rng)
        frequency_hz, theirs, seen = ngspice(elements)
        mine, impedance = ours(elements, frequency_hz)
        pairs = [(impedance, seen), *((mine[n], v) for n, v in theirs.items())]
        for e in elements:
            if e.kind == "D":
                both = [{**v, "0": 0 * seen, "plus": 0 * seen + 1} for v in (mine, theirs)]
                pairs.append((both[0][e.a] - both[0][e.b], both[1][e.a] - both[1][e.b]))
        for a, b in pairs:
            loud = np.abs(b) > LEAST_SHARE
            if not loud.any():
                continue
            ratio = np.broadcast_to(a, b.shape)[loud] / b[loud]
            worst_db = max(worst_db, float(np.max(np.abs(20 * np.log10(np.abs(ratio))))))
            worst_degrees = max(worst_degrees, float(np.max(np.abs(np.degrees(np.angle(ratio))))))
    assert worst_db < WITHIN_DB
    assert worst_degrees < WITHIN_DEGREES


PARTS = """
format = 1
[part.low]
family = "driver"
title = "Low"
nominal_ohm = 4
rated_w = 80
re_ohm = 3.3
le_mh = 0.5
fs_hz = 60
qms = 4
qes = 0.7
vas_l = 15
[part.high]
family = "driver"
title = "High"
nominal_ohm = 8
rated_w = 50
re_ohm = 6
le_mh = 0.1
fs_hz = 900
qms = 3
qes = 1.5
[part.cap]
family = "passive"
title = "Capacitor"
element = "capacitor"
capacitance_uf = 4.7
series_mohm = 50
[part.coil]
family = "passive"
title = "Coil"
element = "coil"
inductance_mh = 0.47
dcr_ohm = 0.3
[part.pad]
family = "passive"
title = "Pad"
element = "pad"
resistance_ohm = 8
attenuation_db = 6
[part.zobel]
family = "passive"
title = "Zobel"
element = "zobel"
resistance_ohm = 3.9
capacitance_uf = 33
"""
RIG = """
format = 1
title = "Two ways on a bridged pair"
ambient_c = 20
[place.case]
[item.amp]
part = "amp_2x80_class_d"
place = "case"
bridged = [[1, 2]]
[item.battery]
part = "agm_60ah"
place = "case"
"""
WIRES = (
    ("amp.ch1+", "plug.a1"), ("plug.b1", "plus.leg1"), ("plus.leg2", "c.a"), ("c.b", "p.a"), ("p.b", "h.+"),
    ("h.-", "minus.leg2"), ("h.-", "p.c"), ("plus.leg3", "l.a"), ("l.b", "w.+"), ("w.-", "minus.leg3"),
    ("w.+", "z.a"), ("w.-", "z.b"), ("minus.leg1", "amp.ch2-"),
)  # fmt: skip
ITEMS = {
    "plug": "connector_4_sealed", "plus": "splice_crimp", "minus": "splice_crimp", "c": "cap", "p": "pad", "h": "high",
    "l": "coil", "w": 'low"\nmounting = "sealed"\nbox_l = 10\n#"', "z": "zobel",
}  # fmt: skip


def test_a_rig_from_its_file() -> None:
    """Two ways with a pad and a Zobel network on a bridged pair, every wire 100 mohm and 290 nH, by a deck by hand."""
    text = RIG + "".join(f'[item.{k}]\npart = "{part}"\nplace = "case"\n' for k, part in ITEMS.items())
    text += "".join(
        f'[[wire]]\nid = "S{n}"\nfrom = "{a}"\nto = "{b}"\nsize = "16 AWG"\nlength_mm = 1000\nmeasured_mohm = 100\n'
        'from_joint = "bolted"\nto_joint = "bolted"\n'
        for n, (a, b) in enumerate(WIRES, 1)
    )
    text += """
[[wire]]
id = "P1"
from = "battery.plus"
to = "amp.supply+"
size = "6 AWG"
[[wire]]
id = "R1"
from = "amp.supply-"
to = "battery.minus"
size = "6 AWG"
"""
    rig = parse(text, "rig.toml", parse_catalogue(PARTS, "own.toml").over(builtin()))
    splice, contact = rig.items["plus"].part.spec, rig.items["plug"].part.spec
    name = {ref: f"n{k}" for k, ref in enumerate(sorted({r for pair in WIRES for r in pair}))}
    name["amp.ch1+"], name["amp.ch2-"] = "plus", "0"
    lines = []
    for n, (a, b) in enumerate(WIRES, 1):
        lines += [f"RS{n} {name[a]} s{n} 0.1002", f"LS{n} s{n} {name[b]} 0.29u"]  # a bolted joint is 0.1 mohm
    lines.append(f"RP {name['plug.a1']} {name['plug.b1']} {contact.contact_mohm / 1000!r}")  # type: ignore[union-attr]
    for item in ("plus", "minus"):
        lines += [
            f"R{item}{k} {name[f'{item}.leg{k}']} {item}m {splice.path_mohm / 1000!r}"  # type: ignore[union-attr]
            for k in (1, 2, 3)
        ]
    lines += [
        f"CC {name['c.a']} cx 4.7u", f"RC cx {name['c.b']} 0.05",
        f"RPS {name['p.a']} {name['p.b']} 3.99050", f"RPP {name['p.b']} {name['p.c']} 8.03808",
        f"LL {name['l.a']} lx 0.47m", f"RL lx {name['l.b']} 0.3",
        f"RZ {name['z.a']} zx 3.9", f"CZ zx {name['z.b']} 33u",
        # high: Res = 6 x 3 / 1.5, Cmes = 1.5 / (2 pi 900 x 6), Lces = 6 / (2 pi 900 x 1.5)
        f"RH1 {name['h.+']} h1 6", "LH1 h1 h2 0.1m", f"RH2 h2 {name['h.-']} 12", f"CH h2 {name['h.-']} 44.20971u",
        f"LH2 h2 {name['h.-']} 0.7073553m",
        # low: Res = 3.3 x 4 / 0.7, Cmes = 0.7 / (2 pi 60 x 3.3), Lces = 3.3 / (2 pi 60 x 0.7), box Lces x 10 / 15
        f"RW1 {name['w.+']} w1 3.3", "LW1 w1 w2 0.5m", f"RW2 w2 {name['w.-']} 18.857143",
        f"CW w2 {name['w.-']} 562.67078u", f"LW2 w2 {name['w.-']} 12.505074m", f"LW3 w2 {name['w.-']} 8.3367162m",
    ]  # fmt: skip
    asked = [name[r] for r in ("h.+", "h.-", "w.+", "w.-")]
    deck = "\n".join(
        [
            "* rig", OPTIONS, "V1 plus 0 dc 0 ac 1", *lines, ".control", "set wr_singlescale",
            f"ac dec {POINTS_PER_DECADE} 10 40k", "wrdata out0.txt " + " ".join([*(f"v({n})" for n in asked), "i(v1)"]),
            ".endc", ".end",
        ]
    )  # fmt: skip
    table = run(deck)[0]
    high_plus, high_minus, low_plus, low_minus, amps = (table[:, k] + 1j * table[:, k + 1] for k in range(1, 11, 2))
    (load,) = study_loads(rig, table[:, 0]).channels
    assert (load.name, load.flags) == ("amp.ch1+2", ())
    for mine, theirs in (
        (load.impedance_ohm, -1 / amps),
        (load.drivers["h"].transfer, high_plus - high_minus),
        (load.drivers["w"].transfer, low_plus - low_minus),
    ):
        ratio = mine / theirs
        assert float(np.max(np.abs(20 * np.log10(np.abs(ratio))))) < WITHIN_DB
        assert float(np.max(np.abs(np.degrees(np.angle(ratio))))) < WITHIN_DEGREES
