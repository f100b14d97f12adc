"""What an amplifier takes from its supply for the audio that it makes."""

from __future__ import annotations

from math import sqrt

from loomwright.rig.model import AmplifierSpec

STATED_AT_V = 13.5
"""Volts at which a part of the catalogue states the watts it draws."""


def efficiency(spec: AmplifierSpec, share: float) -> float:
    """Output watts over the watts drawn on top of idling, at a share of full output.

    Straight line in sqrt(share) through the points at 1/8 and full: class B follows sqrt(share) in theory. Below 1/8
    class AB goes on proportionally to sqrt(share) and class D keeps its 1/8 figure, its fixed losses being the idle
    current (common practice).
    """
    root, eighth = sqrt(max(share, 0.0)), sqrt(1 / 8)
    if root >= eighth:
        slope = (spec.efficiency_full - spec.efficiency_eighth) / (1.0 - eighth)
        return spec.efficiency_eighth + slope * (min(root, 1.0) - eighth)
    if spec.amplifier_class == "D":
        return spec.efficiency_eighth
    return spec.efficiency_eighth * root / eighth


def supply_w(spec: AmplifierSpec, output_w: float, share: float) -> float:
    """Watts drawn for the programme on top of the idle current [W]."""
    at = efficiency(spec, share)
    return share * output_w / at if at > 0 else 0.0


def output_share(spec: AmplifierSpec, volts_v: float) -> float:
    """Output at these supply volts over output at rated volts: 1 for a stiff supply, (V / rated)^2 below it for a
    sagging one.
    """
    if spec.supply == "stiff" or volts_v >= spec.rated_v:
        return 1.0
    return max(volts_v, 0.0) ** 2 / spec.rated_v**2
