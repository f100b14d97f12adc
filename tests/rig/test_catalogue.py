"""The catalogue: every part valid, enough of each kind, nothing silly among the figures."""

from __future__ import annotations

import math

import pytest

from loomwright.errors import InputError, UnknownName
from loomwright.facts import batteries, fuses, joints
from loomwright.rig.catalogue import builtin, parse
from loomwright.rig.model import (
    AmplifierSpec,
    BatterySpec,
    ChargerSpec,
    ConnectorSpec,
    DriverSpec,
    FuseSpec,
    LoadSpec,
    Part,
)

PARTS = {i: builtin().part(i) for i in builtin().ids()}
CLASS_D_FULL = (0.80, 0.90)    # facts: real class D, common practice
CLASS_AB_FULL = (0.60, 0.65)


def family(name: str) -> list[Part]:
    return [p for p in PARTS.values() if p.family == name]


def test_there_are_at_least_seventy_parts() -> None:
    assert len(PARTS) >= 70


@pytest.mark.parametrize(
    ("name", "least"),
    [
        ("battery", 8), ("charger", 6), ("dcdc", 2), ("isolator", 2), ("amplifier", 10), ("processor", 2),
        ("source", 3), ("accessory", 6), ("fuse_holder", 6), ("fused_block", 6), ("plain_block", 2), ("breaker", 4),
        ("switch", 1), ("relay", 2), ("bus", 3), ("frame", 2), ("connector", 6), ("splice", 3), ("driver", 6),
        ("passive", 4), ("wire_stock", 40),
    ],
)  # fmt: skip
def test_every_family_is_there(name: str, least: int) -> None:
    assert len(family(name)) >= least


@pytest.mark.parametrize("part", PARTS.values(), ids=list(PARTS))
def test_every_part_has_what_a_rig_needs(part: Part) -> None:
    names = [t.name for t in part.terminals]
    assert len(names) == len(set(names))
    assert bool(names) != (part.family == "wire_stock")
    assert all("." not in n for n in names)
    assert all(t.max_mm2 > 0 and t.max_wires >= 1 for t in part.terminals)
    for t in part.terminals:
        joints.joint(t.joint)
    if part.mass_g is not None:
        assert part.size_mm is not None
        assert 0.05 < part.mass_g / (part.size_mm[0] * part.size_mm[1] * part.size_mm[2] / 1000.0) < 5.0  # g/cm3


def test_terminal_names_are_those_of_the_families() -> None:
    def names(part_id: str) -> list[str]:
        return [t.name for t in PARTS[part_id].terminals]

    assert names("agm_20ah") == ["plus", "minus"]
    assert names("stator_28a") == ["out", "ground"]
    assert names("dcdc_20a") == ["in", "out", "ground"]
    assert names("isolator_relay_100a") == ["main", "aux"]
    assert names("amp_2x80_class_d") == [
        "supply+", "supply-", "remote", "in1", "in2", "ch1+", "ch1-", "ch2+", "ch2-"
    ]  # fmt: skip
    assert names("processor_2in_4out") == [
        "supply+", "supply-", "remote_in", "remote_out", "in1", "in2", "out1", "out2", "out3", "out4"
    ]  # fmt: skip
    assert names("source_4spk_4out")[2:8] == ["remote_out", "out1", "out2", "out3", "out4", "spk1+"]
    assert names("relay_40a") == ["30", "87", "85", "86"]
    assert names("fused_block_4way_c") == ["in", "out1", "out2", "out3", "out4"]
    assert names("connector_2_sealed") == ["a1", "b1", "a2", "b2"]
    assert names("splice_crimp") == ["leg1", "leg2", "leg3"]
    assert names("tweeter_25mm") == ["+", "-"]
    assert names("coil_0m22") == ["a", "b"]


@pytest.mark.parametrize("part", family("amplifier"), ids=lambda p: p.id)
def test_amplifiers_hang_together(part: Part) -> None:
    spec = part.spec
    assert isinstance(spec, AmplifierSpec)
    low, high = CLASS_D_FULL if spec.amplifier_class == "D" else CLASS_AB_FULL
    assert low <= spec.efficiency_full <= high
    eighth = (0.65, 0.80) if spec.amplifier_class == "D" else (0.20, 0.25)
    assert eighth[0] <= spec.efficiency_eighth <= eighth[1]
    draw_a = spec.idle_a + spec.channels * spec.output_4ohm_w / spec.efficiency_full / 12.0
    assert draw_a <= sum(spec.own_fuses_a) <= 2.0 * draw_a
    assert all(a in fuses.ratings_a(spec.own_fuse_type) for a in spec.own_fuses_a)
    if spec.bridged_4ohm_w is not None and spec.output_2ohm_w is not None:
        assert spec.channels >= 2
        assert spec.bridged_4ohm_w == pytest.approx(2.0 * spec.output_2ohm_w, rel=0.05)  # each half sees 2 ohm


@pytest.mark.parametrize("part", family("battery"), ids=lambda p: p.id)
def test_batteries_hang_together(part: Part) -> None:
    spec = part.spec
    assert isinstance(spec, BatterySpec)
    assert batteries.rest_v(spec.rest_table, 100) < spec.charge_min_v <= spec.charge_max_v
    if spec.cca_a is not None:
        assert spec.resistance_mohm < batteries.cold_resistance_bound_mohm(spec.cca_a) * 1.0  # cold is the higher one
    assert 0.1 <= spec.max_charge_a / spec.capacity_ah <= 1.0


@pytest.mark.parametrize("part", family("charger"), ids=lambda p: p.id)
def test_chargers_give_less_at_idle_than_their_rating(part: Part) -> None:
    spec = part.spec
    assert isinstance(spec, ChargerSpec)
    assert list(spec.rpm) == sorted(spec.rpm)
    assert list(spec.current_a) == sorted(spec.current_a)
    assert spec.current_a[0] <= 0.45 * spec.current_a[-1]


def test_the_marine_alternator_follows_the_published_hot_curve() -> None:
    spec = PARTS["alternator_marine_50a"].spec
    assert isinstance(spec, ChargerSpec)
    assert spec.current_a[:3] == (16, 41, 48)  # engine service manual: 1300, 2500, 5000 rpm of the shaft
    assert tuple(2.5 * r for r in spec.rpm[:3]) == (1300, 2500, 5000)


@pytest.mark.parametrize("part", family("driver"), ids=lambda p: p.id)
def test_small_signal_values_hang_together(part: Part) -> None:
    """Sensitivity follows from fs, Vas and Qes (reference efficiency 4 pi^2 / c^3 x fs^3 Vas / Qes, half space)."""
    spec = part.spec
    assert isinstance(spec, DriverSpec)
    assert spec.re_ohm is not None
    assert 0.7 <= spec.re_ohm / spec.nominal_ohm <= 0.95
    if spec.vas_l is not None:
        assert spec.fs_hz is not None
        assert spec.qes is not None
        share = 4 * math.pi**2 / 343.2**3 * spec.fs_hz**3 * spec.vas_l / 1000 / spec.qes
        assert spec.sensitivity_db == pytest.approx(112.2 + 10 * math.log10(share), abs=1.0)


@pytest.mark.parametrize("part", [p for p in PARTS.values() if isinstance(p.spec, FuseSpec)], ids=lambda p: p.id)
def test_holders_take_ratings_that_exist(part: Part) -> None:
    spec = part.spec
    assert isinstance(spec, FuseSpec)
    ratings = fuses.ratings_a(spec.type)
    assert min(ratings) <= spec.max_rating_a <= max(ratings)
    assert part.ways in (0, 4, 6, 8)


def test_remote_outputs_and_inputs_lie_in_the_published_range() -> None:
    for part in PARTS.values():
        if isinstance(part.spec, AmplifierSpec):
            assert 5 <= part.spec.remote_ma <= 20  # common practice
        if isinstance(part.spec, LoadSpec) and part.family == "source":
            assert 150 <= part.spec.remote_out_max_ma <= 300  # ISO 10487, contact A5


def test_connectors_hold_what_they_carry() -> None:
    for part in family("connector"):
        assert isinstance(part.spec, ConnectorSpec)
        assert part.spec.min_mm2 < part.spec.max_mm2
        assert part.spec.contact_a**2 * part.spec.contact_mohm / 1000.0 < 3.5  # W in one contact


def test_an_unknown_part_gets_the_nearest_name() -> None:
    with pytest.raises(UnknownName, match="agm_20ah"):
        builtin().part("agm_20")


KNOWN = 'family = "driver"\nnominal_ohm = 4\nrated_w = 50\nre_ohm = 3.4\nfs_hz = 60\nqms = 4'
BAD = [
    ('family = "battery"', "part.x.chemistry", "agm"),
    ('family = "bus"\nkind = "ground"\nstuds = 1\npath_mohm = 0.1\nrating_a = 1', "part.x.studs", "from 2"),
    ('family = "bus"\nkind = "ground"\nstuds = 3\npath_mohm = 0\nrating_a = 1', "part.x.path_mohm", "0.001"),
    ('family = "passive"\nelement = "coil"\nrated_v = 1', "part.x.inductance_mh", "above 0"),
    ('family = "bus"\nkind = "line"\nstuds = 3\npath_mohm = 1\nrating_a = 1', "part.x.kind", "ground"),
    ('family = "driver"\nnominal_ohm = 4\nrated_w = 50\nterminal.tagg = {}', "part.x.terminal.tagg", "tag"),
    (
        'family = "driver"\nnominal_ohm = 4\nrated_w = 50\nterminal.tag = { joint = "glue" }',
        "part.x.terminal.tag.joint", "blade",
    ),
    ('family = "driver"\nnominal_ohm = 4\nrated_w = 50\nre_ohm = 3.4\nfs_hz = 60\nqms = 4', "part.x.qes", "all of"),
    ('family = "driver"\nnominal_ohm = 4\nrated_w = 50\nle_mh = 1', "part.x.re_ohm", "all of"),
    (f"{KNOWN}\nqes = 0.7\nqts = 0.9", "part.x.qts", "0.596"),
    (f"{KNOWN}\nqes = 0", "part.x.qes", "0.05"),
    (f"{KNOWN}\nqes = -1", "part.x.qes", "0.05"),
    (f"{KNOWN.replace('3.4', '7')}\nqes = 0.7", "part.x.re_ohm", "1.25"),
    (
        'family = "charger"\nkind = "stator"\nrpm = [2, 1]\ncurrent_a = [1, 2]\nregulator_v = 14\nregulator_mohm = 9',
        "part.x.rpm", "rise",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("body", "place", "expected"), BAD, ids=[p for _, p, _ in BAD])
def test_a_bad_part_is_refused(body: str, place: str, expected: str) -> None:
    with pytest.raises(InputError) as caught:
        parse(f'format = 1\n[part.x]\ntitle = "X"\n{body}\n', "own.toml")
    assert [expected in p.expected for p in caught.value.problems if p.place == place] == [True]


def test_a_battery_of_no_resistance_is_refused() -> None:
    body = """
family = "battery"
title = "X"
chemistry = "agm"
capacity_ah = 20
resistance_mohm = {mohm}
rest_table = "agm_d"
charge_min_v = 14.8
charge_max_v = 14.2
max_charge_a = 6
acceptance_c = 0.03
peukert = 1.1
"""
    for mohm, places in ((0, {"part.x.resistance_mohm"}), (9, {"part.x.rest_table", "part.x.charge_max_v"})):
        with pytest.raises(InputError) as caught:
            parse("format = 1\n[part.x]\n" + body.format(mohm=mohm), "own.toml")
        assert {p.place for p in caught.value.problems} == places


@pytest.mark.parametrize("text", ["", "format = 2", "format = 1\npart = 3", "format = 1\npart.x = 3", "x = 1"])
def test_a_catalogue_of_the_wrong_shape_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        parse(text, "own.toml")
