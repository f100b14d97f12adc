"""Order of switching on and off: a timeline for each turn of the key, and the thumps that it predicts.

An amplifier thumps while it is awake and its input moves by itself: the source or processor before it is still starting
up, or already going down, without being muted.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf, isfinite, isinf

from loomwright.rig.model import AmplifierSpec, Rig
from loomwright.rig.once import once
from loomwright.rig.shape import Shape, shape_of
from loomwright.sound.moments import Delays, Moments, sleep_ms, wake_ms
from loomwright.sound.switching_advice import remedy, stated
from loomwright.sound.switching_results import Event, Moment, Role, Span, Switching, Thump, Timeline, Turn
from loomwright.sound.ways import hops_in, upstream


@dataclass(frozen=True, slots=True)
class Unrest:
    """While an output moves by itself [ms], and which item moves it."""

    from_ms: float
    to_ms: float
    culprit: str

    def during(self, from_ms: float, to_ms: float) -> Unrest | None:
        """The part of it in a stretch of time; None where they do not overlap."""
        low, high = max(self.from_ms, from_ms), min(self.to_ms, to_ms)
        return Unrest(low, high, self.culprit) if high > low else None


def study_switching(rig: Rig) -> Switching:
    """Timelines of a rig for switching on and off; pure."""
    return _switching(shape_of(rig))


@once
def _switching(shape: Shape) -> Switching:
    at = Moments(shape)
    above = upstream(hops_in(shape))
    moments: dict[str, Moment] = {}
    for line in at.remotes.lines():
        for terminal in line.terminals:
            name = terminal.partition(".")[2]
            if name in ("remote", "remote_in", "remote_out"):
                moments[terminal] = at.line(terminal)
    for item in shape.family("relay"):
        moments[f"{item.id}.contact"] = at.contact(item.id)
    return Switching(_timeline("on", shape, at, above), _timeline("off", shape, at, above), moments)


def _timeline(turn: Turn, shape: Shape, at: Moments, above: Mapping[str, tuple[str, ...]]) -> Timeline:
    events, spans, thumps = [], [], []
    for item in shape.family("source", "processor"):
        moment = at.item(item.id)
        events += _signal_events(turn, shape, at, item.id)
        own = _own(turn, shape, at, item.id)
        if own is not None:
            spans.append(Span(item.id, "unsettled", own.from_ms, own.to_ms))
        low, high = passing(turn, shape, at, item.id)
        if high > low:
            spans.append(Span(item.id, "settled", low, high))
        if item.part.family == "processor":
            spans += _lit(turn, item.id, "remote", moment)
    for item in shape.family("relay"):
        contact = at.contact(item.id)
        when = contact.on_ms if turn == "on" else contact.off_ms
        if isfinite(when):
            what = "contact closes" if turn == "on" else "contact opens"
            events.append(Event(when, item.id, what, _cause(at, f"{item.id}.85", f"{item.id}.86")))
        spans += _lit(turn, item.id, "closed", contact)
    for item in shape.family("amplifier"):
        spec = item.part.spec
        assert isinstance(spec, AmplifierSpec)
        moment = at.item(item.id)
        awake = Moment(moment.on_ms + wake_ms(spec), moment.off_ms + sleep_ms(spec))
        when = awake.on_ms if turn == "on" else awake.off_ms
        if isfinite(when):
            what = "is awake" if turn == "on" else "is silent"
            events.append(Event(when, item.id, what, _cause(at, f"{item.id}.remote")))
        spans += _lit(turn, item.id, "remote", moment) + _lit(turn, item.id, "awake", awake)
        low, high = (awake.on_ms, inf) if turn == "on" else (-inf, awake.off_ms)
        unrest = [u for giver in above.get(item.id, ()) for u in _unrest(turn, shape, at, above, giver, ())]
        thumps += _thumps(turn, shape, at, above, item.id, [p for u in unrest if (p := u.during(low, high))])
    events.sort(key=lambda e: (e.time_ms, e.item, e.what))
    return Timeline(turn, tuple(events), tuple(spans), tuple(thumps))


def _signal_events(turn: Turn, shape: Shape, at: Moments, item_id: str) -> list[Event]:
    item = shape.items[item_id]
    delays, moment = Delays(item), at.item(item_id)
    source = item.part.family == "source"
    start = moment.on_ms if turn == "on" else moment.off_ms
    if isinf(start):
        return []
    first = {"on": "is switched on" if source else "is woken", "off": "is switched off" if source else "is let go"}
    cause = "the key" if source else _cause(at, f"{item_id}.remote_in")
    made = [Event(start, item_id, first[turn], cause)]
    if turn == "on":
        made.append(Event(start + delays.settle_ms(), item_id, "outputs are settled", item_id))
    elif not delays.mutes():
        made.append(Event(start + delays.hold_ms(), item_id, "outputs collapse", item_id))
    if at.line_at(f"{item_id}.remote_out") is not None:
        wait = delays.remote_on_ms() if turn == "on" else delays.remote_off_ms()
        what = "remote output goes live" if turn == "on" else "remote output goes dead"
        made.append(Event(start + wait, item_id, what, item_id))
    return made


def _cause(at: Moments, *pins: str) -> str:
    """What feeds the line at one of these pins: the terminals, in order."""
    lines = [line for pin in pins if (line := at.line_at(pin)) is not None]
    feeds = [f.terminal for line in lines for f in line.feeds]
    return ", ".join(dict.fromkeys(feeds)) or "nothing"


def _lit(turn: Turn, item: str, role: Role, moment: Moment) -> list[Span]:
    """The span of a state that a turn begins or ends; none where it never holds."""
    low, high = (moment.on_ms, inf) if turn == "on" else (-inf, moment.off_ms)
    return [Span(item, role, low, high)] if high > low else []


def passing(turn: Turn, shape: Shape, at: Moments, item_id: str) -> tuple[float, float]:
    """From when until when an item gives a clean signal or passes on what it gets [ms]."""
    delays, moment = Delays(shape.items[item_id]), at.item(item_id)
    if turn == "on":
        return moment.on_ms + delays.settle_ms(), inf
    return -inf, moment.off_ms + (0.0 if delays.mutes() else delays.hold_ms())


def _own(turn: Turn, shape: Shape, at: Moments, item_id: str) -> Unrest | None:
    """While an item's outputs move by its own doing; None where it mutes them, or was on all along."""
    delays, moment = Delays(shape.items[item_id]), at.item(item_id)
    start = moment.on_ms if turn == "on" else moment.off_ms
    if delays.mutes() or isinf(start):
        return None
    if turn == "on":
        settle = delays.settle_ms()
        return Unrest(start, start + settle, item_id) if settle > 0 else None
    return Unrest(start + delays.hold_ms(), inf, item_id)


def _unrest(
    turn: Turn, shape: Shape, at: Moments, above: Mapping[str, tuple[str, ...]], item_id: str, seen: tuple[str, ...]
) -> list[Unrest]:
    """While an item's outputs move, by its own doing or by what it passes on."""
    own = _own(turn, shape, at, item_id)
    found = [] if own is None else [own]
    low, high = passing(turn, shape, at, item_id)
    for giver in above.get(item_id, ()):
        if giver not in (*seen, item_id):
            passed = _unrest(turn, shape, at, above, giver, (*seen, item_id))
            found += [p for u in passed if (p := u.during(low, high))]
    return found


def _thumps(
    turn: Turn, shape: Shape, at: Moments, above: Mapping[str, tuple[str, ...]], amplifier: str, found: list[Unrest]
) -> list[Thump]:
    """One thump for each culprit, over all that it does."""
    made = []
    for culprit in dict.fromkeys(u.culprit for u in found):
        mine = [u for u in found if u.culprit == culprit]
        low, high = min(u.from_ms for u in mine), max(u.to_ms for u in mine)
        words, delay = remedy(turn, at, above, amplifier, culprit, low, high)
        sure = stated(turn, shape, at, amplifier, culprit)
        made.append(Thump(turn, amplifier, culprit, low, high, words, sure, delay))
    return made
