"""Solved cases a second against ngspice: the same circuit, the same cases, both inside this process, one core.

ngspice runs as its shared library (Debian package libngspice0): for each case the watts and EMFs are altered and an
operating
point is asked for, the way any caller would. No process is started and no file is read between cases. ngspice is
given its usual
tolerances, looser than ours. As a harder comparison it also gets the cases as one DC sweep, with no command between
them and each point starting from the last; that row has no target.
"""

from __future__ import annotations

import ctypes
import statistics
import sys
import time
from pathlib import Path

import numpy as np

from bench.rows import Row, at_least

CASES = 20_000
THEIRS = 200
SWEEP = 2_000
GROUP = 10
"""Both sides count by their quickest of several runs, so that a busy machine tilts neither."""
SAME_V = 2e-3
"""At its usual relative tolerance of 0.1 % ngspice may be off by this much [V]."""


class _Vector(ctypes.Structure):
    _fields_ = (
        ("name", ctypes.c_char_p),
        ("type", ctypes.c_int),
        ("flags", ctypes.c_short),
        ("real", ctypes.POINTER(ctypes.c_double)),
        ("complex", ctypes.c_void_p),
        ("length", ctypes.c_int),
    )


class Library:
    """ngspice as a library."""

    def __init__(self) -> None:
        try:
            self.lib = ctypes.CDLL("libngspice.so.0")
        except OSError as error:
            raise SystemExit("libngspice0 is not installed: run `apt-get install libngspice0`") from error
        said = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_void_p)
        left = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_int, ctypes.c_bool, ctypes.c_bool, ctypes.c_int, ctypes.c_void_p)
        self.quiet = said(lambda *_: 0)
        self.leave = left(lambda *_: 0)
        self.lib.ngSpice_Init(self.quiet, self.quiet, self.leave, None, None, None, None)
        self.lib.ngGet_Vec_Info.restype = ctypes.POINTER(_Vector)

    def circuit(self, lines: list[str]) -> None:
        """Load a netlist."""
        text = (ctypes.c_char_p * (len(lines) + 1))(*[line.encode() for line in lines], None)
        if self.lib.ngSpice_Circ(text):
            raise RuntimeError("ngspice refused the circuit")

    def command(self, text: str) -> None:
        """Run one command."""
        if self.lib.ngSpice_Command(text.encode()):
            raise RuntimeError(f"ngspice refused: {text}")

    def volts(self, node: int) -> np.ndarray:
        """Volts of a node in the last analysis."""
        info = self.lib.ngGet_Vec_Info(f"v({node})".encode()).contents
        return np.ctypeslib.as_array(info.real, shape=(info.length,)).copy()


def rows() -> list[Row]:
    """Ratio of cases a second on the planned trike with the engine off, batteries ohmic: of cases with
    corners ngspice does not find every one.
    """
    sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "outside"))
    from spice import netlist  # type: ignore[import-not-found]

    from loomwright import demo
    from loomwright.power.circuit import Drive, reduce
    from loomwright.power.drive import drive
    from loomwright.power.network import build
    from loomwright.power.solver import solve
    from loomwright.rig.file import load
    from loomwright.study import Study

    network = build(Study(load(demo.path("carnival_trike_planned"))).rig, settled=False)
    circuit = network.circuit_for(("off",))
    one = drive(network, (("off", "loud"),))
    rng = np.random.default_rng(1)
    work = Drive(
        emf_v=one.emf_v + rng.uniform(-0.3, 0.1, (CASES, 1)),
        load_a=np.repeat(one.load_a, CASES, axis=0),
        load_w=one.load_w * rng.uniform(0.5, 1.3, (CASES, one.load_w.shape[1])),
        load_siemens=np.repeat(one.load_siemens, CASES, axis=0),
        sag_v=one.sag_v,
        source_v=np.repeat(one.source_v, CASES, axis=0),
        source_limit_a=np.repeat(one.source_limit_a, CASES, axis=0),
    )
    for k, port in enumerate(network.sources):
        if port.role == "battery":
            work.source_v[:, k] = work.emf_v[:, network.batteries.index(port.item)]
    reduced = reduce(circuit)
    ours, solution = [], solve(circuit, work, reduced)
    for _ in range(9):
        begun = time.perf_counter()
        solution = solve(circuit, work, reduced)
        ours.append((time.perf_counter() - begun) / CASES)
    if not solution.found.all():
        raise RuntimeError("a case of the benchmark has no operating point")
    mine = min(ours)

    spice = Library()
    begin = [f"v({k})={float(v):.2f}" for k, v in enumerate(solution.node_v[0]) if k]
    spice.circuit(
        ["* cases", ".options noacct", *netlist(circuit, work, 0, control=True), ".nodeset " + " ".join(begin), ".end"]
    )
    spice.command("op")
    theirs, worst = [], 0.0
    node = int(circuit.load_a[-1])
    for n in range(THEIRS):
        begun = time.perf_counter()
        for e in range(work.emf_v.shape[1]):
            spice.command(f"alter ve{e}={float(work.emf_v[n, e])!r}")
        for k in range(work.load_w.shape[1]):
            spice.command(f"alter vw{k}={float(work.load_w[n, k])!r}")
        spice.command("op")
        theirs.append(time.perf_counter() - begun)
        worst = max(worst, abs(float(spice.volts(node)[-1]) - float(solution.node_v[n, node])))
    if worst > SAME_V:
        raise RuntimeError(f"the two solvers did not solve the same cases: {worst * 1000:.1f} mV apart")
    low, high = float(work.load_w[:, -1].min()), float(work.load_w[:, -1].max())
    begun = time.perf_counter()
    spice.command(f"dc vw{work.load_w.shape[1] - 1} {low!r} {high!r} {(high - low) / SWEEP!r}")
    sweep = (time.perf_counter() - begun) / len(spice.volts(node))
    usual = min(statistics.fmean(theirs[k : k + GROUP]) for k in range(0, THEIRS, GROUP))
    return [
        at_least("solved cases a second against ngspice, same cases, one process", usual / mine, "times", 300),
        Row("solved cases a second against an ngspice DC sweep", sweep / mine, "times", "none", True),
        Row("one solved case", mine * 1e6, "us", "none", True),
        Row("one case in ngspice", usual * 1e6, "us", "none", True),
        Row("largest difference (at ngspice's usual tolerance)", worst * 1000, "mV", "none", True),
    ]
