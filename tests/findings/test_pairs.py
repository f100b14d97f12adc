"""Each check speaks up on a rig spoiled for it, and is silent on its corrected twin."""

from __future__ import annotations

import pytest

from loomwright.findings.registry import all_checks, check_of
from tests.findings.bases import spoiled, study
from tests.findings.board_cases import BOARDS
from tests.findings.build_cases import BUILD
from tests.findings.circuit_cases import CIRCUITS
from tests.findings.edits import Case
from tests.findings.loom_cases import LOOM
from tests.findings.more_cases import MORE
from tests.findings.panel_cases import PANELS
from tests.findings.sound_cases import SOUND
from tests.findings.supply_cases import SUPPLY

CASES = (*SUPPLY, *BUILD, *MORE, *CIRCUITS, *SOUND, *LOOM, *PANELS, *BOARDS)

IDS = [f"{c.code}-{c.severity}-{k}" for k, c in enumerate(CASES)]
BY_HAND = {"E502"}
"""Checks whose trigger no rig file reaches today; tested on results made by hand."""


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_spoiled_rig_raises_it(case: Case) -> None:
    found = check_of(case.code)(study(spoiled(case.base, *case.edits)))
    assert found, f"{case.code} says nothing"
    hits = [f for f in found if f.severity == case.severity and set(case.where) <= set(f.where)]
    assert hits, [(f.severity, f.where, f.evidence) for f in found]
    for word in case.says:
        assert any(word in f"{f.evidence} {f.remedy}" for f in hits), [f"{f.evidence} -> {f.remedy}" for f in hits]


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_corrected_twin_does_not(case: Case) -> None:
    found = check_of(case.code)(study(spoiled(case.twin, *case.mended)))
    if case.severity == "Know":
        assert not [f for f in found if set(case.where) <= set(f.where)], [f.evidence for f in found]
    else:
        assert not [f for f in found if f.severity != "Know"], [f.evidence for f in found]


def test_every_check_has_a_pair() -> None:
    assert {c.code for c in all_checks()} == {c.code for c in CASES} | BY_HAND
