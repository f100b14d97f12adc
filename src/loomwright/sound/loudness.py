"""Level at the listening place, how sure it is, and how long it may be stood."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.facts import hearing
from loomwright.facts.spectra import SPECTRA, Spectrum
from loomwright.rig.model import Rig
from loomwright.sound.frequencies import Floats
from loomwright.sound.levels import sensitivity_db
from loomwright.sound.programme import DriverProgramme


@dataclass(frozen=True, slots=True)
class DriverLevel:
    """What one driver adds at the listening place, programme by itself [dB], and A-weighted [dBA]."""

    driver: str
    level_db: float
    level_dba: float


@dataclass(frozen=True, slots=True)
class Loudness:
    """One programme played just beyond clipping, at the listening place.

    Levels are averages over seconds, every driver at the same distance, in the open: sensitivity + 10 log P -
    20 log(distance), powers added. ``low_dba`` and ``high_dba`` bound the estimate. ``exposure_h`` is the NIOSH time
    for one day at ``level_dba``, ``exposure_at_high_h`` at the upper bound.
    """

    programme: Spectrum
    distance_m: float
    level_db: float
    level_dba: float
    low_dba: float
    high_dba: float
    exposure_h: float
    exposure_at_high_h: float
    drivers: tuple[DriverLevel, ...]
    guessed: tuple[str, ...]       # drivers whose sensitivity was guessed


CAUTIONS: tuple[str, ...] = (
    "Hearing: the time is for one day and for everything heard on it, at work and on the road; children stand less.",
    "Neighbours and road law: what may be heard beyond the vehicle is bounded nearly everywhere. Know the limits.",
    "The driver must hear sirens, horns and the engine.",
)
"""What goes with every level."""


def loudness(rig: Rig, frequency_hz: Floats, programmes: Sequence[DriverProgramme]) -> tuple[Loudness, ...]:
    """Level of every programme at ``limits.listening_mm``; nothing where no driver plays."""
    if not programmes:
        return ()
    return tuple(_one(rig, frequency_hz, programmes, spectrum) for spectrum in SPECTRA)


def _one(rig: Rig, frequency_hz: Floats, programmes: Sequence[DriverProgramme], spectrum: Spectrum) -> Loudness:
    distance = rig.limits.listening_mm / 1000.0
    ear = 10.0 ** (hearing.a_weight_db(frequency_hz) / 10.0)
    heard = (frequency_hz >= 20.0) & (frequency_hz <= 20_000.0)
    found = []
    guessed = []
    for p in programmes:
        at_1w, guess = sensitivity_db(rig, p.driver)
        if guess:
            guessed.append(p.driver)
        drive = np.where(heard, p.drive_w[spectrum], 0.0)
        plain, weighted = float(drive.sum()), float((drive * ear).sum())
        found.append(DriverLevel(p.driver, level_db(at_1w, plain, distance), level_db(at_1w, weighted, distance)))
    total = hearing.sum_db([d.level_db for d in found])
    total_a = hearing.sum_db([d.level_dba for d in found])
    doubts = [hearing.doubt_db("sensitivity"), hearing.doubt_db("place")]
    if guessed:
        doubts.append(hearing.doubt_db("guess"))
    doubt = math.sqrt(sum(d**2 for d in doubts))
    high = total_a + doubt
    return Loudness(
        programme=spectrum,
        distance_m=distance,
        level_db=total,
        level_dba=total_a,
        low_dba=total_a - doubt - hearing.doubt_db("compression"),
        high_dba=high,
        exposure_h=hearing.exposure_h(total_a),
        exposure_at_high_h=hearing.exposure_h(high),
        drivers=tuple(found),
        guessed=tuple(guessed),
    )


def level_db(sensitivity: float, watts_w: float, distance_m: float) -> float:
    """Level of one driver in the open: sensitivity + 10 log P - 20 log(distance) [dB].

    >>> round(level_db(90.0, 100.0, 2.0), 1)
    104.0
    """
    return sensitivity + 10.0 * math.log10(max(watts_w, 1e-12)) - 20.0 * math.log10(distance_m)
