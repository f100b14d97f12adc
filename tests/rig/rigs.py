"""A small rig to break in tests, and ways to read what is said about it."""

from __future__ import annotations

from loomwright.errors import InputError, Problem
from loomwright.rig.file import parse

SMALL = """
format = 1
title = "Small"
ambient_c = 30

[place.seat]
[place.case]
[place.attic]

[[run]]
between = ["seat", "case"]
length_mm = 900

[item.battery]
part = "agm_20ah"
place = "seat"
[item.main]
part = "holder_post"
place = "seat"
fuses_a = [60]
[item.block]
part = "fused_block_4way_c"
place = "case"
fuses_a = [30, 25, 5, 0]
[item.gnd]
part = "bus_ground_6"
place = "case"
[item.amp]
part = "amp_4x50_class_d"
place = "case"
[item.bass]
part = "amp_1x250_class_d"
place = "case"
[item.source]
part = "receiver_wireless"
place = "seat"
[item.left]
part = "driver_6_5in"
place = "case"

[[wire]]
id = "P1"
from = "battery.plus"
to = "main.in"
size = "bolted"
[[wire]]
id = "P2"
from = "main.out"
to = "block.in"
size = "6 AWG"
[[wire]]
id = "R2"
from = "gnd.stud1"
to = "battery.minus"
size = "6 AWG"
[[wire]]
id = "P3"
from = "block.out2"
to = "amp.supply+"
size = "10 AWG"
length_mm = 450
[[wire]]
id = "R3"
from = "amp.supply-"
to = "gnd.stud2"
size = "auto"
[[wire]]
id = "P4"
from = "block.out1"
to = "bass.supply+"
size = "8 AWG"
[[wire]]
id = "R4"
from = "bass.supply-"
to = "gnd.stud3"
size = "8 AWG"
[[wire]]
id = "P5"
from = "block.out3"
to = "source.supply+"
size = "1.5 mm2"
[[wire]]
id = "R5"
from = "source.supply-"
to = "gnd.stud4"
size = "1.5 mm2"
[[wire]]
id = "M1"
from = "source.remote_out"
to = "amp.remote"
size = "18 AWG"
[[wire]]
id = "M2"
from = "amp.remote"
to = "bass.remote"
size = "18 AWG"
[[wire]]
id = "L1"
from = "source.out1"
to = "amp.in1"
size = "0.35 mm2"
[[wire]]
id = "S1"
from = "amp.ch1+"
to = "left.+"
size = "16 AWG"
[[wire]]
id = "S2"
from = "amp.ch1-"
to = "left.-"
size = "16 AWG"
"""


def wire(wire_id: str, start: str, end: str, size: str = "8 AWG", more: str = "") -> str:
    """The text of one more wire."""
    return f'\n[[wire]]\nid = "{wire_id}"\nfrom = "{start}"\nto = "{end}"\nsize = "{size}"\n{more}\n'


def item(item_id: str, part: str, place: str = "case", more: str = "") -> str:
    """The text of one more item."""
    return f'\n[item.{item_id}]\npart = "{part}"\nplace = "{place}"\n{more}\n'


def changed(*pairs: tuple[str, str]) -> str:
    """The small rig with pieces of its text replaced; each must be there."""
    text = SMALL
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def without_wire(wire_id: str, text: str = SMALL) -> str:
    """The text without one wire."""
    head, *wires = text.split("[[wire]]")
    return "[[wire]]".join([head, *(w for w in wires if f'id = "{wire_id}"' not in w)])


def problems(text: str) -> tuple[Problem, ...]:
    """What is said about a rig that cannot be used; empty where it can."""
    try:
        parse(text, "small.toml")
    except InputError as error:
        return error.problems
    return ()


def at(text: str, place: str) -> Problem:
    """The one problem at a place, with something said in each of its parts."""
    found = [p for p in problems(text) if p.place == place]
    assert len(found) == 1, problems(text)
    for part in (found[0].file, found[0].expected, found[0].received, found[0].remedy):
        assert part
    return found[0]
