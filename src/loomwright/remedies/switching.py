"""Remedies on the order of switching."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings.model import Finding
from loomwright.remedies.model import Remedy, makes
from loomwright.remedies.stock import Stock
from loomwright.rig.changes import ItemKey


@makes("E926", "E927")
def delay_of_the_remote_output(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The delay that keeps every amplifier of the finding out of the thump, where setting it is all it takes."""
    *amplifiers, culprit = finding.where
    switching = stock.study.sound.switching
    timeline = switching.on if finding.code == "E926" else switching.off
    thumps = [t for t in timeline.thumps if t.culprit == culprit and t.amplifier in amplifiers]
    delays = [t.delay for t in thumps if t.delay is not None]
    if not delays or len(delays) < len(thumps) or len({(d.item, d.key) for d in delays}) != 1:
        return
    longest = finding.code == "E926"
    delay = (max if longest else min)(delays, key=lambda d: d.delay_ms)
    words = "wait" if longest else "go dead within"
    yield Remedy(
        f"Let {delay.item}.remote_out {words} {delay.delay_ms:g} ms",
        (ItemKey(delay.item, delay.key, float(delay.delay_ms)),),
    )
