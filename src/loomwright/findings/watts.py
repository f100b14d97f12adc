"""Watts, excursion and loudness: claims, what drivers get and stand, and the ear."""

from __future__ import annotations

import math
from collections.abc import Iterator

from loomwright.facts import hearing
from loomwright.facts.spectra import provisional
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.words import amount, count, listing, num
from loomwright.study import Study

TWICE = 2.0
SAG_DB = 1.5
MINUTE_H = 1.0 / 60.0


@check(
    "E941",
    "Claimed output that cannot flow in",
    "Know",
    why="Watts out come from watts in. An amplifier's own fuse, its supply volts and its efficiency bound what it can "
    "give; a source without a converter is bound by the battery's volts.",
    remedy="Plan with the credible figure.",
    source="amps x volts x efficiency; V^2 / 2 / R for a bridged output (calculated)",
    mark="calculated",
    unless="Fix where an amplifier's claim is more than twice what can flow in: wires, fuses and drivers were chosen "
    "by it.",
)
def claim(study: Study, say: Say) -> Iterator[Finding]:
    """Amplifiers and source units that claim more than their supply can feed."""
    for c in study.sound.claims:
        if c.limit_w >= 0.99 * c.claimed_w:
            continue
        if c.amps_a is None:
            how = f"{num(c.volts_v)} V squared over 2 over 4 Ω, {c.outputs} times"
        else:
            how = f"{amount(c.amps_a, 'A')} x {amount(c.volts_v, 'V')} x {num(c.efficiency)}"
        twice = c.amps_a is not None and c.claimed_w > TWICE * c.limit_w
        yield say(
            (c.item,),
            f"{c.item} claims {amount(c.claimed_w, 'W')} into 4 Ω; {how} = {amount(c.limit_w, 'W')}.",
            f"Reckon with {amount(c.credible_w, 'W')} from {c.item}.",
            severity="Fix" if twice else None,
        )


@check(
    "E942",
    "Driver gets more than it takes",
    "Fix",
    why="The programme that the crossover leaves it is more than its rated watts: the voice coil overheats within "
    "minutes.",
    remedy="Set the gain or a limiter lower, or use a driver that takes more.",
    source="programme spectrum, filtered as described, against the rated noise power of IEC 60268-5 (calculated)",
    mark="calculated",
)
def overpowered(study: Study, say: Say) -> Iterator[Finding]:
    """Drivers whose watts of any programme exceed their rating, as the gains are set or advised."""
    limits = {(x.driver, x.channel): x for x in study.sound.limits}
    for p in study.sound.programmes:
        got = p.watts_w[p.worst]
        if got > p.rated_w:
            held = limits[(p.driver, p.channel)].limiter_v
            advice = f"Lower the gain of {p.channel}" if held is None else f"Limit {p.channel} to {amount(held, 'V')}"
            yield say(
                (p.driver,),
                f"{p.driver} gets {amount(got, 'W')} of {p.worst} programme, rated {num(p.rated_w)} W.",
                f"{advice}, or use a driver that takes {amount(got, 'W')}.",
                provisional=provisional(p.worst),
            )


@check(
    "E943",
    "Amplifier far stronger than its loudspeaker",
    "Know",
    why="Its full output is more than twice what the loudspeaker is rated for. With the gain card it is held; a turned "
    "knob or a clipped source is not.",
    remedy="Set a limiter to the volts shown, and mark the gain.",
    source="rated noise power, IEC 60268-5; common practice",
    mark="common practice",
)
def limiter_wanted(study: Study, say: Say) -> Iterator[Finding]:
    """Channels without a limiter that can give more than twice what their driver takes."""
    for x in study.sound.limits:
        path = study.sound.chains[x.channel]
        output = study.sound.outputs[x.channel]
        if x.limiter_w is None or x.limiter_v is None or path.limit_w is not None:
            continue
        if output.credible_w > 1.001 * TWICE * x.limiter_w:
            yield say(
                (x.driver, path.amplifier),
                f"{x.channel} can give {amount(output.credible_w, 'W')}; {x.driver} is rated for "
                f"{amount(x.limiter_w, 'W')} of it.",
                f"Limit {x.channel} to {amount(x.limiter_v, 'V')}, {amount(x.limiter_w, 'W')}, and write limit_w.",
            )


@check(
    "E944",
    "Cone driven beyond its way",
    "Fix",
    why="Below the corner that its mounting sets, a cone moves further with every octave. Beyond twice its linear way "
    "it strikes or tears.",
    remedy="Set a high-pass at the frequency shown, or give it a smaller box.",
    source="small-signal model of the driver in its mounting, full output (calculated); twice is common practice",
    mark="calculated",
)
def excursion(study: Study, say: Say) -> Iterator[Finding]:
    """Drivers behind filters that still let full output move them beyond twice their linear excursion."""
    for x in study.sound.limits:
        path = study.sound.chains[x.channel]
        if not path.filters or x.excursion_ratio is None or x.ratio_at_hz is None or x.excursion_ratio <= TWICE:
            continue
        yield say(
            (x.driver,),
            f"{x.driver} moves {num(x.excursion_ratio)} times its linear way at {amount(x.ratio_at_hz, 'Hz')}.",
            f"Set the high-pass of {x.channel} to {amount(x.subsonic_hz or x.ratio_at_hz, 'Hz')}.",
        )


@check(
    "E945",
    "Filters not described",
    "Know",
    why="Without filters the bass moves these cones beyond their way at full output. Most likely a filter is set "
    "somewhere; the rig does not say.",
    remedy="Set the high-pass, and write it under bands of the processor or amplifier.",
    source="small-signal model of the driver in its mounting, full output (calculated)",
    mark="calculated",
)
def filters_unsaid(study: Study, say: Say) -> Iterator[Finding]:
    """One line for all drivers that full output without any filter would overdrive."""
    over = [
        x for x in study.sound.limits
        if not study.sound.chains[x.channel].filters and (x.excursion_ratio or 0.0) > TWICE
    ]  # fmt: skip
    if over:
        corners = [f"{x.driver} {num(x.subsonic_hz)}" for x in over if x.subsonic_hz is not None]
        drivers = count(len(over), "driver")
        yield say(
            tuple(x.driver for x in over),
            f"{drivers} without a described high-pass; full output is safe from, in Hz: {listing(corners)}.",
            "Set a high-pass for each and write it under bands; at programme level a lower one may do.",
        )


@check(
    "E946",
    "Output falls with the volts",
    "Know",
    why="A sagging supply gives less as the battery's volts fall: what the amplifier is sold for, it gives at 14.4 V "
    "only.",
    remedy="Reckon with the lower figure, or bring the volts up.",
    source="output as the square of the volts (calculated)",
    mark="calculated",
)
def sags(study: Study, say: Say) -> Iterator[Finding]:
    """One line for amplifiers that lose more than 1.5 dB at the volts of the owner's session, loud."""
    engine = study.rig.limits.session_engine
    weak = []
    for item in dict.fromkeys(o.amplifier for o in study.sound.outputs.values()):
        mine = [o for o in study.sound.outputs.values() if o.amplifier == item and engine in o.watts_w]
        full, now = sum(o.credible_w for o in mine), sum(o.watts_w[engine] for o in mine)
        if mine and now > 0 and 10.0 * math.log10(full / now) > SAG_DB:
            weak.append((now / full, item, full, now, mine[0].supply_v[engine]))
    if weak:
        _, item, full, now, volts = min(weak)
        yield say(
            tuple(w[1] for w in weak),
            f"{count(len(weak), 'amplifier')} with the engine {engine}, loud; {item} gives {amount(now, 'W')} of "
            f"{amount(full, 'W')} at {amount(volts, 'V')}.",
            f"Bring the volts at {listing(w[1] for w in weak)} up, or reckon with the lower figures.",
        )


@check(
    "E947",
    "Loud enough to harm within a minute",
    "Know",
    why="At this level the day's dose for the ear is used up within a minute. Hearing that is lost does not come back. "
    "What neighbours and the road law allow is far less.",
    remedy="Set the volume limit lower, and keep distance; wear protection while testing.",
    source="NIOSH: 85 dBA for 8 h, 3 dB exchange",
    mark="published",
)
def ear(study: Study, say: Say) -> Iterator[Finding]:
    """Rigs whose level at the listening place leaves less than a minute by NIOSH."""
    if not study.sound.loudness:
        return
    loudest = max(study.sound.loudness, key=lambda x: x.level_dba)
    if loudest.exposure_h < MINUTE_H:
        seconds = 3600.0 * hearing.exposure_h(loudest.level_dba)
        yield say(
            tuple(d.driver for d in loudest.drivers),
            f"About {amount(loudest.level_dba, 'dB')} (A) at {amount(loudest.distance_m, 'm')} ({num(loudest.low_dba)} "
            f"to {num(loudest.high_dba)}): {amount(seconds, 's')} a day.",
            "Lower the volume limit, and warn whoever works or rides close to it.",
            provisional=bool(loudest.guessed),
        )
