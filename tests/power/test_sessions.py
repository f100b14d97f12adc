"""Sessions worked by hand: Peukert's law, charge that a charger gives back, and when the engine no longer cranks."""

from __future__ import annotations

import math

import pytest

from loomwright.facts import batteries
from loomwright.power.session import timelines
from loomwright.rig.file import parse
from loomwright.rig.model import BatterySpec, Rig
from loomwright.study import Study

RIG = """
format = 1
title = "One battery, one steady draw"
ambient_c = 25
[vehicle]
kind = "other"
crank_a = 100
crank_min_v = {crank_min_v}
idle_rpm = 1500
[place.board]
temperature_c = 25
[item.battery]
part = "agm_60ah"
place = "board"
charge_pct = {charge}
[item.lamp]
part = "light_bar_60w"
place = "board"
{charger}
[item.fuse]
part = "holder_c"
place = "board"
fuses_a = [15]
[[wire]]
id = "P1"
from = "battery.plus"
to = "fuse.in"
size = "10 AWG"
length_mm = 100
[[wire]]
id = "P2"
from = "fuse.out"
to = "lamp.supply+"
size = "10 AWG"
length_mm = 100
[[wire]]
id = "R1"
from = "lamp.supply-"
to = "battery.minus"
size = "10 AWG"
length_mm = 100
"""

CHARGER = """
[item.alternator]
part = "alternator_55a"
place = "board"
[[wire]]
id = "C1"
from = "alternator.out"
to = "battery.plus"
size = "6 AWG"
length_mm = 300
[[wire]]
id = "C2"
from = "alternator.ground"
to = "battery.minus"
size = "6 AWG"
length_mm = 300
"""


def rig(charge: float = 100.0, crank_min_v: float = 9.0, charger: str = "") -> Rig:
    text = RIG.replace("{charge}", str(charge)).replace("{crank_min_v}", str(crank_min_v))
    text = text.replace("{charger}", charger.split("[[wire]]")[0])
    wires = charger[charger.index("[[wire]]") :] if charger else ""
    return Study(parse(text + wires, "session.toml")).rig


def spec_of(found: Rig) -> BatterySpec:
    spec = found.items["battery"].part.spec
    assert isinstance(spec, BatterySpec)
    return spec


def test_charge_falls_as_peukert_says() -> None:
    """Hours to a given charge at a current: t = H (C / (I H))^k, the law that the facts' examples 31 and 32 check."""
    found = rig()
    spec = spec_of(found)
    line = timelines(found, [(("off", "music", 3.0),)])[0]
    study = Study(found)
    amps = -study.power.case("off", "music").items["battery"].amps_a
    hours = batteries.peukert_hours(spec.capacity_ah, amps, spec.peukert)
    left = 100.0 * (1 - 3.0 / hours)
    # the draw changes a little as the volts fall; three hours take a tenth of the charge or so
    assert line.charge_pct["battery"][-1] == pytest.approx(left, abs=1.0)
    assert line.time_h[-1] == pytest.approx(3.0)


def test_at_the_rate_of_the_rating_it_lasts_twenty_hours() -> None:
    """Below the 20 h current no bonus is counted: ampere-hours are ampere-hours."""
    found = rig()
    spec = spec_of(found)
    study = Study(found)
    amps = -study.power.case("off", "quiet").items["battery"].amps_a
    line = timelines(found, [(("off", "quiet", 2.0),)])[0]
    effective = amps * max(amps / (spec.capacity_ah / 20), 1.0) ** (spec.peukert - 1)
    assert 100.0 - line.charge_pct["battery"][-1] == pytest.approx(100 * effective * 2.0 / spec.capacity_ah, abs=0.6)


def test_the_engine_cranks_until_the_volts_under_the_starter_reach_the_least() -> None:
    """At the hour found, EMF less R times the starter's amperes is the least volts, by the battery's own tables."""
    found = rig(crank_min_v=10.9)
    line = timelines(found, [(("off", "music", 24.0),)])[0]
    hour = line.hours_to_no_crank_h
    assert 0.0 < hour < 24.0
    k = next(i for i, t in enumerate(line.time_h) if t >= hour)
    share = (hour - line.time_h[k - 1]) / (line.time_h[k] - line.time_h[k - 1])
    levels = line.charge_pct["battery"]
    charge = levels[k - 1] + share * (levels[k] - levels[k - 1])
    spec = spec_of(found)
    ohm = spec.resistance_mohm / 1000 * batteries.resistance_factor(spec.chemistry, charge, 25.0)
    assert batteries.rest_v(spec.rest_table, charge) - 100.0 * ohm == pytest.approx(10.9, abs=0.03)


def test_a_charger_fills_the_battery_and_it_never_fails_to_crank() -> None:
    found = rig(charge=60.0, charger=CHARGER)
    line = timelines(found, [(("cruise", "music", 8.0),)])[0]
    levels = line.charge_pct["battery"]
    assert list(levels) == sorted(levels)
    assert levels[-1] > 80.0
    assert math.isinf(line.hours_to_no_crank_h)


def test_timelines_in_step_are_the_same_as_alone() -> None:
    """Idle for an hour, then the engine off for an hour, beside a plain session: neither changes the other."""
    found = rig(charge=80.0, charger=CHARGER)
    mixed = (("idle", "music", 1.0), ("off", "music", 1.0))
    together = timelines(found, [mixed, (("off", "music", 2.0),)])
    alone = timelines(found, [mixed])[0]
    assert together[0].charge_pct["battery"][-1] == pytest.approx(alone.charge_pct["battery"][-1], abs=0.3)
    turn = next(i for i, t in enumerate(together[0].time_h) if t == pytest.approx(1.0))
    levels = together[0].charge_pct["battery"]
    assert levels[turn] > levels[0]
    assert levels[-1] < levels[turn]
