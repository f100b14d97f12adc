"""Speaker wire: what it takes, and copper that does nothing."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.facts import loudspeakers
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.words import amount, count, listing, num
from loomwright.rig.model import DriverSpec, Rig
from loomwright.study import Study

SLACK_DB = 0.1
"""Speaker wire that misses the mark by this little is left alone."""
SMALL_W = 100.0
"""A driver rated for no more than this is small."""


@check(
    "E918",
    "Speaker wire takes more than is inaudible",
    "Know",
    why="What the wire takes, the loudspeaker does not get; and it holds the cone less firmly.",
    remedy="Use the next sizes up, or a shorter way.",
    source="Ohm's law (calculated); 0.2 dB is common practice",
    mark="calculated",
    unless="Fix from 0.5 dB.",
)
def speaker_wire_thin(study: Study, say: Say) -> Iterator[Finding]:
    """Drivers whose leads lose more than 0.2 dB, with some slack."""
    for lead in study.sound.leads:
        if lead.loss_db > loudspeakers.unheard_loss_db() + SLACK_DB:
            cure = f"Use {lead.enough}" if lead.enough else "Shorten the way"
            yield say(
                (lead.driver, *lead.wires),
                f"{listing(lead.wires)} lose {amount(lead.loss_db, 'dB')} to {lead.driver}: "
                f"{amount(1000 * lead.loop_ohm, 'mohm')} before {num(lead.nominal_ohm)} Ω, damping at most "
                f"{num(lead.damping)}.",
                f"{cure} for {listing(lead.wires)}.",
                severity="Fix" if lead.loss_db > 0.5 else None,
            )


@check(
    "E919",
    "Speaker wire thicker than is useful",
    "Know",
    why="More copper changes nothing that can be heard. It is harmless, costs money and is hard to route to a small "
    "driver.",
    remedy="Keep it, or use the smaller size where the wire has to bend.",
    source="Ohm's law (calculated); common practice",
    mark="common practice",
)
def speaker_wire_thick(study: Study, say: Say) -> Iterator[Finding]:
    """One line for all small drivers whose leads have far more copper than they use."""
    thick = [lead for lead in study.sound.leads if lead.thicker_than_useful and _small(study.rig, lead.driver)]
    if thick:
        worst = min(thick, key=lambda lead: (lead.loss_db, lead.driver))
        sizes = listing(dict.fromkeys(lead.enough for lead in thick if lead.enough))
        yield say(
            tuple(lead.driver for lead in thick),
            f"{count(len(thick), 'loudspeaker')} with more copper than is useful; {worst.driver} loses "
            f"{amount(worst.loss_db, 'dB')}.",
            f"Leave it, or use {sizes} where the wire is hard to route.",
        )


def _small(rig: Rig, driver: str) -> bool:
    """Whether a driver is small: thick wire to a bass driver is customary and does not hurt."""
    spec = rig.items[driver].part.spec
    return isinstance(spec, DriverSpec) and spec.rated_w <= SMALL_W
