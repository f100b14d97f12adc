"""Sixty photographs of 12 megapixels that never were, traced: how far sides are off, and how long it takes."""

from __future__ import annotations

import statistics
import time
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from bench._boards import COUNT, Case, case
from bench._scene import photograph
from bench.rows import Row, at_least, at_most
from loomwright.errors import InputError
from loomwright.trace.outline import Outline
from loomwright.trace.photograph import trace

NEAR_MM = 400.0


@dataclass(frozen=True)
class Traced:
    """One photograph: how far each side is off [mm], the error stated, the time of processor and clock; nothing where
    it was refused.
    """

    case: Case
    off_mm: tuple[float, ...] | None
    error_mm: float
    took_s: float
    clock_s: float


def rows() -> list[Row]:
    """Sides, errors stated, and time."""
    made = [_traced(case(k)) for k in range(COUNT)]
    kept = [t for t in made if t.off_mm is not None]
    best = [d for t in kept if t.case.layout != "beside" for d in t.off_mm or ()]
    near = [d for t in kept if t.case.layout == "beside" and t.case.size_mm <= NEAR_MM for d in t.off_mm or ()]
    every = [d for t in kept if t.case.layout == "beside" for d in t.off_mm or ()]
    beyond = sum(any(d > t.error_mm for d in t.off_mm or ()) for t in kept)
    return [
        at_least(f"trace: boards found, of {COUNT}", len(kept), "", COUNT),
        at_most("trace, two sheets or one on top: sides, median", statistics.median(best), "mm", 0.2),
        at_most("trace, two sheets or one on top: sides, worst", max(best), "mm", 0.6),
        at_most("trace, one sheet beside: sides, median", statistics.median(every), "mm", 0.3),
        at_most(f"trace, one sheet beside, boards to {NEAR_MM:g} mm: sides, worst", max(near), "mm", 0.6),
        at_most("trace: photographs with a side beyond the error stated", beyond, "", 0),
        at_most("trace: time of the processor, median", statistics.median(t.took_s for t in kept), "s", 1.0),
        at_most("trace: time on the clock, median", statistics.median(t.clock_s for t in kept), "s", 1.0),
    ]


def _traced(made: Case) -> Traced:
    data = photograph(made.scene)
    begun, clock = time.process_time(), time.perf_counter()
    off, error = None, 0.0
    try:
        found = trace([(made.name, data)], made.scene.board.thickness_mm)
        off, error = tuple(off_mm(made.truth, found.outline)), found.error_mm
    except InputError:
        pass
    return Traced(made, off, error, time.process_time() - begun, time.perf_counter() - clock)


def off_mm(truth: Outline, found: Outline) -> list[float]:
    """How far each straight side and each radius is off; 99 for one that was not found."""
    out = []
    for rings in (((truth.outer,), (found.outer,)), (truth.holes, found.holes)):
        for kind in ("line", "arc"):
            wanted, had = (
                sorted(s.radius_mm if s.bulge else s.length_mm for r in side for s in r.sides if s.kind == kind)
                for side in rings
            )
            if len(wanted) == len(had):
                out += [abs(a - b) for a, b in zip(wanted, had, strict=True)]
            else:
                out += [_nearest(a, np.array(had)) for a in wanted]
    return out


def _nearest(value: float, among: npt.NDArray[np.float64]) -> float:
    away = float(np.abs(among - value).min()) if len(among) else 99.0
    return away if away < 3.0 else 99.0
