"""What people do on vehicles and type into files: the error says what is wrong with it, not only where."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.cli import samples
from loomwright.errors import InputError, Problem
from loomwright.findings.run import check
from loomwright.rig.file import parse
from loomwright.study import Study

BASE = samples.text(samples.BLANK)
SECOND = """
[item.aux]
part = "agm_60ah"
place = "fairing"
[item.bar]
part = "bus_power_4"
place = "seat"
[[wire]]
id = "X1"
from = "battery.plus"
to = "bar.stud1"
size = "8 AWG"
[[wire]]
id = "X2"
from = "battery.minus"
to = "aux.minus"
size = "8 AWG"
[[wire]]
id = "X3"
from = "bar.stud2"
to = "aux.plus"
size = "8 AWG"
"""
FUSE = """
[item.late]
part = "holder_c"
place = "seat"
fuses_a = [30]
[[wire]]
id = "R9"
from = "ground.stud2"
to = "late.in"
size = "10 AWG"
"""


@pytest.fixture
def told() -> Callable[[str, str, str], list[Problem]]:
    def problems(old: str, new: str, more: str = "") -> list[Problem]:
        assert old in BASE
        with pytest.raises(InputError) as caught:
            parse(BASE.replace(old, new, 1) + more, "rig.toml")
        return list(caught.value.problems)

    return problems


def test_a_fuse_in_the_return_is_called_that(told: Callable[..., list[Problem]]) -> None:
    found = told('from = "ground.stud2"\nto = "amp.supply-"', 'from = "late.out"\nto = "amp.supply-"', FUSE)
    assert any("fuse in a return" in p.remedy and "notes" in p.remedy for p in found)


def test_a_loudspeaker_on_ground_is_called_that(told: Callable[..., list[Problem]]) -> None:
    (found,) = told('from = "amp.ch1-"', 'from = "ground.stud5"')
    assert "do not power it up" in found.remedy


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("length_mm = 700 ", "length_mm = 1,5 ", "length_mm = 1.5"),
        ("length_mm = 700 ", "length_mm = 1,500 ", "length_mm = 1500"),
        ("[item.stator]", "[item.battery]", "[item.battery]"),
        ("charge_pct = 90", "charge_pct = 90\ncharge_pct = 80", "charge_pct a second time"),
    ],
)
def test_a_slip_of_the_pen_is_told_in_its_own_words(
    told: Callable[..., list[Problem]], old: str, new: str, says: str
) -> None:
    (found,) = told(old, new)
    assert says in f"{found.received} {found.remedy}"
    assert "toml.io" not in found.remedy


def test_a_tie_between_two_batteries_wants_a_fuse_at_both() -> None:
    found = [f for f in check(Study(parse(BASE + SECOND, "rig.toml"))) if f.code == "E101"]
    assert len(found) == 1
    assert "of aux" in found[0].remedy
    assert "to battery" in found[0].remedy
