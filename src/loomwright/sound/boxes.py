"""A driver's motion: free, in a sealed box, in a vented box.

The moving system is seen from the voice coil as admittances in parallel: mass as a capacitor, suspension as a coil,
losses as a resistor, the air of the box as one more coil, a vented box as that coil with its port (R. H. Small's
small-signal model, 1972 and 1973, from memory). Volts are r.m.s., excursion is the peak, one way.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loomwright.facts import loudspeakers
from loomwright.rig.model import DriverSpec, Mounting
from loomwright.sound.frequencies import Complexes, Floats

LE_STATED_HZ = 1000.0
"""Data sheets state the inductance of a voice coil at this frequency."""


@dataclass(frozen=True, slots=True)
class SmallSignal:
    """What a driver's impedance and motion follow from. ``vas_m3`` and ``sd_m2`` are None where they are not known."""

    re_ohm: float
    le_h: float
    le_exponent: float
    fs_hz: float
    qms: float
    qes: float
    vas_m3: float | None = None
    sd_m2: float | None = None

    @property
    def qts(self) -> float:
        return self.qms * self.qes / (self.qms + self.qes)

    @property
    def bl_tm(self) -> float | None:
        """Force factor [T m], from Vas, Sd, fs, Re and Qes; None where they are not all known."""
        if self.vas_m3 is None or self.sd_m2 is None:
            return None
        air = loudspeakers.air_density_kg_per_m3() * loudspeakers.sound_speed_m_per_s() ** 2
        compliance = self.vas_m3 / (air * self.sd_m2**2)
        return math.sqrt(self.re_ohm / (2.0 * math.pi * self.fs_hz * compliance * self.qes))


@dataclass(frozen=True, slots=True)
class BoxTuning:
    """A driver in a sealed box: resonance, Q at it, and the suspension's air over the box's."""

    fc_hz: float
    qtc: float
    alpha: float


def small_signal(spec: DriverSpec) -> SmallSignal | None:
    """The small-signal values of a driver; None where the part does not state them."""
    if spec.re_ohm is None or spec.fs_hz is None or spec.qms is None or spec.qes is None:
        return None
    return SmallSignal(
        re_ohm=spec.re_ohm,
        le_h=(spec.le_mh or 0.0) * 1e-3,
        le_exponent=spec.le_exponent,
        fs_hz=spec.fs_hz,
        qms=spec.qms,
        qes=spec.qes,
        vas_m3=None if spec.vas_l is None else spec.vas_l * 1e-3,
        sd_m2=None if spec.sd_cm2 is None else spec.sd_cm2 * 1e-4,
    )


def box_known(driver: SmallSignal, mounting: Mounting) -> bool:
    """Whether the box can be reckoned with: it needs the driver's Vas."""
    return mounting.kind == "open" or driver.vas_m3 is not None


def sealed(driver: SmallSignal, box_l: float) -> BoxTuning:
    """Resonance and Q in a sealed box without stuffing: both rise by the root of 1 + Vas / Vb. Needs Vas."""
    if driver.vas_m3 is None:
        raise ValueError("the driver's Vas is not known")
    alpha = driver.vas_m3 / (box_l * 1e-3)
    rise = math.sqrt(1.0 + alpha)
    return BoxTuning(driver.fs_hz * rise, driver.qts * rise, alpha)


def coil_ohm(driver: SmallSignal, frequency_hz: Floats) -> Complexes:
    """Impedance of the voice coil's inductance, (F,) [ohm].

    With an exponent below 1 it is K (j w)^n, as eddy currents make it (W. M. Leach, J. Audio Eng. Soc. 50, 2002, from
    memory), with K such that the reactance at 1 kHz is that of the stated inductance.
    """
    n = driver.le_exponent
    if n == 1.0:
        return np.asarray(2j * np.pi * frequency_hz * driver.le_h, dtype=np.complex128)
    reactance = 2.0 * np.pi * LE_STATED_HZ * driver.le_h * (frequency_hz / LE_STATED_HZ) ** n
    turn = n * math.pi / 2.0
    return np.asarray(reactance * (1.0 / math.tan(turn) + 1j), dtype=np.complex128)


def motional_siemens(driver: SmallSignal, mounting: Mounting, frequency_hz: Floats) -> Complexes:
    """Admittance of the moving system as the voice coil sees it, (F,) [S]."""
    jw = 2j * np.pi * frequency_hz
    ws = 2.0 * math.pi * driver.fs_hz
    res_ohm = driver.re_ohm * driver.qms / driver.qes
    mass_f = driver.qes / (ws * driver.re_ohm)
    give_h = driver.re_ohm / (ws * driver.qes)
    total = 1.0 / res_ohm + jw * mass_f + 1.0 / (jw * give_h)
    if mounting.kind == "open" or driver.vas_m3 is None or mounting.box_l is None:
        return np.asarray(total, dtype=np.complex128)
    air_h = give_h * mounting.box_l * 1e-3 / driver.vas_m3
    if mounting.kind == "sealed" or mounting.port_hz is None:
        return np.asarray(total + 1.0 / (jw * air_h), dtype=np.complex128)
    wb = 2.0 * math.pi * mounting.port_hz
    return np.asarray(
        total + jw / (air_h * (wb**2 + jw**2 + jw * wb / loudspeakers.box_leak_q())), dtype=np.complex128
    )


def impedance_ohm(driver: SmallSignal, mounting: Mounting, frequency_hz: Floats) -> Complexes:
    """Impedance at the driver's tags, (F,) [ohm]."""
    moving = 1.0 / motional_siemens(driver, mounting, frequency_hz)
    return np.asarray(driver.re_ohm + coil_ohm(driver, frequency_hz) + moving, dtype=np.complex128)


def excursion_mm_per_v(driver: SmallSignal, mounting: Mounting, frequency_hz: Floats) -> Floats | None:
    """Peak excursion, one way, for each r.m.s. volt at the tags, (F,) [mm/V]; None without Vas and Sd."""
    bl = driver.bl_tm
    if bl is None or not box_known(driver, mounting):
        return None
    motional = 1.0 / motional_siemens(driver, mounting, frequency_hz)
    coil = driver.re_ohm + coil_ohm(driver, frequency_hz)
    speed = motional / (motional + coil) / bl
    return np.asarray(
        1000.0 * math.sqrt(2.0) * np.abs(speed) / (2.0 * np.pi * frequency_hz), dtype=np.float64
    )


def excursion_limit_v(driver: SmallSignal, mounting: Mounting, xmax_mm: float, frequency_hz: Floats) -> Floats | None:
    """R.m.s. volts of a tone at the tags that move the driver to its linear excursion, (F,) [V]; None as above."""
    moved = excursion_mm_per_v(driver, mounting, frequency_hz)
    return None if moved is None else xmax_mm / moved
