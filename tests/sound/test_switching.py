"""Switching on and off, worked by hand. Every case shows its working; times are milliseconds after the turn of the key.

The parts state their own delays:

    source     settles 400, holds 250, remote output live at 100 and dead at 0
    loud       settles 1200 after it is woken, remote output live at 1500 and dead at 50, holds 300, does not mute
    mute       the same, and mutes
    amp        wakes 600 after its remote wire goes live, sleeps 150 after it goes dead
    relay      pulls in after 12, drops out after 20
"""

from __future__ import annotations

import tomllib
from itertools import pairwise
from math import inf

import pytest

from loomwright.rig.catalogue import Catalogue, builtin
from loomwright.rig.file import parse
from loomwright.rig.model import Rig
from loomwright.sound.remotes import budgets
from loomwright.sound.switching import study_switching
from loomwright.sound.switching_results import Thump

PROCESSOR = """
family = "processor"
title = "Processor"
inputs = 2
outputs = 2
draw_w = 4
runs = "remote"
remote_in_ma = 6
remote_out_max_ma = 200
balanced_output = true
settle_ms = 1200
hold_ms = 300
remote_out_on_ms = 1500
remote_out_off_ms = 50
"""
PARTS = f"""
[part.source]
family = "source"
title = "Source"
outputs = 2
draw_w = 4
remote_out_max_ma = 200
balanced_output = true
settle_ms = 400
hold_ms = 250
mutes = false
remote_out_on_ms = 100
remote_out_off_ms = 0
[part.weak_source]
family = "source"
title = "Source with a weak remote output"
outputs = 2
draw_w = 4
remote_out_max_ma = 15
balanced_output = true
[part.silent_about_it]
family = "source"
title = "Source that states nothing"
outputs = 2
draw_w = 4
remote_out_max_ma = 200
balanced_output = true
[part.loud]{PROCESSOR}mutes = false
[part.mute]{PROCESSOR}mutes = true
[part.relay]
family = "relay"
title = "Relay"
coil_ma = 120
contact_rating_a = 30
contact_mohm = 2
diode = true
pull_in_ms = 12
drop_out_ms = 20
[part.amp]
family = "amplifier"
title = "Amplifier"
amplifier_class = "D"
channels = 2
output_4ohm_w = 50
rated_v = 14.4
min_load_ohm = 2
supply = "stiff"
idle_a = 0.5
efficiency_full = 0.84
efficiency_eighth = 0.7
min_v = 10
remote_ma = 6
balanced_input = true
signal_ground_ohm = 1000
wake_ms = 600
sleep_ms = 150
"""
HEAD = """
format = 1
title = "Bench"
ambient_c = 25
[place.bench]
[item.battery]
part = "agm_20ah"
place = "bench"
[item.main]
part = "holder_c"
place = "bench"
fuses_a = [30]
[item.block]
part = "plain_block_6"
place = "bench"
[item.bar]
part = "bus_ground_10"
place = "bench"
"""
LIVE = "live"
FEEDS = [("battery.plus", "main.in"), ("main.out", "block.in"), ("bar.stud1", "battery.minus")]


def rig(items: dict[str, str], wires: list[tuple[str, str]], more: dict[str, str] | None = None) -> Rig:
    """A bench rig: items by part, remote and line wires by their ends, a fused feed from the battery."""
    text = HEAD
    for name, part in items.items():
        text += f'[item.{name}]\npart = "{part}"\nplace = "bench"\n{(more or {}).get(name, "")}\n'
    fed = [name for name, part in items.items() if part not in ("relay", "switch_battery_300a")]
    supply = [(f"block.out{n}", f"{name}.supply+") for n, name in enumerate(fed, 1)]
    returns = [(f"bar.stud{n}", f"{name}.supply-") for n, name in enumerate(fed, 2)]
    spare = iter(("block.out6", "block.out5", "block.out4"))
    wires = [(next(spare) if a == LIVE else a, b) for a, b in wires]
    for n, (start, end) in enumerate([*FEEDS, *supply, *returns, *wires], 1):
        line = ".out" in start and ".in" in end and "block" not in end
        size = "0.35 mm2" if line else "16 AWG"
        text += f'[[wire]]\nid = "W{n}"\nfrom = "{start}"\nto = "{end}"\nsize = "{size}"\nlength_mm = 300\n'
    parts = {k: (v, "parts.toml") for k, v in tomllib.loads(PARTS)["part"].items()}
    return parse(text, "bench.toml", Catalogue(parts).over(builtin()))


STRAIGHT = [("source.remote_out", "amp.remote"), ("source.out1", "amp.in1")]
BOTH = [
    ("source.remote_out", "dsp.remote_in"), ("source.out1", "dsp.in1"), ("dsp.out1", "amp.in1"),
]  # fmt: skip
FROM_SOURCE = [*BOTH, ("source.remote_out", "amp.remote")]
FROM_DSP = [*BOTH, ("dsp.remote_out", "amp.remote")]


def times(made: Rig) -> dict[str, float]:
    """Time of every event by item and what happens, over both turns."""
    both = study_switching(made)
    return {f"{e.item} {e.what}": e.time_ms for t in (both.on, both.off) for e in t.events}


def thumps(made: Rig) -> list[tuple[str, str, str, float, float]]:
    both = study_switching(made)
    return [(t.turn, t.amplifier, t.culprit, t.from_ms, t.to_ms) for t in (*both.on.thumps, *both.off.thumps)]


def only(made: Rig, turn: str) -> Thump:
    both = study_switching(made)
    (found,) = both.on.thumps if turn == "on" else both.off.thumps
    return found


def test_1_straight_from_the_source() -> None:
    """On: remote live 100, awake 100 + 600 = 700, source settled 400: no thump.
    Off: remote dead 0, silent 0 + 150 = 150, source collapses at 250: no thump.
    """
    made = rig({"source": "source", "amp": "amp"}, STRAIGHT)
    assert times(made) == {
        "source is switched on": 0, "source remote output goes live": 100, "source outputs are settled": 400,
        "amp is awake": 700, "source is switched off": 0, "source remote output goes dead": 0, "amp is silent": 150,
        "source outputs collapse": 250,
    }  # fmt: skip
    assert thumps(made) == []


def test_2_remote_held_too_long_at_switch_off() -> None:
    """The remote output is set to go dead 200 after the key: silent at 200 + 150 = 350, source collapses at 250.
    Thump from 250 to 350. Cure: dead within 250 - 150 = 100.
    """
    made = rig({"source": "source", "amp": "amp"}, STRAIGHT, {"source": "remote_off_ms = 200"})
    assert thumps(made) == [("off", "amp", "source", 250, 350)]
    assert "within 100 ms" in only(made, "off").remedy
    cured = rig({"source": "source", "amp": "amp"}, STRAIGHT, {"source": "remote_off_ms = 100"})
    assert thumps(cured) == []


def test_3_amplifier_and_processor_woken_together() -> None:
    """On: remote live 100. Processor woken 100, settled 100 + 1200 = 1300. Amplifier awake 100 + 600 = 700.
    Thump from 700 to 1300, by the processor. Off: processor let go at 0, collapses at 300; silent at 150: none.
    """
    made = rig({"source": "source", "dsp": "loud", "amp": "amp"}, FROM_SOURCE)
    assert thumps(made) == [("on", "amp", "dsp", 700, 1300)]
    assert only(made, "on").remedy == "Feed amp.remote from dsp.remote_out instead of source.remote_out."


def test_4_amplifier_woken_by_the_processor() -> None:
    """On: processor's remote output live at 100 + 1500 = 1600, awake 1600 + 600 = 2200, settled at 1300: none.
    Off: processor let go 0, its remote output dead at 50, silent at 50 + 150 = 200, collapse at 300: none.
    """
    made = rig({"source": "source", "dsp": "loud", "amp": "amp"}, FROM_DSP)
    found = times(made)
    assert (found["amp is awake"], found["dsp outputs are settled"]) == (2200, 1300)
    assert (found["amp is silent"], found["dsp outputs collapse"]) == (200, 300)
    assert thumps(made) == []


def test_5_a_processor_that_mutes_hides_its_own_start_and_the_sources() -> None:
    """As case 3 with a muting processor. Amplifier awake 700, processor muted until 1300, source settled since 400."""
    assert thumps(rig({"source": "source", "dsp": "mute", "amp": "amp"}, FROM_SOURCE)) == []


def test_6_remote_wired_to_the_battery() -> None:
    """Awake since ever and for good. On: source unsettled 0 to 400, all of it heard. Off: from its collapse at 250, for
    good.
    """
    wires = [(LIVE, "amp.remote"), ("source.out1", "amp.in1")]
    made = rig({"source": "source", "amp": "amp"}, wires)
    assert thumps(made) == [("on", "amp", "source", 0, 400), ("off", "amp", "source", 250, inf)]
    assert "amp.remote from source.remote_out instead of block.out6" in only(made, "on").remedy


def test_7_relay_in_the_remote_line() -> None:
    """Coil on the processor's remote output, contact from the battery. On: coil live 1600, closed 1612, awake 2212.
    Off: coil dead 50, open 70, silent 70 + 150 = 220, collapse 300: none.
    """
    wires = [
        *BOTH, ("dsp.remote_out", "relay.86"), ("bar.stud9", "relay.85"), (LIVE, "relay.30"),
        ("relay.87", "amp.remote"),
    ]  # fmt: skip
    made = rig({"source": "source", "dsp": "loud", "relay": "relay", "amp": "amp"}, wires)
    found = times(made)
    assert (found["relay contact closes"], found["amp is awake"]) == (1612, 2212)
    assert (found["relay contact opens"], found["amp is silent"]) == (70, 220)
    assert thumps(made) == []


def test_8_processor_with_too_short_a_delay() -> None:
    """Delay of the processor's remote output set to 200: live 300, awake 900, settled 1300: thump 900 to 1300.
    Cure: live at 1300 - 600 = 700 at the earliest, 600 after it is woken at 100.
    """
    items = {"source": "source", "dsp": "loud", "amp": "amp"}
    made = rig(items, FROM_DSP, {"dsp": "remote_on_ms = 200"})
    assert thumps(made) == [("on", "amp", "dsp", 900, 1300)]
    assert only(made, "on").remedy == (
        "Let dsp.remote_out wait 600 ms after dsp is switched on; it waits 200 ms."
    )
    assert thumps(rig(items, FROM_DSP, {"dsp": "remote_on_ms = 600"})) == []


def test_9_source_collapses_through_a_processor_that_stays_on() -> None:
    """The processor's remote input hangs on the battery: always on. The amplifier follows the source: dead 0, silent
    150. With the source's remote output held for 300: silent 450, and the source's collapse at 250 passes through: 250
    to 450. On: source settles 0 to 400 while the amplifier wakes at 700: none.
    """
    wires = [
        (LIVE, "dsp.remote_in"), ("source.out1", "dsp.in1"), ("dsp.out1", "amp.in1"),
        ("source.remote_out", "amp.remote"),
    ]  # fmt: skip
    items = {"source": "source", "dsp": "mute", "amp": "amp"}
    assert thumps(rig(items, wires)) == []
    assert thumps(rig(items, wires, {"source": "remote_off_ms = 300"})) == [("off", "amp", "source", 250, 450)]


def test_10_two_relays_one_behind_the_other() -> None:
    """First coil on the source: live 100, closed 112. It feeds the second coil: closed 124, awake 724.
    Off: dead 0, open 20, second open 40, silent 190; the source collapses at 250: none.
    """
    wires = [
        ("source.remote_out", "first.86"), ("bar.stud9", "first.85"), (LIVE, "first.30"),
        ("first.87", "second.86"), ("bar.stud10", "second.85"), (LIVE, "second.30"),
        ("second.87", "amp.remote"), ("source.out1", "amp.in1"),
    ]  # fmt: skip
    made = rig({"source": "source", "first": "relay", "second": "relay", "amp": "amp"}, wires)
    found = times(made)
    assert (found["first contact closes"], found["second contact closes"], found["amp is awake"]) == (112, 124, 724)
    assert (found["first contact opens"], found["second contact opens"], found["amp is silent"]) == (20, 40, 190)
    assert thumps(made) == []


def test_11_two_feeds_on_one_line() -> None:
    """Processor (live 1600, dead 50) and a relay that the source closes (112, open at 20) on one line: live at the
    first, dead at the last. Awake 112 + 600 = 712, processor settled 1300: thump 712 to 1300. Silent 50 + 150 = 200.
    """
    wires = [
        *FROM_DSP, ("source.remote_out", "relay.86"), ("bar.stud9", "relay.85"), (LIVE, "relay.30"),
        ("relay.87", "amp.remote"),
    ]  # fmt: skip
    made = rig({"source": "source", "dsp": "loud", "relay": "relay", "amp": "amp"}, wires)
    assert thumps(made) == [("on", "amp", "dsp", 712, 1300)]
    assert times(made)["amp is silent"] == 200


def test_13_output_that_feeds_its_own_input_stays_live() -> None:
    """Source and processor outputs tied on one line: live at 100, and the processor holds itself for good. So neither
    sleeps: the switch-on of case 3, and at switch-off the collapse of the source at 250, passed on for good.
    """
    made = rig({"source": "source", "dsp": "loud", "amp": "amp"}, [*FROM_SOURCE, ("dsp.remote_out", "amp.remote")])
    assert ("on", "amp", "dsp", 700, 1300) in thumps(made)
    assert study_switching(made).moments["amp.remote"].off_ms == inf
    assert ("off", "amp", "source", 250, inf) in thumps(made)


def test_12_relays_that_wait_for_each_other_never_close() -> None:
    wires = [
        (LIVE, "first.30"), ("first.87", "second.86"), ("bar.stud10", "second.85"),
        (LIVE, "second.30"), ("second.87", "first.86"), ("bar.stud9", "first.85"),
        ("first.87", "amp.remote"), ("source.out1", "amp.in1"),
    ]  # fmt: skip
    made = rig({"source": "source", "first": "relay", "second": "relay", "amp": "amp"}, wires)
    assert not [k for k in times(made) if k.startswith(("first", "second", "amp"))]
    assert thumps(made) == []


def test_14_hand_switch_counts_as_turned_with_the_key() -> None:
    """Remote wire from the battery through a switch: live at 0, awake 600, source settled 400: none. Dead at 0, silent
    150, source collapses 250: none. Without the switch both turns thump, as in case 6.
    """
    wires = [(LIVE, "hand.in"), ("hand.out", "amp.remote"), ("source.out1", "amp.in1")]
    made = rig({"source": "source", "amp": "amp", "hand": "switch_battery_300a"}, wires)
    assert (times(made)["amp is awake"], times(made)["amp is silent"]) == (600, 150)
    assert thumps(made) == []


def test_delays_that_no_part_states_are_said_to_be_customary() -> None:
    """Customary: remote output live at 500, source settled at 1000; the amplifier wakes at 1100: none. Off: it sleeps
    at 150, the source holds for 100 and is not known to mute.
    """
    items = {"source": "silent_about_it", "amp": "amp"}
    assert thumps(rig(items, STRAIGHT)) == [("off", "amp", "source", 100, 150)]
    found = only(rig(items, STRAIGHT), "off")
    assert not found.stated


@pytest.mark.parametrize(("amps", "over"), [(2, False), (3, True)])
def test_budget_of_a_remote_output(amps: int, over: bool) -> None:
    """15 mA at most; each input takes 6 mA: two make 12, three make 18."""
    items = {"source": "weak_source"} | {f"amp{n}": "amp" for n in range(amps)}
    chain = ["source.remote_out", *(f"amp{n}.remote" for n in range(amps))]
    made = rig(items, list(pairwise(chain)))
    (budget,) = budgets(made)
    assert budget.total_ma == 6 * amps
    assert budget.over is over
    assert study_switching(made) == study_switching(made)
