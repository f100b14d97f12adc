"""Rigs made up at random: amplifiers here and there, plugs at cases, one battery or two, blocks or breakers."""

from __future__ import annotations

from hypothesis import strategies as st

HEAD = """
format = 1
title = "Made up"
ambient_c = 30
"""


def _item(name: str, part: str, place: str, more: str = "") -> str:
    return f'[item.{name}]\npart = "{part}"\nplace = "{place}"\n{more}\n'


def _wire(number: str, a: str, b: str, size: str) -> str:
    return f'[[wire]]\nid = "{number}"\nfrom = "{a}"\nto = "{b}"\nsize = "{size}"\n'


@st.composite
def rigs(draw: st.DrawFn) -> str:
    """The text of a sound rig: seat with battery and main, a deck, up to three cases on runs from the deck."""
    amps = draw(st.integers(1, 4))
    cases = [draw(st.sampled_from(["deck", "case1", "case2", "case3"])) for _ in range(amps)]
    plugged = draw(st.booleans())
    breaker = draw(st.booleans())
    second = draw(st.booleans())
    charger = draw(st.booleans())
    frame = draw(st.booleans())
    places = ["seat", "deck", *sorted({c for c in cases if c != "deck"})]
    text = [HEAD, *(f"[place.{p}]\n" for p in places)]
    text.append('[[run]]\nbetween = ["seat", "deck"]\nlength_mm = 900\nhazards = ["edge", "moving"]\n')
    text += [f'[[run]]\nbetween = ["deck", "{p}"]\nlength_mm = 500\ncover = ["grommet"]\n' for p in places[2:]]
    text.append(_item("battery", draw(st.sampled_from(["agm_30ah", "lfp_20ah", "flooded_45ah"])), "seat"))
    if breaker:
        text.append(_item("main", "breaker_hand_80a", "seat"))
    else:
        text.append(_item("main", "holder_post", "seat", "fuses_a = [70]"))
    text.append(_item("block", "fused_block_6way_c", "deck", f"fuses_a = {[25] * amps + [5] + [0] * (5 - amps)}"))
    text.append(_item("gnd", "bus_ground_10", "deck"))
    text.append(_item("source", "receiver_wireless", "seat"))
    wires = [
        _wire("P1", "battery.plus", "main.in", "6 AWG" if breaker else "bolted"),
        _wire("P2", "main.out", "block.in", "6 AWG"),
        _wire("P3", f"block.out{amps + 1}", "source.supply+", "16 AWG"),
        _wire("R3", "gnd.stud2", "source.supply-", "16 AWG"),
    ]
    if frame:
        text.append(_item("frame", "frame_steel_tube", "seat"))
        wires.append(_wire("R1", "gnd.stud1", "frame.stud1", "6 AWG"))
        wires.append(_wire("R2", "frame.stud2", "battery.minus", "6 AWG"))
    else:
        wires.append(_wire("R1", "gnd.stud1", "battery.minus", "6 AWG"))
    if charger:
        text.append(_item("stator", "stator_36a", "seat") + _item("cf", "holder_post", "seat", "fuses_a = [60]"))
        wires += [
            _wire("C1", "battery.plus", "cf.in", "bolted"), _wire("C2", "cf.out", "stator.out", "6 AWG"),
            _wire("C3", "stator.ground", "battery.minus", "6 AWG"),
        ]  # fmt: skip
    if second:
        text.append(_item("aux", "agm_20ah", "deck") + _item("tie", "holder_post", "deck", "fuses_a = [50]"))
        wires += [_wire("A1", "aux.plus", "tie.in", "bolted"), _wire("A2", "tie.out", "block.in", "8 AWG")]
        wires.append(_wire("A3", "aux.minus", "gnd.stud1", "8 AWG"))
    for n, case in enumerate(cases, 1):
        text.append(_item(f"amp{n}", "amp_2x80_class_d", case) + _item(f"left{n}", "driver_6_5in", case))
        plus, minus = f"amp{n}.supply+", f"amp{n}.supply-"
        if plugged and case != "deck":
            text.append(_item(f"plug{n}", "connector_power_2_50a", "deck"))
            wires += [_wire(f"F{n}b", f"plug{n}.b1", plus, "10 AWG"), _wire(f"G{n}b", f"plug{n}.b2", minus, "10 AWG")]
            plus, minus = f"plug{n}.a1", f"plug{n}.a2"
        wires += [
            _wire(f"F{n}", f"block.out{n}", plus, "10 AWG"), _wire(f"G{n}", f"gnd.stud{n + 2}", minus, "10 AWG"),
            _wire(f"M{n}", f"amp{n - 1}.remote" if n > 1 else "source.remote_out", f"amp{n}.remote", "18 AWG"),
            _wire(f"S{n}a", f"amp{n}.ch1+", f"left{n}.+", "16 AWG"),
            _wire(f"S{n}b", f"amp{n}.ch1-", f"left{n}.-", "16 AWG"),
        ]  # fmt: skip
    return "\n".join([*text, *wires])
