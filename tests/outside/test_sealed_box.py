"""A driver in a sealed box against the closed form of the textbooks (R. H. Small, 1972; Beranek), to 0.1 %.

With a voice coil of no inductance everything follows from four numbers. With a = Vas / Vb:
fc = fs root(1 + a), Qtc = Qts root(1 + a), and

    excursion / volts = Bl C / (Re (1 + a)) / ((1 - u^2) + j u / Qtc),        u = f / fc
    impedance         = Re (((1 - u^2) + j u / Qtc) / ((1 - u^2) + j u / Qmc)), Qmc = Qms root(1 + a)

with C = Vas / (rho c^2 Sd^2) and Bl = root(Re / (2 pi fs C Qes)).
"""

from __future__ import annotations

import numpy as np
import pytest

from loomwright.rig.model import Mounting
from loomwright.sound.boxes import (
    SmallSignal,
    excursion_limit_v,
    excursion_mm_per_v,
    impedance_ohm,
    sealed,
)

WITHIN = 1e-3
RHO, SPEED = 1.204, 343.2  # dry air, 20 C
DRIVERS = (
    SmallSignal(3.4, 0.0, 1.0, 32.0, 5.0, 0.55, 0.042, 0.034),
    SmallSignal(3.3, 0.0, 1.0, 62.0, 4.0, 0.70, 0.014, 0.0132),
    SmallSignal(6.2, 0.0, 1.0, 45.0, 3.0, 0.35, 0.060, 0.0215),
)


def closed_form(driver: SmallSignal, box_l: float, at_hz):
    assert driver.vas_m3 is not None
    assert driver.sd_m2 is not None
    a = driver.vas_m3 / (box_l / 1000)
    rise = np.sqrt(1 + a)
    u = at_hz / (driver.fs_hz * rise)
    qts = 1 / (1 / driver.qms + 1 / driver.qes)
    compliance = driver.vas_m3 / (RHO * SPEED**2 * driver.sd_m2**2)
    bl = np.sqrt(driver.re_ohm / (2 * np.pi * driver.fs_hz * compliance * driver.qes))
    total = (1 - u**2) + 1j * u / (qts * rise)
    moved_m = bl * compliance / (driver.re_ohm * (1 + a)) / total
    z = driver.re_ohm * total / ((1 - u**2) + 1j * u / (driver.qms * rise))
    return np.abs(moved_m) * 1000 * np.sqrt(2), z


@pytest.mark.parametrize("driver", DRIVERS, ids=["bass", "door", "efficient"])
@pytest.mark.parametrize("box_l", [4.0, 20.0, 120.0])
def test_excursion_and_impedance(driver, box_l):
    at_hz = np.geomspace(10.0, 1000.0, 300)
    mounting = Mounting("sealed", box_l)
    moved_mm, z = closed_form(driver, box_l, at_hz)
    ours = excursion_mm_per_v(driver, mounting, at_hz)
    assert ours is not None
    assert ours == pytest.approx(moved_mm, rel=WITHIN)
    assert np.abs(impedance_ohm(driver, mounting, at_hz) / z - 1) == pytest.approx(np.zeros(300), abs=WITHIN)
    assert sealed(driver, box_l).fc_hz == pytest.approx(driver.fs_hz * np.sqrt(1 + driver.vas_m3 / box_l * 1000))
    limit = excursion_limit_v(driver, mounting, 5.0, at_hz)
    assert limit is not None
    assert limit * moved_mm == pytest.approx(np.full(300, 5.0), rel=WITHIN)


def test_a_very_large_box_is_no_box():
    at_hz = np.geomspace(10.0, 1000.0, 100)
    free = impedance_ohm(DRIVERS[0], Mounting(), at_hz)
    assert impedance_ohm(DRIVERS[0], Mounting("sealed", 1e6), at_hz) == pytest.approx(free, rel=1e-3)


def test_a_port_tuned_to_nothing_is_a_sealed_box():
    at_hz = np.geomspace(30.0, 1000.0, 100)
    shut = impedance_ohm(DRIVERS[1], Mounting("sealed", 20.0), at_hz)
    assert impedance_ohm(DRIVERS[1], Mounting("vented", 20.0, 0.1), at_hz) == pytest.approx(shut, rel=2e-3)


def test_a_vented_box_holds_the_driver_still_at_its_tuning():
    """At the tuning the air moves in the port, not the cone: what is left follows from the leak alone."""
    at_hz = np.array([40.0])
    vented = excursion_mm_per_v(DRIVERS[1], Mounting("vented", 20.0, 40.0), at_hz)
    free = excursion_mm_per_v(DRIVERS[1], Mounting(), at_hz)
    assert vented is not None
    assert free is not None
    assert vented[0] < 0.25 * free[0]


def test_at_resonance_the_impedance_is_that_of_the_losses():
    """At fs a free driver shows Re (1 + Qms / Qes), a pure resistance."""
    for driver in DRIVERS:
        z = impedance_ohm(driver, Mounting(), np.array([driver.fs_hz]))[0]
        assert z == pytest.approx(driver.re_ohm * (1 + driver.qms / driver.qes), rel=1e-9)


def test_the_semi_inductance_has_its_stated_reactance_at_1_khz_and_rises_as_its_power():
    """K (j w)^n: the phase is n x 90 degrees at every frequency."""
    from loomwright.sound.boxes import coil_ohm

    driver = SmallSignal(3.4, 1e-3, 0.7, 32.0, 5.0, 0.55)
    z = coil_ohm(driver, np.array([100.0, 1000.0, 10_000.0]))
    assert z[1].imag == pytest.approx(2 * np.pi * 1000 * 1e-3)
    assert np.degrees(np.angle(z)) == pytest.approx(np.full(3, 63.0))
    assert np.abs(z[2] / z[1]) == pytest.approx(10**0.7)
