"""The frequencies that everything is worked out at."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
LOW_HZ, HIGH_HZ = 10.0, 40_000.0
PER_OCTAVE = 48


def grid_hz(count: int | None = None) -> Floats:
    """10 Hz to 40 kHz in equal steps of pitch, (F,) [Hz]: 48 to the octave, or ``count`` in all."""
    if count is None:
        count = round(float(np.log2(HIGH_HZ / LOW_HZ)) * PER_OCTAVE) + 1
    return np.geomspace(LOW_HZ, HIGH_HZ, count)


def db(ratio: Complexes | Floats) -> Floats:
    """Level of a ratio of volts [dB]; -300 where it is nothing."""
    found = 20.0 * np.log10(np.maximum(np.abs(ratio), 1e-15))
    return np.asarray(found, dtype=np.float64)
