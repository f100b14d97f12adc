"""Where a crossover can go."""

from __future__ import annotations

from loomwright.rig.catalogue import builtin
from loomwright.rig.catalogue import parse as parse_catalogue
from loomwright.rig.file import parse
from loomwright.rig.model import Rig
from loomwright.sound.placement import spots
from tests.sound.rigs import HEAD, OWN

PLACES = """
[place.bow]
wet = true
[place.locker]
[[run]]
between = ["case", "locker"]
length_mm = 1000
[[run]]
between = ["locker", "bow"]
length_mm = 1000
[item.plug]
part = "connector_4_sealed"
place = "locker"
[item.horn]
part = "horn"
place = "bow"
[item.low]
part = "known"
place = "case"
"""
WIRES = [
    ("amp.ch1+", "plug.a1"), ("plug.b1", "horn.+"), ("horn.-", "plug.b2"), ("plug.a2", "amp.ch1-"),
    ("amp.ch2+", "low.+"), ("amp.ch2-", "low.-"),
]  # fmt: skip


def made(wires: list[tuple[str, str]], more: str = "") -> Rig:
    head, _, tail = HEAD.format(amp="amp_4x50_class_d", bridged="").partition("[[wire]]")
    text = head + PLACES + more + "[[wire]]" + tail
    for n, (a, b) in enumerate(wires, 1):
        text += f'[[wire]]\nid = "S{n}"\nfrom = "{a}"\nto = "{b}"\nsize = "16 AWG"\n'
    return parse(text, "spots.toml", parse_catalogue(OWN.format(more=""), "own.toml").over(builtin()))


def test_dry_places_come_first_and_the_nearest_to_the_amplifier_among_them() -> None:
    found = spots(made(WIRES), "horn")
    assert [(s.where, s.place) for s in found] == [
        ("at the amplifier", "case"), ("in the run", "locker"), ("at the driver", "bow"),
    ]  # fmt: skip
    assert found[0].wires == ("S2", "S1")
    assert found[-1].against == ("it gets wet there",)
    assert all(s.both_leads for s in found)


def test_it_stays_behind_the_branch_that_feeds_another_driver() -> None:
    more = '[item.j]\npart = "splice_crimp"\nplace = "locker"\n[item.k]\npart = "splice_crimp"\nplace = "locker"\n'
    wires = [
        ("amp.ch1+", "j.leg1"), ("j.leg2", "horn.+"), ("j.leg3", "low.+"), ("amp.ch1-", "k.leg1"),
        ("k.leg2", "horn.-"), ("k.leg3", "low.-"),
    ]  # fmt: skip
    found = spots(made(wires, more), "horn")
    assert {s.where for s in found} == {"in the run", "at the driver"}
    assert found[0].item == "j"


def test_parts_across_need_both_conductors() -> None:
    wires = [("amp.ch1+", "plug.a1"), ("plug.b1", "horn.+"), ("horn.-", "amp.ch1-")]
    assert {s.place for s in spots(made(wires), "horn")} == {"case", "locker", "bow"}
    assert {s.place for s in spots(made(wires), "horn", across=True)} == {"case", "bow"}


def test_a_driver_that_nothing_feeds_has_no_place() -> None:
    assert spots(made(WIRES[2:]), "nothing") == ()
