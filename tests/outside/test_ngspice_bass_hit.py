"""The bass hit against ngspice .tran: dip within 1 % and 2 mV.

Source: ngspice transient analysis (trapezoidal, its own step control) of the same wires with inductance, batteries,
chargers held at their amperes, reservoir and stiffening capacitors, and loads whose watts rise along a PWL source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from spice import OPTIONS, run

from loomwright import demo
from loomwright.power.bass import Burst, prepare
from loomwright.power.circuit import FLOOR_V
from loomwright.power.network import build
from loomwright.power.transient import Dynamics, transient
from loomwright.rig.file import load
from loomwright.study import Study


def burst_in_ngspice(burst: Burst) -> np.ndarray:
    """Volts of every load port before the burst and at their lowest, by ngspice.

    Its step control gives up on some stiff circuits at one setting and not at another: the first to arrive counts.
    """
    for setting in ("reltol=1e-6 method=trap", "reltol=1e-5 method=gear", "reltol=1e-4 method=gear"):
        table = _one_run(burst, setting)
        if table[-1, 0] >= 0.999 * float(burst.times_s[-1]):
            return np.stack([table[0, 1:], table[:, 1:].min(axis=0)])
    raise RuntimeError("ngspice did not get to the end of the burst at any setting")


def _one_run(burst: Burst, setting: str) -> np.ndarray:
    c, w, d = burst.circuit, burst.work, burst.dynamics
    lines = ["* bass hit", OPTIONS.replace("reltol=1e-10", setting)]
    for k, (a, b, ohm, henry) in enumerate(zip(c.branch_a, c.branch_b, c.branch_ohm, d.branch_henry, strict=True)):
        if henry > 0:
            lines += [f"R{k} {a} m{k} {float(ohm)!r}", f"L{k} m{k} {b} {float(henry)!r}"]
        else:
            lines.append(f"R{k} {a} {b} {float(ohm)!r}")
    for k, (a, b) in enumerate(zip(c.emf_a, c.emf_b, strict=True)):
        lines += [f"VE{k} e{k} {b} {float(w.emf_v[0, k])!r}", f"RE{k} e{k} {a} {float(c.emf_ohm[k])!r}"]
    for k, (a, b, farad, ohm) in enumerate(
        zip(d.capacitor_a, d.capacitor_b, d.capacitor_f, d.capacitor_ohm, strict=True)
    ):
        lines += [f"RC{k} {a} c{k} {float(ohm)!r}", f"C{k} c{k} {b} {float(farad)!r}"]
    for node in np.flatnonzero(d.inject_a):
        lines.append(f"IJ{node} 0 {node} {float(d.inject_a[node])!r}")
    rise = float(burst.times_s[np.argmax((burst.watts >= burst.watts[-1] - 1e-9).all(axis=1))])
    for k, (a, b) in enumerate(zip(c.load_a, c.load_b, strict=True)):
        start, top = float(burst.watts[0, k]), float(burst.watts[-1, k])
        sag, v = float(w.sag_v[k]), f"V({a},{b})"
        amps = float(w.load_a[0, k])
        own = f"({amps!r}+V(w{k})*(1/max({v},{FLOOR_V})))"
        if sag > 0:
            own = f"({v}<{sag!r} ? {v}*({amps / sag!r}+V(w{k})/{sag * sag!r}) : {own})"
        lines.append(f"VW{k} w{k} 0 PWL(0 {start!r} {rise!r} {top!r} 1 {top!r})")
        lines.append(f"BL{k} {a} {b} I={own}+{float(w.load_siemens[0, k])!r}*{v}")
    still = transient(c, w, d, burst.times_s[:2], burst.watts[:1].repeat(2, axis=0))[0]
    lines.append(".nodeset " + " ".join(f"v({k})={round(float(v), 2)!r}" for k, v in enumerate(still) if k))
    names = " ".join(f"v({a},{b})" if b else f"v({a})" for a, b in zip(c.load_a, c.load_b, strict=True))
    lines += [
        ".control",
        "set wr_singlescale",
        "set numdgt=12",
        f"tran 10u {float(burst.times_s[-1])!r} 0 20u",
        f"wrdata out0.txt {names}",
        ".endc",
        ".end",
    ]
    return run("\n".join(lines))[0]


def ours(burst: Burst) -> np.ndarray:
    v = transient(burst.circuit, burst.work, burst.dynamics, burst.times_s, burst.watts)
    port = v[:, burst.circuit.load_a] - v[:, burst.circuit.load_b]
    return np.stack([port[0], port.min(axis=0)])


def agree(burst: Burst) -> None:
    theirs, mine = burst_in_ngspice(burst), ours(burst)
    assert np.abs(theirs[0] - mine[0]).max() < 1e-4
    dip_theirs, dip_mine = theirs[0] - theirs[1], mine[0] - mine[1]
    assert dip_theirs.max() > 0.2
    assert (np.abs(dip_theirs - dip_mine) <= np.maximum(0.002, 0.01 * dip_theirs)).all(), (dip_theirs, dip_mine)


@pytest.mark.parametrize("name", ["carnival_trike_planned", "harvest_buggy", "canal_launch"])
@pytest.mark.parametrize("engine", ["off", "idle"])
def test_demo_rigs(name: str, engine: str) -> None:
    agree(prepare(build(Study(load(demo.path(name))).rig), engine))


@pytest.mark.parametrize(("farad", "ohm"), [(0.5, 0.002), (1.0, 0.0005), (2.0, 0.02)])
@pytest.mark.parametrize("rise_s", [0.0005, 0.002, 0.01])
def test_stiffening_capacitor(farad: float, ohm: float, rise_s: float) -> None:
    """A capacitor across the first amplifier's terminals, stiff and poor ones, slow and quick notes."""
    burst = prepare(build(Study(load(demo.path("carnival_trike_planned"))).rig), "off", rise_s)
    d = burst.dynamics
    with_one = Dynamics(
        d.branch_henry,
        np.append(d.capacitor_a, burst.circuit.load_a[-1]),
        np.append(d.capacitor_b, burst.circuit.load_b[-1]),
        np.append(d.capacitor_f, farad),
        np.append(d.capacitor_ohm, ohm),
        d.inject_a,
    )
    agree(replace(burst, dynamics=with_one))
