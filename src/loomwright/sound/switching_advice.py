"""What to do about a thump: which remote output to wait, which wire to move, which item to mute."""

from __future__ import annotations

from collections.abc import Mapping
from math import ceil, isinf

from loomwright.rig.model import AmplifierSpec
from loomwright.rig.shape import Shape
from loomwright.sound.moments import Delays, Moments, sleep_ms, wake_ms
from loomwright.sound.switching_results import Delay, Turn

STEP_MS = 100.0
"""Delays are advised in steps of this."""


def remedy(
    turn: Turn,
    at: Moments,
    above: Mapping[str, tuple[str, ...]],
    amplifier: str,
    culprit: str,
    from_ms: float,
    to_ms: float,
) -> tuple[str, Delay | None]:
    """The instruction, naming the item, and the delay to set where that is all it takes.

    What gives the remote is best the last thing before the amplifier that is itself switched.
    """
    line = at.line_at(f"{amplifier}.remote")
    feeds = line.feeds if line is not None else ()
    giver = _last(at, above, amplifier)
    fed = next((f for f in feeds if f.kind == "output" and f.item == giver and len(feeds) == 1), None)
    if turn == "on":
        return _later(at, amplifier, giver, to_ms, [f.terminal for f in feeds], fed is not None)
    return _sooner(at, amplifier, giver, culprit, from_ms, [f.terminal for f in feeds], fed is not None)


def stated(turn: Turn, shape: Shape, at: Moments, amplifier: str, culprit: str) -> bool:
    """Whether every delay behind a thump is stated by a part or the rig."""
    spec = shape.items[amplifier].part.spec
    assert isinstance(spec, AmplifierSpec)
    part = Delays(shape.items[culprit]).signal()
    own = spec.wake_ms if turn == "on" else spec.sleep_ms
    culprits = part.settle_ms if turn == "on" else part.hold_ms
    known = [own is not None, culprits is not None, part.mutes is not None]
    line = at.line_at(f"{amplifier}.remote")
    for feed in line.feeds if line is not None else ():
        if feed.kind == "output":
            item = shape.items[feed.item]
            gives = Delays(item).signal()
            delays = (
                (item.remote_on_ms, gives.remote_out_on_ms) if turn == "on"
                else (item.remote_off_ms, gives.remote_out_off_ms)
            )  # fmt: skip
            known.append(any(d is not None for d in delays))
    return all(known)


def _last(at: Moments, above: Mapping[str, tuple[str, ...]], amplifier: str) -> str:
    """The last item before an amplifier that the key switches."""
    giver = above[amplifier][0]
    while isinf(at.item(giver).on_ms) and above.get(giver):
        giver = above[giver][0]
    return giver


def _later(
    at: Moments, amplifier: str, giver: str, settled_ms: float, feeds: list[str], right: bool
) -> tuple[str, Delay | None]:
    spec = at.shape.items[amplifier].part.spec
    assert isinstance(spec, AmplifierSpec)
    delays = Delays(at.shape.items[giver])
    wait = _up(settled_ms - wake_ms(spec) - at.item(giver).on_ms)
    now = delays.remote_on_ms()
    if right:
        words = f"Let {giver}.remote_out wait {wait:g} ms after {giver} is switched on; it waits {now:g} ms."
        return words, Delay(giver, "remote_on_ms", wait)
    longer = f" and let that wait {wait:g} ms" if wait > now else ""
    return f"{_move(amplifier, giver, feeds)}{longer}.", None


def _sooner(
    at: Moments, amplifier: str, giver: str, culprit: str, collapse_ms: float, feeds: list[str], right: bool
) -> tuple[str, Delay | None]:
    spec = at.shape.items[amplifier].part.spec
    assert isinstance(spec, AmplifierSpec)
    delays, off = Delays(at.shape.items[giver]), at.item(giver).off_ms
    if isinf(off):
        return (
            f"Part {giver}.remote_in from what keeps it live: nothing but the source's remote output may reach it, "
            f"{giver}.remote_out least of all."
        ), None
    room = collapse_ms - off - sleep_ms(spec)
    now = delays.remote_off_ms()
    if not right and now <= room:
        return f"{_move(amplifier, giver, feeds)}.", None
    lead = "" if right else f"{_move(amplifier, giver, feeds)}. "
    if right and now > 0 and room >= 0:
        words = f"Let {giver}.remote_out go dead within {room:g} ms after {giver} is switched off; it takes {now:g} ms."
        return words, Delay(giver, "remote_off_ms", room)
    hold = Delays(at.shape.items[culprit]).hold_ms()
    need = _up(hold - min(room - now, 0.0))
    return (
        f"{lead}Let {culprit} hold its outputs {need:g} ms after it is switched off, or mute them; it holds them "
        f"{hold:g} ms."
    ), None


def _move(amplifier: str, giver: str, feeds: list[str]) -> str:
    old = f" instead of {' and '.join(feeds)}" if feeds else ""
    return f"Feed {amplifier}.remote from {giver}.remote_out{old}"


def _up(ms: float) -> float:
    return STEP_MS * ceil(round(max(ms, 0.0) / STEP_MS, 6))
