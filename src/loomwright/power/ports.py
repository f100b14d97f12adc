"""What the ports of a circuit draw and give: amperes, slopes, and the matrix of a Newton step."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.power.circuit import FLOOR_V, Circuit, Drive, Floats, Ints, load_current

SHUT, REGULATED, LIMITED = 0, 1, 2


@dataclass(frozen=True)
class Corners:
    """Where each source port changes from shut to regulated (high) and from regulated to limited (low)."""

    high_v: Floats
    low_v: Floats


def corners_of(circuit: Circuit, drive: Drive) -> Corners:
    """Corners of every source in every case; one that cannot give at all has none."""
    dead = drive.source_limit_a <= 0
    high = np.where(dead, -np.inf, drive.source_v)
    low = np.where(dead, -np.inf, drive.source_v - drive.source_limit_a / circuit.source_siemens)
    return Corners(high, low)


def regions(corners: Corners, v: Floats) -> Ints:
    """Which of the three lines each source port is on at its volts, (n, S)."""
    return np.where(v > corners.high_v, SHUT, np.where(v >= corners.low_v, REGULATED, LIMITED))


class Lines:
    """Which of its three lines each source port is on, (n, S), and what holds until one of them changes."""

    def __init__(self, circuit: Circuit, drive: Drive, region: Ints) -> None:
        self.region = region
        self.shut, self.regulated, self.limited = region == SHUT, region == REGULATED, region == LIMITED
        self.slope = np.where(self.regulated, circuit.source_siemens, 0.0)
        self.steady_a = np.where(self.limited, drive.source_limit_a, 0.0)


def currents(circuit: Circuit, drive: Drive, v: Floats, lines: Lines | None) -> tuple[Floats, Floats, Floats]:
    """Port amperes, their own slopes, and for converters the slope of input against output volts.

    Returns i (n, P), di (n, P), cross (n, D) = d i_input / d v_output.
    """
    loads, sources = len(circuit.load_a), len(circuit.source_a)
    i, di = np.empty_like(v), np.empty_like(v)
    i[:, :loads], di[:, :loads] = load_current(drive, v[:, :loads])
    vs = v[:, loads : loads + sources]
    line = circuit.source_siemens * (drive.source_v - vs)
    if lines is None:
        given = np.minimum(np.maximum(line, 0.0), drive.source_limit_a)
        slope = np.where((line > 0) & (line < drive.source_limit_a), circuit.source_siemens, 0.0)
    else:
        given, slope = np.where(lines.regulated, line, lines.steady_a), lines.slope
    np.negative(given, out=i[:, loads : loads + sources])
    di[:, loads : loads + sources] = slope
    out = circuit.converter_output
    if not len(out):
        return i, di, np.empty((len(v), 0))
    v_in = np.maximum(v[:, loads + sources :], FLOOR_V)
    v_out, given_out, slope_out = vs[:, out], given[:, out], -slope[:, out]
    watts = v_out * given_out / circuit.converter_efficiency
    i[:, loads + sources :] = watts / v_in
    di[:, loads + sources :] = -watts / v_in**2
    return i, di, (given_out + v_out * slope_out) / (circuit.converter_efficiency * v_in)


def jacobian(circuit: Circuit, z_ohm: Floats, di: Floats, cross: Floats) -> Floats:
    """I + Z dI/dV, (n, P, P)."""
    j = z_ohm * di[:, None, :]
    loads, sources = len(circuit.load_a), len(circuit.source_a)
    for d, out in enumerate(circuit.converter_output):
        j[:, :, loads + out] += z_ohm[..., :, loads + sources + d] * cross[:, d, None]
    diagonal = np.einsum("...ii->...i", j)
    diagonal += 1.0
    return j
