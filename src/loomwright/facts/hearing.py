"""Hearing: how long a level may be stood, and how the ear weighs frequencies."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from loomwright.facts import tables

Floats = npt.NDArray[np.float64]


def exposure_h(level_db: float, rule: str = "niosh") -> float:
    """Longest time at a level in one day [h]: ``T = T0 / 2**((L - L0) / exchange)``, NIOSH unless another is named."""
    row = tables.row("hearing", f"exposure.{rule}")
    halvings = (level_db - row.number("level_db")) / row.number("exchange_db")
    return float(row.number("time_h") / 2.0**halvings)


def dose_pct(level_db: float, time_h: float, rule: str = "niosh") -> float:
    """Dose after some hours at a level [%]; 100 is the most for a day."""
    return 100.0 * time_h / exposure_h(level_db, rule)


def a_weight_db(frequency_hz: npt.ArrayLike) -> Floats:
    """A-weighting [dB] at each frequency; 0 at 1 kHz. IEC 61672-1, by its four corner frequencies.

    >>> round(float(a_weight_db(100.0)), 1)
    -19.1
    """
    return _a(np.asarray(frequency_hz, float)) - float(_a(np.asarray(1000.0)))


def _a(f: Floats) -> Floats:
    squared = f**2
    top = 12194.217**2 * squared**2
    bottom = (
        (squared + 20.598997**2)
        * np.sqrt((squared + 107.65265**2) * (squared + 737.86223**2))
        * (squared + 12194.217**2)
    )
    return np.asarray(20.0 * np.log10(top / bottom))


def sum_db(levels_db: npt.ArrayLike, *, coherent: bool = False) -> float:
    """Levels added up [dB]: as powers, or as pressures in phase."""
    levels = np.asarray(levels_db, float)
    if coherent:
        return float(20.0 * np.log10(np.sum(10.0 ** (levels / 20.0))))
    return float(10.0 * np.log10(np.sum(10.0 ** (levels / 10.0))))


def mean_db(levels_db: npt.ArrayLike) -> float:
    """Energy mean of levels [dB]; never the mean of the decibels."""
    levels = np.asarray(levels_db, float)
    return float(10.0 * np.log10(np.mean(10.0 ** (levels / 10.0))))


def sensitivity_db(kind: str) -> float:
    """Level at 1 W and 1 m of a driver whose part states none: ``cone``, ``horn`` or ``tweeter`` [dB]."""
    return tables.rows("hearing", "sensitivity")[kind].number("level_db")


def doubt_db(of: str) -> float:
    """What an estimate of level leaves open, one way [dB]."""
    return tables.rows("hearing", "level_doubt")[of].number()
