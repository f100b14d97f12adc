"""Torques of ring lugs: as printed, and well within what a stud of copper alloy stands."""

from __future__ import annotations

import math

import pytest

from loomwright.facts import building

# Ring lugs by screw, N m, as makers of drives and terminals print them: common practice.
PRINTED_NM = {4: 1.2, 5: 2.0, 6: 2.5, 8: 6.0, 10: 10.0, 12: 14.0}

# Coarse pitches of ISO 261, mm. Stress area of a thread by ISO 898-1: pi/4 (d - 0.9382 P)^2.
PITCH_MM = {4: 0.7, 5: 0.8, 6: 1.0, 8: 1.25, 10: 1.5, 12: 1.75}

NUT_FACTOR = 0.2         # dry thread: preload = torque / (factor x diameter); a usual handbook value, from memory
BRASS_PROOF_MPA = 200.0  # half-hard brass, a low handbook value, from memory


@pytest.mark.parametrize("stud_mm", sorted(PRINTED_NM))
def test_the_torque_is_the_printed_one_and_strains_no_stud(stud_mm: int) -> None:
    found = building.lug_torque(stud_mm)
    assert found is not None
    assert found.torque_nm == PRINTED_NM[stud_mm]
    preload_n = found.torque_nm / (NUT_FACTOR * stud_mm / 1000.0)
    area_mm2 = math.pi / 4.0 * (stud_mm - 0.9382 * PITCH_MM[stud_mm]) ** 2
    assert preload_n / area_mm2 < BRASS_PROOF_MPA


def test_a_thread_that_the_sheet_does_not_list_has_no_torque() -> None:
    assert building.lug_torque(7.0) is None
