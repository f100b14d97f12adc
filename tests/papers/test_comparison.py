"""Rigs side by side: sums and differences that can be worked by hand."""

from __future__ import annotations

import pytest

from loomwright.papers.comparison import compare, copper_g, price
from loomwright.rig.catalogue import builtin, parse
from loomwright.rig.file import parse as parse_rig
from tests.drawing import demo

NAMES = ("carnival_trike_as_found", "carnival_trike_planned", "harvest_buggy")


def test_three_rigs_keep_their_order_and_change_is_last_less_first() -> None:
    studies = [demo.study(n) for n in NAMES]
    result = compare(studies, [demo.findings(n) for n in NAMES])
    assert result.rigs == tuple(s.given.title for s in studies)
    front = next(v for v in result.volts if (v.amplifier, v.engine) == ("front_amp", "idle"))
    own = [s.power.case("idle", "loud").items["front_amp"].volts_v for s in studies]
    assert front.volts_v == tuple(own)
    assert front.change_v == pytest.approx(own[2] - own[0])
    rear = next(v for v in result.volts if v.amplifier == "rear_amp")
    assert (rear.volts_v[0], rear.change_v) == (None, None)


def test_severities_and_verdicts_add_up() -> None:
    studies = [demo.study(n) for n in NAMES]
    found = [demo.findings(n) for n in NAMES]
    result = compare(studies, found)
    for k, one in enumerate(found):
        assert sum(each[k] for each in result.severities.values()) == len(one)
        assert sum(row.counts[k] for row in result.findings) == len(one)
        assert sum(each[k] for each in result.verdicts.values()) == len(studies[k].protection.drill)


def test_copper_by_hand() -> None:
    """ASTM B258: 6 AWG is 13.30 mm2; 8.89 g/cm3: 118 g a metre. Two metres more of it in P2."""
    rig = demo.study("carnival_trike_planned").rig
    from dataclasses import replace

    longer = replace(rig, wires=tuple(
        replace(w, length_mm=w.length_mm + 2000.0) if w.id == "P2" else w for w in rig.wires
    ))  # fmt: skip
    assert copper_g(longer) - copper_g(rig) == pytest.approx(2 * 13.30 * 8.89, rel=1e-3)


def test_prices_as_far_as_they_are_known() -> None:
    own = parse(
        'format = 1\n[part.lamp]\nfamily = "accessory"\ntitle = "Lamp"\nlaw = "power"\ndraw_w = 10\nprice = 12.5\n',
        "own",
    ).over(builtin())
    text = (
        'format = 1\ntitle = "Bare"\nambient_c = 25\n[vehicle]\nkind = "other"\n[place.box]\n'
        '[item.battery]\npart = "agm_20ah"\nplace = "box"\n[item.lamp]\npart = "lamp"\nplace = "box"\n'
        '[[wire]]\nid = "A"\nfrom = "battery.plus"\nto = "lamp.supply+"\nsize = "12 AWG"\nlength_mm = 500\n'
        '[[wire]]\nid = "B"\nfrom = "lamp.supply-"\nto = "battery.minus"\nsize = "12 AWG"\nlength_mm = 500\n'
    )
    found = price(parse_rig(text, "bare", own))
    assert (found.known, found.unknown_parts) == (12.5, 1)


def test_one_rig_alone_is_nothing_to_compare() -> None:
    with pytest.raises(ValueError, match="two or more"):
        compare([demo.study(NAMES[0])], [()])
