"""Which amplifiers of the catalogue suit what is wired to one of a rig, and its charging; and why the others fall out.

Each amplifier is held against the loads as they are (their least ohms, the watts that their drivers take), against the
charging system in the owner's session, against the volts at its place, and against the feed that lies there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from loomwright.advice.moves import Shop
from loomwright.facts import loudspeakers
from loomwright.facts.ampacity import continuous_margin
from loomwright.facts.amplifiers import programme_fraction
from loomwright.findings.trees import feed_way, tree
from loomwright.findings.ways import ways_of
from loomwright.findings.words import listing, num
from loomwright.power.amplifier import supply_w
from loomwright.power.channels import at_load_w
from loomwright.rig.catalogue import Catalogue
from loomwright.rig.model import AmplifierSpec, DriverSpec, Item, Part, Programme
from loomwright.sound.output import LEAST_OHM, fuse_claim
from loomwright.sound.results import ChannelLoad
from loomwright.study import Study

FitVerdict = Literal["suits", "suits with care", "falls out"]
VERDICTS: tuple[FitVerdict, ...] = ("suits", "suits with care", "falls out")
HALF, TWICE = 0.5, 2.0
"""An amplifier gives a driver at least half of what it takes (3 dB less) and without a limiter at most twice."""
NOMINAL_SLACK = 0.98
LARGER = 1.15
"""A part that covers more than this much of another's area is said to be larger."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """One load that is to be fed: what is on it, its ohms, the watts that it takes."""

    load: str
    drivers: tuple[str, ...]
    nominal_ohm: float
    least_ohm: float
    takes_w: float


@dataclass(frozen=True, slots=True)
class Fit:
    """One part in the place of one amplifier.

    ``watts_w`` go with the loads, in order; ``bridged`` says which of them take a bridged pair. ``session_a`` and
    ``loud_a`` are what it draws in the session and at `loud`; ``surplus_a`` is charge left over in the session with it,
    None with the engine off. ``against`` is why it falls out, ``care`` what must be seen to.
    """

    amplifier: str
    part: str
    title: str
    verdict: FitVerdict
    now: bool
    channels_used: int
    watts_w: tuple[float, ...]
    bridged: tuple[bool, ...]
    session_a: float
    loud_a: float
    surplus_a: float | None
    size_mm: tuple[float, float, float] | None
    price: float | None
    against: tuple[str, ...]
    care: tuple[str, ...]
    too_few: bool  # channels


@dataclass(frozen=True, slots=True)
class Position:
    """One amplifier's place: what it must feed, and every part of the catalogue held against that, best first."""

    amplifier: str
    part: str
    loads: tuple[Wanted, ...]
    fits: tuple[Fit, ...]


def equipment(study: Study, catalogue: Catalogue) -> tuple[Position, ...]:
    """Every amplifier's place in a rig."""
    shop = Shop(study, catalogue)
    found = []
    for item in study.rig.family("amplifier"):
        loads = tuple(_wanted(study, c) for c in study.sound.loads.channels
                      if c.item == item.id and c.drivers and not c.short and not c.open)  # fmt: skip
        judge = _Judge(study, item, loads)
        fits = sorted((judge.fit(p) for p in shop.parts("amplifier")), key=_rank)
        found.append(Position(item.id, item.part.id, loads, tuple(fits)))
    return tuple(found)


def _wanted(study: Study, load: ChannelLoad) -> Wanted:
    heard = (load.frequency_hz >= 20.0) & (load.frequency_hz <= 20_000.0)
    least = float(np.where(heard, np.abs(load.impedance_ohm), np.inf).min())
    takes = 0.0
    for name in load.drivers:
        spec = study.rig.items[name].part.spec
        assert isinstance(spec, DriverSpec)
        takes += spec.rated_w
    limit = study.sound.chains[load.name].limit_w if load.name in study.sound.chains else None
    nominal = max(load.nominal_ohm or 4.0, LEAST_OHM)
    return Wanted(load.name, tuple(load.drivers), nominal, least, min(takes, limit) if limit else takes)


def _rank(fit: Fit) -> tuple[int, int, float, str]:
    return (VERDICTS.index(fit.verdict), len(fit.against), fit.session_a, fit.part)


class _Judge:
    """Holds parts against one place."""

    def __init__(self, study: Study, item: Item, loads: tuple[Wanted, ...]) -> None:
        self.study, self.item, self.loads = study, item, loads
        limits, rig = study.rig.limits, study.rig
        self.engine = limits.session_engine if limits.session_engine in rig.engine_states() else "off"
        self.programme: Programme = limits.session_programme
        self.session = study.power.case(self.engine, self.programme).items[item.id]
        self.loud = study.power.case(self.engine, "loud").items[item.id]
        self.balance = next(
            (b for b in study.power.balance if (b.engine, b.programme) == (self.engine, self.programme)), None
        )

    def fit(self, part: Part) -> Fit:
        """One part, held against everything."""
        spec = part.spec
        assert isinstance(spec, AmplifierSpec)
        credible = fuse_claim(part.id, spec)
        share = credible.share if spec.own_fuses_a and credible.share < 1.0 else 1.0
        bridged, watts = self._channels(spec, share)
        used = len(watts) + sum(bridged)
        total = sum(watts)
        session_a = _amps(spec, total, self.programme, self.session.volts_v)
        loud_a = _amps(spec, total, "loud", self.loud.volts_v)
        surplus = None
        if self.balance is not None and self.engine != "off":
            surplus = self.balance.surplus_a - (session_a - self.session.amps_a)
        against = [f"{num(used)} channels are wanted, it has {spec.channels}"] if used > spec.channels else []
        against = against or [*self._loads(spec, bridged, watts), *self._charge(surplus), *self._volts(spec)]
        now = part.id == self.item.part.id
        care = [] if against else [*self._limiters(watts), *self._feed(loud_a), *(() if now else self._size(part))]
        verdict: FitVerdict = "falls out" if against else "suits with care" if care else "suits"
        return Fit(
            self.item.id, part.id, part.title, verdict, now, used, tuple(watts), tuple(bridged), session_a, loud_a,
            surplus, part.size_mm, part.price, tuple(against), tuple(care), used > spec.channels,
        )  # fmt: skip

    def _channels(self, spec: AmplifierSpec, share: float) -> tuple[list[bool], list[float]]:
        """Which loads take a bridged pair, and the watts that each gets: bridged only where one channel is too weak."""
        spare = spec.channels - len(self.loads)
        bridged, watts = [], []
        for want in self.loads:
            at2 = spec.output_2ohm_w if spec.output_2ohm_w is not None else spec.output_4ohm_w
            own = share * at_load_w(spec.output_4ohm_w, at2, want.nominal_ohm)
            pair = spec.bridged_4ohm_w is not None and spec.min_bridged_ohm is not None and spare > 0
            stands = pair and want.nominal_ohm >= NOMINAL_SLACK * (spec.min_bridged_ohm or 0.0)
            if own < HALF * want.takes_w and stands and spec.bridged_4ohm_w is not None:
                bridged.append(True)
                watts.append(share * at_load_w(spec.bridged_4ohm_w, spec.bridged_4ohm_w, want.nominal_ohm))
                spare -= 1
            else:
                bridged.append(False)
                watts.append(own)
        return bridged, watts

    def _loads(self, spec: AmplifierSpec, bridged: list[bool], watts: list[float]) -> Iterator[str]:
        share = loudspeakers.least_share()
        for want, pair in zip(self.loads, bridged, strict=True):
            least = spec.min_bridged_ohm if pair and spec.min_bridged_ohm is not None else spec.min_load_ohm
            if want.nominal_ohm < NOMINAL_SLACK * least:
                yield f"{want.load} is a load of {num(want.nominal_ohm)} Ω, it stands {num(least)} Ω"
            elif want.least_ohm < share * least:
                yield f"{want.load} dips to {num(want.least_ohm)} Ω, it stands {num(share * least)} Ω"
        weak = [(w, got) for w, got in zip(self.loads, watts, strict=True) if got < HALF * w.takes_w]
        if weak:
            want, got = min(weak, key=lambda p: p[1] / p[0].takes_w)
            drivers = listing(want.drivers)
            takes = "takes" if len(want.drivers) == 1 else "take"
            yield f"gives {num(got)} W where {drivers} {takes} {num(want.takes_w)} W: less than half"

    def _charge(self, surplus_a: float | None) -> Iterator[str]:
        if surplus_a is None or self.balance is None or surplus_a >= 0.0 or surplus_a >= self.balance.surplus_a - 0.05:
            return
        given = num(self.balance.available_a)
        drawn = num(self.balance.available_a - surplus_a)
        where = f"{self.engine}, {self.programme}"
        yield f"charging gives {given} A ({where}), with it {drawn} A would be drawn: {num(-surplus_a)} A short"

    def _volts(self, spec: AmplifierSpec) -> Iterator[str]:
        if self.loud.volts_v < spec.min_v:
            yield f"needs {num(spec.min_v)} V, there are {num(self.loud.volts_v)} V at loud"

    def _limiters(self, watts: list[float]) -> Iterator[str]:
        strong = [w.load for w, got in zip(self.loads, watts, strict=True) if got > 1.001 * TWICE * w.takes_w]
        if strong:
            yield f"limit {listing(strong)}: more than twice what hangs there takes"

    def _feed(self, loud_a: float) -> Iterator[str]:
        """Devices and wires on its own way that what it draws at `loud` is too much for."""
        rig = self.study.rig
        way = feed_way(ways_of(rig), self.item)
        if way is None:
            return
        case = self.study.power.case(self.engine, "loud")
        more = loud_a - self.loud.amps_a
        margin = continuous_margin()
        for name in tree(self.study).above.get(self.item.id, ()):
            state = case.devices.get(name)
            if state is None or name == f"{self.item.id}.own":
                continue
            carries = abs(state.amps_a) + more
            if carries > 1.005 * state.usable_a and abs(state.amps_a) <= 1.005 * state.usable_a:
                wants = num(carries * margin)
                yield f"{name} of {num(state.rating_a)} A is too small: {num(carries)} A at loud wants {wants} A"
        for wire in way.wires:
            heat = case.wires.get(wire)
            if heat is None or heat.ampacity_a == float("inf") or abs(heat.amps_a) > heat.ampacity_a:
                continue
            if abs(heat.amps_a) + more > heat.ampacity_a:
                yield f"{wire} carries {num(heat.ampacity_a)} A, with it {num(abs(heat.amps_a) + more)} A flow at loud"

    def _size(self, part: Part) -> Iterator[str]:
        here = self.item.part.size_mm
        if part.size_mm is None:
            yield "its size is not known"
        elif here is not None and part.size_mm[0] * part.size_mm[1] > LARGER * here[0] * here[1]:
            yield (f"larger on the panel: {num(part.size_mm[0])} x {num(part.size_mm[1])} mm, "
                   f"now {num(here[0])} x {num(here[1])} mm")  # fmt: skip


def _amps(spec: AmplifierSpec, output_w: float, programme: Programme, volts_v: float) -> float:
    return spec.idle_a + supply_w(spec, output_w, programme_fraction(programme)) / max(volts_v, 1.0)
