"""Prospective current: a hand calculation with every resistance in the way."""

from __future__ import annotations

import pytest

from loomwright.facts import batteries, conductors, fuses, joints
from loomwright.rig.file import parse
from loomwright.rig.model import BatterySpec, FuseSpec
from loomwright.study import Study

RIG = """
format = 1
title = "One fuse"
ambient_c = 25
[vehicle]
kind = "other"
[place.board]
temperature_c = 25
[item.battery]
part = "agm_60ah"
place = "board"
charge_pct = 100
[item.fuse]
part = "holder_e"
place = "board"
fuses_a = [40]
[item.lamp]
part = "light_bar_60w"
place = "board"
[[wire]]
id = "P1"
from = "battery.plus"
to = "fuse.in"
size = "4 AWG"
length_mm = 2500
[[wire]]
id = "P2"
from = "fuse.out"
to = "lamp.supply+"
size = "10 AWG"
length_mm = 300
[[wire]]
id = "R1"
from = "lamp.supply-"
to = "battery.minus"
size = "4 AWG"
length_mm = 300
"""


def test_one_battery_one_wire_one_fuse() -> None:
    """I = EMF / (battery + 2.5 m of 4 AWG + its two joints + fuse and holder), fault at the fuse to the minus post."""
    study = Study(parse(RIG, "one.toml"))
    spec, holder = study.rig.items["battery"].part.spec, study.rig.items["fuse"].part.spec
    assert isinstance(spec, BatterySpec)
    assert isinstance(holder, FuseSpec)
    emf = batteries.rest_v(spec.rest_table, 100.0)
    source = spec.resistance_mohm * batteries.resistance_factor(spec.chemistry, 100.0, 25.0)
    wire = conductors.resistance_mohm_per_m(conductors.parse_size("4 AWG").area_mm2, "copper") * 2.5
    ends = sum(joints.joint(name).mohm for name in study.rig.wire("P1").joints)
    fuse = fuses.cold_resistance_mohm("E", 40.0) + holder.contact_mohm
    want = emf / (source + wire + ends + fuse) * 1000
    assert study.power.prospective_a["fuse.1"] == pytest.approx(want, rel=1e-3)
