"""Programme spectra: which share of the power lies in which octave."""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np
import numpy.typing as npt

from loomwright.facts import tables

Floats = npt.NDArray[np.float64]
Spectrum = Literal["pink", "dense", "speech"]
SPECTRA: tuple[Spectrum, ...] = get_args(Spectrum)


def octaves_hz() -> Floats:
    """Middle of each octave band, IEC 61260 base ten: 31.6 Hz to 15.8 kHz."""
    return np.asarray(1000.0 * 10.0 ** (0.3 * np.arange(-5, 5)))


def octave_shares(spectrum: Spectrum) -> Floats:
    """Share of the power in each octave band, the whole being 1."""
    power = 10.0 ** (np.array([r.number() for r in tables.rows("spectra", f"spectrum.{spectrum}").values()]) / 10.0)
    return np.asarray(power / power.sum())


def shares(spectrum: Spectrum, frequency_hz: Floats) -> Floats:
    """Share of the power that each point of a grid stands for.

    Parameters
    ----------
    frequency_hz : (F,) rising, evenly spaced on a logarithmic scale

    Returns
    -------
    (F,) shares; they add up to less than 1 where the grid leaves a part of the spectrum out. Inside an octave band the
    power is spread evenly over the logarithm of frequency, as pink noise is.
    """
    step = float(np.log2(frequency_hz[-1] / frequency_hz[0])) / (len(frequency_hz) - 1)
    middle = octaves_hz()
    width = 0.3 / np.log10(2.0)                       # of a band, in octaves
    band = np.rint(np.log2(frequency_hz / middle[0]) / width).astype(int)
    inside = (band >= 0) & (band < len(middle))
    power = octave_shares(spectrum)[np.clip(band, 0, len(middle) - 1)] * step / width
    return np.asarray(np.where(inside, power, 0.0))


def crest_db(spectrum: Spectrum) -> float:
    """Peak over average of the programme [dB]."""
    return tables.rows("spectra", "spectrum_crest")[spectrum].number()


def provisional(spectrum: Spectrum) -> bool:
    """Whether the spectrum rests on memory."""
    return any(r.provisional for r in tables.rows("spectra", f"spectrum.{spectrum}").values())
