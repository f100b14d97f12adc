"""What the wire takes: against hand figures, shared pieces too, and the size that would do."""

from __future__ import annotations

import pytest

from loomwright.facts import conductors
from loomwright.rig.model import Rig
from loomwright.sound.loads import study_loads
from loomwright.sound.speaker_wire import DriverLead, speaker_leads
from tests.sound.rigs import one_driver, rig

JOINTS_OHM = 2 * (0.3 + 0.8) / 1000
"""A screw clamp and a blade on each of two wires."""


def leads(made: Rig) -> dict[str, DriverLead]:
    return {x.driver: x for x in speaker_leads(made, study_loads(made))}


def per_m(size: str) -> float:
    area = conductors.parse_size(size).area_mm2
    return conductors.resistance_mohm_per_m(area, "copper", 20.0, size.split()[1]) / 1000


def test_a_five_metre_run_of_16_awg() -> None:
    """The handbook's run: 0.134 ohm, 0.287 dB, damping at most 29.8; here with the joints on top."""
    found = leads(one_driver("four", size="16 AWG", more="length_mm = 5000"))["d"]
    assert found.loop_ohm == pytest.approx(0.1340 + JOINTS_OHM, abs=0.0005)
    assert found.loss_db == pytest.approx(0.287, abs=0.007)
    assert found.damping <= 29.8
    assert found.length_mm == 10_000
    assert found.wires == ("S1", "S2")
    ohm = {s: 10 * per_m(s) + JOINTS_OHM for s in ("14 AWG", "12 AWG")}
    assert ohm["14 AWG"] / 4 < 10 ** (0.2 / 20) - 1  # so 14 AWG keeps to 0.2 dB
    assert found.enough == "14 AWG"
    assert not found.thicker_than_useful


def test_measured_resistance_counts_before_the_table() -> None:
    found = leads(one_driver("four", size="16 AWG", more="length_mm = 5000\nmeasured_mohm = 200"))["d"]
    assert found.loop_ohm == pytest.approx(0.4 + JOINTS_OHM, abs=1e-4)


def test_two_drivers_share_a_lead() -> None:
    """Two fours in parallel at the end of a shared lead: each feels the lead twice, since both currents run in it."""
    made = rig(
        {"a": "four", "b": "four"},
        [("amp.ch1+", "a.+"), ("amp.ch1-", "a.-"), ("a.+", "b.+"), ("a.-", "b.-")],
        size="16 AWG", more="length_mm = 2000",
    )  # fmt: skip
    shared = 2 * 2 * per_m("16 AWG") + JOINTS_OHM
    found = leads(made)
    assert found["a"].loop_ohm == pytest.approx(2 * shared, rel=0.02)
    assert found["b"].loop_ohm > 1.4 * found["a"].loop_ohm
    assert found["b"].wires == ("S1", "S2", "S3", "S4")
    assert found["a"].wires == ("S1", "S2")


def test_far_more_copper_than_useful_is_said() -> None:
    found = leads(one_driver("eight", size="10 AWG", more="length_mm = 400"))["d"]
    assert found.loss_db < 0.02
    assert found.thicker_than_useful
    assert not leads(one_driver("eight", size="16 AWG", more="length_mm = 300"))["d"].thicker_than_useful


def test_a_run_that_no_size_can_mend() -> None:
    found = leads(one_driver("four", size="16 AWG", more='length_mm = 500\nfrom_joint = "loose"'))["d"]
    assert found.enough is None
