"""Nominal loads that the power study takes."""

from __future__ import annotations

from loomwright.power.channels import channel_loads
from tests.sound.rigs import rig


def test_a_driver_behind_a_pad_counts_at_its_nominal_impedance() -> None:
    """A pad shows its channel the load it is made for."""
    made = rig(
        {"d": "eight", "p": "tap"}, [("amp.ch1+", "p.a"), ("p.b", "d.+"), ("amp.ch1-", "d.-"), ("d.-", "p.c")]
    )
    assert channel_loads(made)["amp"][0] == 8.0
