"""A way to wire written into the rig: what is wired then is what the way said."""

from __future__ import annotations

import pytest

from loomwright import demo
from loomwright.errors import InputError
from loomwright.power.channels import channel_loads
from loomwright.protection.sizing import settle
from loomwright.remedies.rejoin import rejoined
from loomwright.rig import edit
from loomwright.rig.file import parse
from loomwright.rig.model import Rig
from loomwright.sound.wiring_choices import choices


def groups(rig: Rig) -> list[tuple[str, list[str], list[tuple[str, int]]]]:
    """Each amplifier with the drivers on it and its channels, a bridged pair by its first."""
    found = []
    for item in rig.family("amplifier"):
        firsts = [k for k in range(1, item.part.spec.channels + 1) if k not in dict(item.bridged).values()]
        drivers = [d.id for d in rig.family("driver") if item.id in reach(rig, d.id)]
        if 0 < len(drivers) <= 4:
            found.append((item.id, drivers, [(item.id, k) for k in firsts]))
    return found


def reach(rig: Rig, driver: str) -> set[str]:
    """Amplifiers whose speaker wires lead to a driver, through the contacts of plugs or through other drivers."""
    seen, todo = set(), [f"{driver}.+", f"{driver}.-"]
    while todo:
        at = todo.pop()
        if at in seen:
            continue
        seen.add(at)
        item, _, name = at.rpartition(".")
        todo += [w.end if w.start == at else w.start for w in rig.wires if at in (w.start, w.end)]
        if rig.items[item].part.family == "connector":
            todo.append(f"{item}.{'b' if name[0] == 'a' else 'a'}{name[1:]}")
        elif rig.items[item].part.family == "driver":
            todo += [f"{item}.+", f"{item}.-"]
    found = {t.rpartition(".")[0] for t in seen}
    return {i for i in found if rig.items[i].part.family == "amplifier"}


@pytest.mark.parametrize("name", ["harvest_buggy", "canal_launch", "carnival_trike_planned"])
def test_the_amplifier_sees_what_the_way_promised(name: str) -> None:
    text = demo.text(name)
    rig, _ = settle(parse(text, name))
    tried = 0
    for _, drivers, channels in groups(rig):
        for way in choices(rig, drivers, channels).arrangements[:6]:
            try:
                after = rejoined(text, rig, way)
            except InputError:
                continue
            again, _ = settle(parse(after, name))
            loads = channel_loads(again)
            for joined in way.channels:
                amplifier, _, number = joined.channel.rpartition(".ch")
                assert loads[amplifier][int(number.partition("+")[0]) - 1] == pytest.approx(joined.nominal_ohm)
            others = {w.id for w in rig.wires if w.kind != "speaker"}
            assert others <= {w.id for w in again.wires}
            assert parse(rejoined(after, parse(after, name), way), name) == parse(after, name)
            tried += 1
    assert tried >= 3, name


def test_what_else_hangs_on_a_terminal_is_named_and_nothing_is_changed() -> None:
    text = demo.text("canal_launch")
    rig, _ = settle(parse(text, "x"))
    _, drivers, channels = groups(rig)[0]
    way = choices(rig, drivers, channels).arrangements[0]
    loud = next(w for w in rig.wires if w.kind == "speaker" and w.start.startswith(channels[0][0]))
    spare = next(i for i in rig.items.values() if i.part.family == "driver")
    more = edit.add_item(text, "guest", spare.part.id, spare.place)
    more = edit.add_wire(more, "G1", loud.start, "guest.+", "16 AWG", length_mm=900)
    with pytest.raises(InputError) as told:
        rejoined(more, parse(more, "x"), way)
    assert "G1" in str(told.value)
    assert "guest" in str(told.value)
