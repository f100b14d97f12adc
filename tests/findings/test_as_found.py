"""The trike as found shows every fault that was planted in it. The list stands at the head of its file."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import pytest

from loomwright.findings.model import Finding
from loomwright.findings.run import check
from loomwright.rig.file import load
from loomwright.study import Study

FILE = Path(str(resources.files("loomwright") / "demo" / "carnival_trike_as_found.toml"))
PLANTED: tuple[tuple[str, str, str], ...] = (
    ("copper-clad feed sold as copper", "E503", "A1"),
    ("bare past moving and hot parts", "E512", "A1"),
    ("speaker wires sleeved beside it", "E513", "A1"),
    ("twisted splice in the main feed", "E104", "splice"),
    ("twisted splice is no fit joint", "E602", "splice"),
    ("two unlike batteries tied", "E703", "aux"),
    ("no device on the second battery", "E101", "aux"),
    ("device over a metre from the battery", "E102", "breaker"),
    ("one breaker over four amplifiers", "E201", "breaker.1"),
    ("breaker larger than the branch wires", "E202", "breaker.1"),
    ("charging lead without a device", "E103", "C1"),
    ("SAE wire bought as gauge", "E504", "A5"),
    ("open plug in the wet", "E607", "right_plug"),
    ("case that comes off without a plug", "E511", "left_case"),
    ("thin return", "E401", "G3"),
    ("return over paint", "E402", "G1"),
    ("second return over paint", "E402", "G3"),
    ("returns at different places, unbalanced", "E404", "bass_amp"),
    ("relay coils without diodes", "E902", "light_relay_left"),
    ("remote output overloaded", "E901", "source"),
    ("clip that cuts into the remote wire", "E602", "remote_tap"),
    ("stator cannot keep up", "E701", "stator"),
    ("flat after the parade", "E702", "battery"),
)


@pytest.fixture(scope="module")
def found() -> tuple[Finding, ...]:
    return check(Study(load(FILE)))


@pytest.mark.parametrize(("fault", "code", "where"), PLANTED, ids=[p[0].replace(" ", "-") for p in PLANTED])
def test_planted_fault_is_found(found: tuple[Finding, ...], fault: str, code: str, where: str) -> None:
    hits = [f for f in found if f.code == code and where in f.where]
    assert hits, f"{fault}: {code} does not name {where}"
    assert all(f.severity in ("Stop", "Fix") for f in hits)


def test_it_must_not_be_powered_up(found: tuple[Finding, ...]) -> None:
    assert found[0].severity == "Stop"
    assert {"E101", "E102", "E202", "E301"} <= {f.code for f in found if f.severity == "Stop"}


def test_each_cause_is_told_once(found: tuple[Finding, ...]) -> None:
    """Findings of one code never share a place that they start with."""
    firsts = [(f.code, f.severity, f.where[:2]) for f in found]
    assert len(firsts) == len(set(firsts))
    assert len(found) < 60
