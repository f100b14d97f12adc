"""Makes packing_reference.json: 50 random sets of unlike circles, and the smallest circle a general optimiser found.

SLSQP of scipy from 60 random starts for each set: least R, subject to no overlap. Takes minutes, so it is run by hand:
``OMP_NUM_THREADS=1 python tests/outside/make_packing_reference.py``
"""

from __future__ import annotations

import json
import math
import random
from pathlib import Path

import numpy as np
from scipy.optimize import minimize

SETS, STARTS = 50, 60


def sample(k: int) -> list[float]:
    """One set of diameters [mm]."""
    rng = random.Random(k)
    return [round(rng.uniform(1.5, 10.0), 2) for _ in range(rng.randint(4, 14))]


def long_run(diameters: list[float], seed: int) -> float:
    """The smallest diameter found around a set [mm]."""
    r = np.array(diameters) / 2.0
    n = len(r)
    i, j = np.triu_indices(n, 1)
    rng = np.random.default_rng(seed)
    slope = np.zeros(2 * n + 1)
    slope[-1] = 1.0

    def room(z: np.ndarray) -> np.ndarray:
        x, y, big = z[:n], z[n:-1], z[-1]
        pairs = (x[i] - x[j]) ** 2 + (y[i] - y[j]) ** 2 - (r[i] + r[j]) ** 2
        return np.concatenate([pairs, (big - r) ** 2 - x * x - y * y, [big - r.max()]])

    def room_slope(z: np.ndarray) -> np.ndarray:
        x, y, big = z[:n], z[n:-1], z[-1]
        out = np.zeros((len(i) + n + 1, 2 * n + 1))
        a, b = np.arange(len(i)), np.arange(n)
        out[a, i], out[a, j] = 2 * (x[i] - x[j]), -2 * (x[i] - x[j])
        out[a, n + i], out[a, n + j] = 2 * (y[i] - y[j]), -2 * (y[i] - y[j])
        out[len(i) + b, b], out[len(i) + b, n + b], out[len(i) + b, -1] = -2 * x, -2 * y, 2 * (big - r)
        out[-1, -1] = 1.0
        return out

    best = math.inf
    for _ in range(STARTS):
        reach = 1.1 * math.sqrt(float(np.sum(r * r)))
        angle, share = 2.0 * np.pi * rng.random(n), reach * np.sqrt(rng.random(n))
        z = np.concatenate([share * np.cos(angle), share * np.sin(angle), [reach + r.max()]])
        made = minimize(
            lambda z: z[-1], z, jac=lambda z: slope, method="SLSQP", options={"maxiter": 300, "ftol": 1e-9},
            constraints=[{"type": "ineq", "fun": room, "jac": room_slope}],
        )  # fmt: skip
        if room(made.x).min() > -1e-6:
            best = min(best, 2.0 * float(made.x[-1]))
    return best


if __name__ == "__main__":
    rows = [{"diameters_mm": d, "found_mm": round(long_run(d, k), 4)} for k in range(SETS) for d in [sample(k)]]
    text = "[\n" + ",\n".join(f"  {json.dumps(row)}" for row in rows) + "\n]\n"
    Path(__file__).with_name("packing_reference.json").write_text(text, encoding="utf-8")
