"""Loudspeakers to channels: which amplifier drives which, wired the best way that `sound` finds."""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count

from loomwright.draft.sheet import Sheet
from loomwright.errors import InputError
from loomwright.facts.loudspeakers import least_share
from loomwright.rig.model import AmplifierSpec, DriverSpec, Item, PassiveSpec, Rig
from loomwright.sound.frequencies import Floats
from loomwright.sound.wiring_choices import NOMINAL_SLACK, arrange
from loomwright.sound.wiring_offers import Candidate, band_hz, candidate, offer
from loomwright.sound.wiring_results import Arrangement

SPEAKER = "speakers"
MOST_NODES = 1000
MOST_AT_ONCE = 8
SIDES = ("left", "right")


@dataclass(frozen=True, slots=True)
class Group:
    """Like loudspeakers that are driven together."""

    drivers: tuple[str, ...]
    amplifier: str | None = None   # where the list wishes it


@dataclass(frozen=True, slots=True)
class Feeding:
    """One channel in use: the amplifier's input that feeds it; ``leads`` where it is the first of its side."""

    channel: str
    amplifier: str
    number: int
    input: str
    drivers: tuple[str, ...]
    leads: bool


@dataclass(frozen=True, slots=True)
class Use:
    """A group on some channels of an amplifier: single ones, or bridged pairs by their first."""

    group: Group
    amplifier: str
    channels: tuple[int, ...]
    bridged: bool
    arrangement: Arrangement
    cost: float


class TooMany(Exception):
    """More loudspeakers than the channels can carry; the message gives the arithmetic."""


def groups(sheet: Sheet) -> list[Group]:
    """Loudspeakers without wires by kind, and by place where several of a kind share one."""
    wished = {d: a for a, ds in sheet.given.wishes.drives.items() for d in ds}
    heaps: dict[tuple[str, str, str], list[str]] = {}
    for item in sheet.families("driver"):
        if sheet.wired(f"{item.id}.+") or sheet.wired(f"{item.id}.-"):
            continue
        alike = sum(i.place == item.place and i.part.id == item.part.id for i in sheet.families("driver"))
        where = item.place if alike > 1 else ""
        heaps.setdefault((item.part.id, where, wished.get(item.id, "")), []).append(item.id)
    return [Group(tuple(sorted(h, key=_side)), w or None) for (_, _, w), h in heaps.items()]


def _merged(sheet: Sheet, wanted: Sequence[Group]) -> list[Group]:
    """Groups by kind alone, wherever they sit: fewer channels will do."""
    heaps: dict[tuple[str, str | None], tuple[str, ...]] = {}
    for group in wanted:
        key = (sheet.rig.items[group.drivers[0]].part.id, group.amplifier)
        heaps[key] = (*heaps.get(key, ()), *group.drivers)
    return [Group(tuple(sorted(h, key=_side)), amplifier) for (_, amplifier), h in heaps.items()]


def _side(name: str) -> tuple[int, str]:
    return next((n for n, s in enumerate(SIDES) if s in name), len(SIDES)), ""


def allocate(sheet: Sheet) -> list[Use]:
    """The cheapest way to give every group its channels.

    Cost: watts far from what a loudspeaker takes, limits passed, leads that are long. Raises TooMany.
    """
    wanted = groups(sheet)
    bench = _Bench(sheet)
    found = _search(bench, wanted)
    if found is not None:
        return found
    wanted = _merged(sheet, wanted)
    while True:
        found = _search(bench, wanted)
        if found is not None:
            return found
        k = max(range(len(wanted)), key=lambda n: (len(wanted[n].drivers), -n))
        biggest = wanted[k]
        if len(biggest.drivers) < 2:
            raise TooMany(_arithmetic(sheet))
        half = (len(biggest.drivers) + 1) // 2
        wanted[k : k + 1] = [
            Group(biggest.drivers[:half], biggest.amplifier), Group(biggest.drivers[half:], biggest.amplifier)
        ]  # fmt: skip


def _arithmetic(sheet: Sheet) -> str:
    """How many loudspeakers there are, and what the channels stand."""
    drivers = [i for i in sheet.families("driver") if not sheet.wired(f"{i.id}.+")]
    amps = [(i, i.part.spec) for i in sheet.families("amplifier") if isinstance(i.part.spec, AmplifierSpec)]
    free = sum(len(_free(sheet, i)) for i, _ in amps)
    ohms = sorted({i.part.spec.nominal_ohm for i in drivers if isinstance(i.part.spec, DriverSpec)})
    least = sorted({s.min_load_ohm for _, s in amps})
    kinds = len({i.part.id for i in drivers})
    each = ", ".join(f"{o:g}" for o in ohms)
    stands = ", ".join(f"{o:g}" for o in least)
    return (
        f"{len(drivers)} loudspeakers of {kinds} kinds ({each} Ω) on {free} free channels with a least load of "
        f"{stands} Ω: unlike ones get channels of their own, at most {MOST_AT_ONCE} like ones share a channel, and no "
        "way was found that keeps every channel above its least load"
    )


def _free(sheet: Sheet, amp: Item) -> list[int]:
    spec = amp.part.spec
    assert isinstance(spec, AmplifierSpec)
    return [
        n for n in range(1, spec.channels + 1)
        if not sheet.wired(f"{amp.id}.ch{n}+") and not sheet.wired(f"{amp.id}.ch{n}-")
    ]  # fmt: skip


class _Bench:
    """What a group on some channels comes to, each question answered once."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.rig = sheet.rig
        self.grid: Floats = band_hz()
        self.amps = sheet.families("amplifier")
        self.free = {a.id: tuple(_free(sheet, a)) for a in self.amps}
        self._known: dict[tuple[object, ...], Arrangement | None] = {}
        self._candidates: dict[str, Candidate] = {}

    def uses(self, group: Group, free: Mapping[str, tuple[int, ...]]) -> Iterator[Use]:
        """Every use of a group on the channels that are still free, the cheaper ones not first."""
        for amp in self.amps:
            if group.amplifier not in (None, amp.id):
                continue
            spec = amp.part.spec
            assert isinstance(spec, AmplifierSpec)
            firm = dict(amp.bridged)
            pairs = [n for n in free[amp.id] if n in firm]
            singles = [n for n in free[amp.id] if n not in firm and n not in firm.values()]
            for k in range(1, min(len(singles), len(group.drivers)) + 1):
                if len(group.drivers) % k == 0 or k == 1:
                    yield from self._use(group, amp, tuple(singles[:k]), False)
            for k in range(1, min(len(pairs), len(group.drivers)) + 1):
                yield from self._use(group, amp, tuple(pairs[:k]), True)
            if spec.bridged_4ohm_w is not None and not firm:
                open_pairs = [n for n in singles if n % 2 == 1 and n + 1 in singles]
                for k in range(1, min(len(open_pairs), len(group.drivers)) + 1):
                    yield from self._use(group, amp, tuple(open_pairs[:k]), True)

    def _use(self, group: Group, amp: Item, channels: tuple[int, ...], bridged: bool) -> Iterator[Use]:
        best = self._best(group, amp, channels, bridged)
        if best is not None:
            yield Use(group, amp.id, channels, bridged, best, self._cost(group, amp, best))

    def _best(self, group: Group, amp: Item, channels: tuple[int, ...], bridged: bool) -> Arrangement | None:
        key = (group.drivers, amp.id, channels, bridged)
        if key not in self._known:
            self._known[key] = self._arrange(group, amp, channels, bridged)
        return self._known[key]

    def _arrange(self, group: Group, amp: Item, channels: tuple[int, ...], bridged: bool) -> Arrangement | None:
        if len(group.drivers) > MOST_AT_ONCE:
            return None
        rig = self.rig
        if bridged:
            pairs = tuple(sorted({*amp.bridged, *((n, n + 1) for n in channels)}))
            rig = _with(rig, replace(amp, bridged=pairs))
        for d in group.drivers:
            if d not in self._candidates:
                self._candidates[d] = candidate(self.rig, d, self.grid)
        offers = [offer(rig, amp.id, n) for n in channels]
        try:
            made = arrange([self._candidates[d] for d in group.drivers], offers, rig.file)
        except InputError:
            return None
        full = [a for a in made.arrangements if all(c.nominal_ohm is not None for c in a.channels)]
        stands = {o.channel: o.least_ohm for o in offers}
        return next((a for a in full if _carried(a, stands)), None)

    def _cost(self, group: Group, amp: Item, found: Arrangement) -> float:
        cost = 0.0
        for joined in found.channels:
            for s in joined.shares:
                ratio = s.full_w / s.rated_w
                cost += abs(math.log2(max(ratio, 1e-3)))
                cost += 2.0 * max(0.0, math.log2(s.loud_w / s.rated_w))
                cost += 0.3 * max(0.0, joined.joints - 2)
        cost += max(0.0, found.balance_db - 3.0)
        for d in group.drivers:
            way = self.sheet.length_mm(amp.place, self.rig.items[d].place)
            cost += 1e6 if way is None else way / 10_000.0
            cost -= 0.2 * len(_words(amp.id) & _words(d))
        bass = any(is_bass(self.rig.items[d]) for d in group.drivers)
        spec = amp.part.spec
        assert isinstance(spec, AmplifierSpec)
        return cost + (1.5 if bass != (spec.channels == 1) else 0.0)


def _words(name: str) -> frozenset[str]:
    """What the parts of a name say: ``front_left`` belongs to ``front_amp`` rather than to ``rear_amp``."""
    return frozenset(name.lower().split("_")) - {"amp", *SIDES}


def is_bass(item: Item) -> bool:
    """Whether a loudspeaker is made for bass: it resonates below 40 Hz."""
    spec = item.part.spec
    return isinstance(spec, DriverSpec) and spec.fs_hz is not None and spec.fs_hz < 40.0


def _carried(found: Arrangement, stands: Mapping[str, float]) -> bool:
    """Whether every channel stands its load, by its nominal ohms and at its lowest dip."""
    return all(
        c.nominal_ohm is not None and c.least_ohm is not None
        and c.nominal_ohm >= NOMINAL_SLACK * stands[c.channel] and c.least_ohm >= least_share() * stands[c.channel]
        for c in found.channels
    )  # fmt: skip


def _with(rig: Rig, item: Item) -> Rig:
    return replace(rig, items={**rig.items, item.id: item})


def _search(bench: _Bench, wanted: Sequence[Group]) -> list[Use] | None:
    """Best first over the groups in order; the rest counts with its cheapest use on free channels."""
    least = []
    for group in wanted:
        costs = [u.cost for u in bench.uses(group, bench.free)]
        if not costs:
            return None
        least.append(min(costs))
    order = sorted(range(len(wanted)), key=lambda n: (-len(wanted[n].drivers), n))
    rest = [sum(least[n] for n in order[k:]) for k in range(len(order) + 1)]
    tick = count()
    queue: list[tuple[float, int, int, float, dict[str, tuple[int, ...]], tuple[Use, ...]]] = [
        (rest[0], 0, next(tick), 0.0, bench.free, ())
    ]
    nodes = 0
    while queue and nodes < MOST_NODES:
        _, depth, _, cost, free, uses = heapq.heappop(queue)
        depth = -depth
        nodes += 1
        if depth == len(order):
            return sorted(uses, key=lambda u: wanted.index(u.group))
        for use in bench.uses(wanted[order[depth]], free):
            taken = {*use.channels, *((n + 1 for n in use.channels) if use.bridged else ())}
            left = {**free, use.amplifier: tuple(n for n in free[use.amplifier] if n not in taken)}
            now = cost + use.cost
            heapq.heappush(queue, (now + rest[depth + 1], -(depth + 1), next(tick), now, left, (*uses, use)))
    return None


def draft(sheet: Sheet, uses: Sequence[Use]) -> list[Feeding]:
    """Wire the loudspeakers as allocated, with a capacitor before small ones that no filter can protect."""
    feedings: list[Feeding] = []
    for amp in sheet.families("amplifier"):
        pairs = sorted((n, n + 1) for u in uses if u.amplifier == amp.id and u.bridged for n in u.channels)
        if pairs and not amp.bridged:
            sheet.put(amp.id, "bridged for its loudspeaker", bridged=[list(p) for p in pairs])
    for use in sorted(uses, key=lambda u: (list(sheet.rig.items).index(u.amplifier), u.channels)):
        _wire(sheet, use)
        spec = sheet.rig.items[use.amplifier].part.spec
        assert isinstance(spec, AmplifierSpec)
        inputs = [t.name for t in sheet.rig.items[use.amplifier].part.terminals if t.name.startswith("in")]
        sides: set[int] = set()
        for number, joined in zip(use.channels, use.arrangement.channels, strict=True):
            side = _side(joined.shares[0].driver)[0]
            feedings.append(
                Feeding(
                    joined.channel, use.amplifier, number, f"{use.amplifier}.{inputs[(number - 1) % len(inputs)]}",
                    tuple(s.driver for s in joined.shares), side not in sides,
                )
            )  # fmt: skip
            sides.add(side)
    return feedings


def _wire(sheet: Sheet, use: Use) -> None:
    chapter = SPEAKER
    sheet.choose(
        f"{use.amplifier} {', '.join(use.group.drivers)}", use.arrangement.words,
        f"{use.arrangement.level_db:.0f} dB together, every channel above its least load"
        + (f"; {'; '.join(use.arrangement.remarks)}" if use.arrangement.remarks else ""),
    )  # fmt: skip
    for joined in use.arrangement.channels:
        before = _capacitor(sheet, use, tuple(s.driver for s in joined.shares))
        for lead in joined.leads:
            start, end = lead.start, lead.end
            if before and start.endswith("+") and start.startswith(f"{use.amplifier}."):
                sheet.pull("speaker", start, f"{before}.a", "S", chapter, f"speaker {joined.channel}", size="16 AWG")
                start = f"{before}.b"
            sheet.pull("speaker", start, end, "S", chapter, f"speaker {joined.channel}", size="16 AWG")


def _capacitor(sheet: Sheet, use: Use, drivers: Sequence[str]) -> str | None:
    """A series capacitor for drivers that must not get bass, where no processor lies before them."""
    if sheet.families("processor"):
        return None
    specs = [s for d in drivers if isinstance(s := sheet.rig.items[d].part.spec, DriverSpec)]
    lowest = [s.lowest_hz for s in specs if s.lowest_hz is not None]
    if not lowest or len(lowest) < len(specs):
        return None
    joined = next(c for c in use.arrangement.channels if tuple(s.driver for s in c.shares) == tuple(drivers))
    ohm = joined.nominal_ohm or specs[0].nominal_ohm
    found: list[tuple[float, str]] = []
    for part_id in sheet.given.catalogue.ids():
        if sheet.given.catalogue.tables[part_id][0].get("family") != "passive":
            continue
        part = sheet.part(part_id)
        spec = part.spec
        if isinstance(spec, PassiveSpec) and spec.element == "capacitor" and part.terminal("a").kind == "speaker":
            corner = 1.0 / (2.0 * math.pi * spec.value * ohm)
            if corner >= max(lowest) and spec.capacitor_type != "polar":
                found.append((corner, part_id))
    if not found:
        return None
    corner, part_id = min(found)
    name = sheet.place(f"{drivers[0]}_cap", part_id, sheet.rig.items[drivers[0]].place, SPEAKER, "keeps bass away")
    sheet.choose(name, part_id, f"high-pass at {corner:.0f} Hz before {', '.join(drivers)}: nothing else filters")
    return name
