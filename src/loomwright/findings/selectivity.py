"""Selectivity: does the nearest device open first, and only that one?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from loomwright.facts import fuses
from loomwright.findings.devices import title
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.trees import amplifiers_below, tree
from loomwright.findings.words import amount, listing, num
from loomwright.protection.results import Selectivity
from loomwright.study import Study


class _Between:
    """What lies between two devices in series."""

    def __init__(self, study: Study) -> None:
        self._fine = {(p.upstream, p.downstream) for p in study.protection.pairs if p.proved or p.typical}
        self._chains: dict[str, list[tuple[str, ...]]] = defaultdict(list)
        for chain in study.protection.chains:
            for device in chain:
                self._chains[device].append(chain)

    def opens_first(self, pair: Selectivity) -> bool:
        """Whether a device between the two opens before the upper one: then only the branch of that one goes dark."""
        chains = [c for c in self._chains[pair.downstream] if pair.upstream in c]
        between = [c[c.index(pair.upstream) + 1 : c.index(pair.downstream)] for c in chains]
        return bool(between) and all(any((pair.upstream, d) in self._fine for d in c) for c in between)


def _mattering(study: Study) -> Iterator[tuple[Selectivity, tuple[str, ...]]]:
    """Pairs whose upper device feeds loads that the lower one does not, with these loads."""
    below = tree(study).below
    for pair in study.protection.pairs:
        lower_id = pair.downstream
        lower = {lower_id.rpartition(".")[0]} if lower_id.endswith(".own") else set(below.get(lower_id, ()))
        others = tuple(i for i in below.get(pair.upstream, ()) if i not in lower)
        if others:
            yield pair, others


@check(
    "E207",
    "Pair of devices not selective",
    "Fix",
    why="Where the upper device can open before the lower one, a fault in one branch takes all branches down. By "
    "their gates alone hardly any two devices are selective; the melting energy decides.",
    remedy="Make the upper device slower or larger, or the lower one smaller: melting I²t at least 2 to 1.",
    source="melting I²t of component data sheets; ratio of 2 to 3 is common practice",
    mark="common practice",
)
def not_selective(study: Study, say: Say) -> Iterator[Finding]:
    """Pairs in series with less than the ratio that is good practice, gathered by the upper device.

    Left out are pairs with a device between them that opens first.
    """
    ratio, between = fuses.selective_ratio(), _Between(study)
    found: dict[str, list[tuple[Selectivity, tuple[str, ...]]]] = defaultdict(list)
    for pair, others in _mattering(study):
        if not pair.proved and not pair.typical and pair.ratio_i2t < ratio and not between.opens_first(pair):
            found[pair.upstream].append((pair, others))
    for upstream, pairs in sorted(found.items()):
        worst, others = min(pairs, key=lambda p: (p[0].ratio_i2t, p[0].downstream))
        lower = [p.downstream for p, _ in pairs]
        up, down = study.protection.devices[upstream], study.protection.devices[worst.downstream]
        dark = amplifiers_below(study.rig, others) or others
        yield say(
            (upstream, *lower),
            f"{title(up)} over {listing(lower)}; closest is {title(down)}: melting I²t {num(worst.ratio_i2t)} to 1, "
            f"{amount(worst.prospective_a, 'A')}; {listing(dark)} would go dark too.",
            f"Fit a larger or slower device as {upstream}, or smaller ones below it: {num(ratio)} to 1 or more.",
            provisional=any(p.provisional for p, _ in pairs),
        )


@check(
    "E213",
    "Selective by typical figures only",
    "Know",
    why="The gates of a standard are wide: by gates alone two devices are hardly ever proved selective. Typical "
    "melting energy says that they are; a single specimen may differ.",
    remedy="Nothing to do; keep to the types and ratings given when a device is replaced.",
    source="melting I²t of component data sheets; ratio of 2 to 3 is common practice",
    mark="common practice",
)
def typically_selective(study: Study, say: Say) -> Iterator[Finding]:
    """Pairs in series that are selective by typical figures and not proved, in one line."""
    found = [p for p, _ in _mattering(study) if p.typical and not p.proved]
    if found:
        closest = min(found, key=lambda p: (p.ratio_i2t, p.upstream, p.downstream))
        yield say(
            sorted({d for p in found for d in (p.upstream, p.downstream)}),
            f"{'1 pair in series is' if len(found) == 1 else f'{len(found)} pairs in series are'} selective by "
            f"typical melting I²t, not proved by the gates; closest is {closest.upstream} over {closest.downstream}, "
            f"{num(closest.ratio_i2t)} to 1.",
            "Keep to the types and ratings given when a device is replaced.",
            provisional=any(p.provisional for p in found),
        )
