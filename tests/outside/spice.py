"""ngspice as an independent solver: writes a netlist for a circuit and a drive, runs it in batch mode, reads it back.

Constant-power loads, regulators, diodes and converters are behavioural sources (ngspice manual, chapter 5, "B source").
Every node is given its no-load volts as a first guess, so that both programs look for the upper operating point.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np

from loomwright.power.circuit import FLOOR_V, Circuit, Drive, Floats, reduce

OPTIONS = ".options reltol=1e-10 vntol=1e-11 abstol=1e-11 gmin=1e-16 itl1=2000 itl2=2000 numdgt=15 nopage"


def program() -> str:
    """Path of ngspice; a loud failure where it is missing, never a skip."""
    found = shutil.which("ngspice")
    if found is None:
        raise RuntimeError("ngspice is not installed: run `make test`, or `apt-get install ngspice`")
    return found


def _load(a: str, b: str, watts: str, amps: str, siemens: str, sag: float) -> str:
    v = f"V({a},{b})"
    inverse = f"(1/max({v},{FLOOR_V}))"
    own = f"({amps}+({watts})*{inverse})"
    if sag > 0:
        own = f"({v}<{sag!r} ? {v}*({amps}/{sag!r}+({watts})/{sag * sag!r}) : {own})"
    return f"I={own}+({siemens})*{v}"


def netlist(circuit: Circuit, drive: Drive, case: int = 0, *, capacitors: str = "", control: bool = False) -> list[str]:
    """Elements of one case. With ``control`` each load's watts and each EMF hang on a source that can be altered."""
    name = [str(k) for k in range(len(circuit.nodes))]
    ohm = np.broadcast_to(circuit.branch_ohm, (drive.count, circuit.branch_ohm.shape[-1]))[case]
    emf_ohm = np.broadcast_to(circuit.emf_ohm, (drive.count, circuit.emf_ohm.shape[-1]))[case]
    lines = [
        f"R{k} {name[a]} {name[b]} {float(r)!r}"
        for k, (a, b, r) in enumerate(zip(circuit.branch_a, circuit.branch_b, ohm, strict=True))
    ]
    for k, (a, b) in enumerate(zip(circuit.emf_a, circuit.emf_b, strict=True)):
        lines.append(f"VE{k} e{k} {name[b]} {float(drive.emf_v[case, k])!r}")
        lines.append(f"RE{k} e{k} {name[a]} {float(emf_ohm[k])!r}")
    for k, (a, b) in enumerate(zip(circuit.load_a, circuit.load_b, strict=True)):
        watts = f"V(w{k})" if control else repr(float(drive.load_w[case, k]))
        if control:
            lines.append(f"VW{k} w{k} 0 {float(drive.load_w[case, k])!r}")
        lines.append(
            f"BL{k} {name[a]} {name[b]} "
            + _load(
                name[a],
                name[b],
                watts,
                repr(float(drive.load_a[case, k])),
                repr(float(drive.load_siemens[case, k])),
                float(drive.sag_v[k]),
            )
        )
    given = []
    for k, (a, b) in enumerate(zip(circuit.source_a, circuit.source_b, strict=True)):
        set_v = repr(float(drive.source_v[case, k]))
        if control:  # a battery's own line moves with its EMF
            for e in np.flatnonzero((circuit.emf_a == a) & (circuit.emf_b == b)):
                if drive.source_v[case, k] == drive.emf_v[case, e]:
                    set_v = f"V(e{e},{name[b]})"
        line = f"{float(circuit.source_siemens[k])!r}*({set_v}-V({name[a]},{name[b]}))"
        given.append(f"min(max({line},0),{float(drive.source_limit_a[case, k])!r})")
        lines.append(f"BS{k} {name[b]} {name[a]} I={given[k]}")
    for k, (a, b, out) in enumerate(
        zip(circuit.converter_a, circuit.converter_b, circuit.converter_output, strict=True)
    ):
        oa, ob = name[circuit.source_a[out]], name[circuit.source_b[out]]
        eff = float(circuit.converter_efficiency[k])
        lines.append(
            f"BC{k} {name[a]} {name[b]} I=V({oa},{ob})*({given[out]})/({eff!r}*max(V({name[a]},{name[b]}),{FLOOR_V}))"
        )
    if capacitors:
        lines.append(capacitors)
    return lines


def guess(circuit: Circuit, drive: Drive, case: int = 0) -> str:
    """.nodeset with a linear estimate: batteries at their ohmic resistance, loads at the amperes they would draw at
    12 V."""
    emf_ohm = np.array(np.broadcast_to(circuit.emf_ohm, (drive.count, circuit.emf_ohm.shape[-1]))[case])
    for k, (a, b) in enumerate(zip(circuit.emf_a, circuit.emf_b, strict=True)):
        for s in np.flatnonzero((circuit.source_a == a) & (circuit.source_b == b)):
            if drive.source_v[case, s] == drive.emf_v[case, k]:
                emf_ohm[k] = 1 / (1 / emf_ohm[k] + circuit.source_siemens[s])
    ohm = np.broadcast_to(circuit.branch_ohm, (drive.count, circuit.branch_ohm.shape[-1]))[case]
    red = reduce(replace(circuit, emf_ohm=emf_ohm, branch_ohm=ohm))
    amps = np.zeros(len(circuit.port_a))
    amps[: len(circuit.load_a)] = drive.load_a[case] + drive.load_w[case] / 12 + drive.load_siemens[case] * 12
    volts = drive.emf_v[case] @ red.emf_to_node - amps @ red.port_to_node
    return ".nodeset " + " ".join(f"v({k})={float(v)!r}" for k, v in enumerate(volts) if k)


def run(text: str, outputs: int = 1) -> list[Floats]:
    """Run a deck in batch mode; it must write out0.txt .. with wrdata."""
    with tempfile.TemporaryDirectory() as folder:
        deck = Path(folder) / "deck.cir"
        deck.write_text(text)
        done = subprocess.run(
            [program(), "-b", str(deck)], cwd=folder, capture_output=True, text=True, timeout=300, check=False
        )
        files = [Path(folder) / f"out{k}.txt" for k in range(outputs)]
        if not all(f.exists() for f in files):
            raise RuntimeError(f"ngspice gave no result:\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}")
        return [np.loadtxt(f, ndmin=2) for f in files]


def operating_point(
    circuit: Circuit, drive: Drive, case: int = 0, near_v: Floats | None = None, decimals: int = 2
) -> Floats:
    """Node volts of one case by ngspice, (N,).

    ``near_v`` (N,) helps it to start: it is rounded to a hundredth of a volt, a thousand times coarser than what is
    compared.
    """
    count = len(circuit.nodes)
    names = " ".join(f"v({k})" for k in range(1, count))
    if near_v is None:
        start = guess(circuit, drive, case)
    else:
        start = ".nodeset " + " ".join(f"v({k})={round(float(v), decimals)!r}" for k, v in enumerate(near_v) if k)
    deck = [
        "* operating point",
        OPTIONS,
        *netlist(circuit, drive, case),
        start,
        ".control",
        "set wr_singlescale",
        "set numdgt=15",
        "op",
        f"wrdata out0.txt {names}",
        ".endc",
        ".end",
    ]
    table = run("\n".join(deck))[0]
    return np.concatenate([[0.0], table[0, -(count - 1) :]])
