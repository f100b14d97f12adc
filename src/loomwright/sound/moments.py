"""When each remote line, contact and item goes on and off after the turn of the key.

Lines and items ask each other in a ring where an output feeds its own input, or relays hold each other. So the network
is gone through until nothing changes: on from *never* downwards, since nothing in a ring starts by itself; off from
*for good* downwards, since a ring that is live keeps itself live.
"""

from __future__ import annotations

from collections.abc import Callable
from math import inf

from loomwright.facts import signal
from loomwright.rig.model import AmplifierSpec, Item, LoadSpec, RelaySpec, SignalSpec
from loomwright.rig.shape import Shape
from loomwright.sound.remotes import Feed, RemoteLine, remotes_of
from loomwright.sound.switching_results import Moment

ALWAYS = Moment(-inf, inf)
NEVER = Moment(inf, -inf)
KEY = Moment(0.0, 0.0)


class Delays:
    """Delays of an item [ms]: what the rig or the part states, else what is customary."""

    def __init__(self, item: Item) -> None:
        self.item = item
        spec = item.part.spec
        self._signal = (spec.signal if isinstance(spec, LoadSpec) else None) or SignalSpec()

    def signal(self) -> SignalSpec:
        """The signal side of a source unit or processor."""
        return self._signal

    def settle_ms(self) -> float:
        return self._of("settle", self.signal().settle_ms)

    def hold_ms(self) -> float:
        return self._of("hold", self.signal().hold_ms)

    def remote_on_ms(self) -> float:
        return self._of("remote_on", self.item.remote_on_ms, self.signal().remote_out_on_ms)

    def remote_off_ms(self) -> float:
        return self._of("remote_off", self.item.remote_off_ms, self.signal().remote_out_off_ms)

    def mutes(self) -> bool:
        """Whether outputs stay muted; no, where the part does not say."""
        return bool(self.signal().mutes)

    def _of(self, step: str, *stated: float | None) -> float:
        found = next((s for s in stated if s is not None), None)
        return signal.delay_ms(self.item.part.family, step) if found is None else found


def wake_ms(spec: AmplifierSpec) -> float:
    """From a live remote wire to sound [ms]."""
    return signal.delay_ms("amplifier", "wake") if spec.wake_ms is None else spec.wake_ms


def sleep_ms(spec: AmplifierSpec) -> float:
    """From a dead remote wire to silence [ms]."""
    return signal.delay_ms("amplifier", "sleep") if spec.sleep_ms is None else spec.sleep_ms


class Moments:
    """The timed network of one shape: asks each line what feeds it, back to the key."""

    def __init__(self, shape: Shape) -> None:
        self.shape = shape
        self.remotes = remotes_of(shape)
        self._lines = {t: line for line in self.remotes.lines() for t in line.terminals}
        self._known: dict[str, Moment] = {}
        self._before: dict[str, Moment] = {}
        self._asked: set[str] = set()
        self._sweep()
        self._before = {k: Moment(m.on_ms, inf if m.on_ms < inf else -inf) for k, m in self._known.items()}
        self._sweep()

    def _sweep(self) -> None:
        """Go through the whole network until nothing changes."""
        for _ in range(2 * len(self.shape.items) + 2):
            self._known = {}
            for terminal in self._lines:
                self.line(terminal)
            for item in self.shape.family("relay"):
                self.contact(item.id)
            for item in self.shape.family("processor", "amplifier"):
                self.item(item.id)
            if self._known == self._before:
                return
            self._before = self._known

    def line_at(self, terminal: str) -> RemoteLine | None:
        return self._lines.get(terminal)

    def line(self, terminal: str) -> Moment:
        """When the remote line at a terminal goes live and dead: the first of its feeds, and the last."""
        line = self._lines.get(terminal)
        if line is None:
            return NEVER
        return self._once(line.id, lambda: _any([self.feed(f) for f in line.feeds]))

    def feed(self, feed: Feed) -> Moment:
        """When one feed of a line goes live and dead."""
        if feed.kind == "live":
            return ALWAYS
        if feed.kind == "hand":
            return KEY
        if feed.kind == "contact":
            return _all([self.contact(feed.item), self._behind(feed)])
        item = self.shape.items[feed.item]
        delays, at = Delays(item), self.item(feed.item)
        return Moment(at.on_ms + delays.remote_on_ms(), at.off_ms + delays.remote_off_ms())

    def contact(self, relay: str) -> Moment:
        """When a relay's contact closes and opens."""

        def work() -> Moment:
            spec = self.shape.items[relay].part.spec
            assert isinstance(spec, RelaySpec)
            pull = signal.relay_ms("pull_in", diode=spec.diode) if spec.pull_in_ms is None else spec.pull_in_ms
            drop = signal.relay_ms("drop_out", diode=spec.diode) if spec.drop_out_ms is None else spec.drop_out_ms
            coil = _any([self.line(f"{relay}.{pin}") for pin in ("85", "86")])
            return Moment(coil.on_ms + pull, coil.off_ms + drop)

        return self._once(f"{relay}.contact", work)

    def item(self, item_id: str) -> Moment:
        """When a source unit is switched on and off, or a processor or amplifier is woken and put to sleep."""
        item = self.shape.items[item_id]
        if item.part.family == "source":
            return KEY

        def work() -> Moment:
            pin = f"{item_id}.remote" if item.part.family == "amplifier" else f"{item_id}.remote_in"
            spec = item.part.spec
            if pin in self._lines:
                woken = self.line(pin)
            else:
                runs = isinstance(spec, LoadSpec) and spec.runs != "remote"
                woken = ALWAYS if runs else NEVER
            supply = self.remotes.source_of(f"{item_id}.supply+")
            return _all([woken, self.feed(supply)]) if supply is not None and supply.kind == "contact" else woken

        return self._once(item_id, work)

    def _behind(self, feed: Feed) -> Moment:
        """When the far side of a contact is live."""
        if feed.behind in self._lines:
            return self.line(feed.behind)
        source = self.remotes.source_of(feed.behind)
        return NEVER if source is None else self._once(feed.behind, lambda: self.feed(source))

    def _once(self, key: str, work: Callable[[], Moment]) -> Moment:
        """A moment, once in each sweep; what is asked for while it is being worked out gets the last sweep's."""
        if key not in self._known:
            if key in self._asked:
                return self._before.get(key, Moment(inf, inf))
            self._asked.add(key)
            made = work()
            self._asked.discard(key)
            self._known[key] = made if made.on_ms < inf else NEVER
        return self._known[key]


def _any(moments: list[Moment]) -> Moment:
    """Live while any of them is."""
    lit = [m for m in moments if m.on_ms < inf]
    return Moment(min((m.on_ms for m in lit), default=inf), max((m.off_ms for m in lit), default=-inf))


def _all(moments: list[Moment]) -> Moment:
    """Live while all of them are."""
    return Moment(max(m.on_ms for m in moments), min(m.off_ms for m in moments))
