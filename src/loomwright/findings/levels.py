"""Levels and gains: what clips, what is too weak, what hisses, and speaker-level inputs."""

from __future__ import annotations

import math
from collections.abc import Iterator

from loomwright.facts import signal
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.words import amount, listing, num
from loomwright.study import Study

SHORT_DB = 3.0
OVER_DB = 6.0
"""A full-scale peak may run this far beyond full output: the tone of -5 dBFS allows 5."""
GAIN = "V = sqrt(P R) with a tone of -5 to 0 dBFS"


@check(
    "E932",
    "Amplifier without a signal",
    "Know",
    why="Loudspeakers hang on it and no line or speaker-level lead reaches its inputs, as far as the rig describes.",
    remedy="Run a line lead to it, or describe the one that is there.",
    source="common practice",
    mark="common practice",
)
def no_signal(study: Study, say: Say) -> Iterator[Finding]:
    """Amplifiers that drive loudspeakers and have no signal lead at all."""
    chains = study.sound.chains.values()
    for amplifier in dict.fromkeys(c.amplifier for c in chains):
        mine = [c for c in chains if c.amplifier == amplifier]
        if not any(c.hops for c in mine):
            yield say(
                (amplifier,),
                f"{len(mine)} channels of {amplifier} with loudspeakers, 0 signal leads.",
                f"Run a line lead to {mine[0].input}, or write it into the rig.",
            )


@check(
    "E933",
    "Input clips before the volume is up",
    "Fix",
    why="The output before it gives more volts than the input takes. It clips there, at every gain after it, and no "
    "meter further on shows it.",
    remedy="Set the source's volume limit, or the input's range, so that full scale fits.",
    source="the parts' own data (calculated)",
    mark="calculated",
)
def input_clips(study: Study, say: Say) -> Iterator[Finding]:
    """Processor inputs that get more than they take at full scale."""
    said = set()
    for levels in study.sound.levels.values():
        for p in levels.points[:-1]:
            item, _, name = p.place.partition(".")
            if p.margin_db is None or p.margin_db >= -0.1 or p.clip_v is None or p.place in said:
                continue
            if study.rig.items[item].part.family != "processor" or not name.startswith(("in", "hi")):
                continue
            said.add(p.place)
            root = math.sqrt(2.0)
            yield say(
                (item, p.place),
                f"{p.place} gets {amount(p.peak_v / root, 'V')} at full scale and clips at "
                f"{amount(p.clip_v / root, 'V')}: {amount(-p.margin_db, 'dB')} over.",
                f"Limit what reaches {p.place} to {amount(p.clip_v / root, 'V')}.",
            )


@check(
    "E934",
    "Signal too weak for full output",
    "Know",
    why="Even with its gain at most the amplifier does not reach full output: loudspeakers stay below what they could, "
    "and the gain that is left brings up noise.",
    remedy="Use an output of more volts, or a line driver.",
    source=f"{GAIN}; the parts' own data",
    mark="calculated",
    unless="Fix where more than 3 dB are missing.",
)
def too_weak(study: Study, say: Say) -> Iterator[Finding]:
    """Channels that the signal cannot drive to full output."""
    for name, levels in study.sound.levels.items():
        g = levels.gain
        if g.reach == "too weak":
            missing = 20.0 * math.log10(g.low_v / g.input_v)
            yield say(
                (name.partition(".")[0], f"{name.partition('+')[0]}+"),
                f"{amount(g.input_v, 'V')} reach the input of {name} at {num(g.tone_dbfs)} dBFS, "
                f"{amount(g.low_v, 'V')} are needed: {amount(missing, 'dB')} short.",
                f"Give {name} a source of {amount(g.low_v * 10 ** (-g.tone_dbfs / 20), 'V')} or more at full scale.",
                severity="Fix" if missing > SHORT_DB else None,
            )


@check(
    "E935",
    "Signal too hot for the gain's range",
    "Fix",
    why="Even with its gain at least the amplifier is at full output before the source is: part of the volume's way "
    "does nothing but clip.",
    remedy="Turn the processor's output down, or use an input for more volts.",
    source=f"{GAIN}; the parts' own data",
    mark="calculated",
)
def too_hot(study: Study, say: Say) -> Iterator[Finding]:
    """Channels whose signal exceeds what the least gain can take."""
    for name, levels in study.sound.levels.items():
        g = levels.gain
        if g.reach == "too hot":
            yield say(
                (name.partition(".")[0], f"{name.partition('+')[0]}+"),
                f"{amount(g.input_v, 'V')} reach the input of {name}; its gain ends at {amount(g.high_v, 'V')}.",
                f"Lower the level before {name} by {amount(20.0 * math.log10(g.input_v / g.high_v), 'dB')}.",
            )


@check(
    "E936",
    "Gain set too high",
    "Fix",
    why="Full scale runs far beyond what the amplifier can give: it clips most of the time, and a clipped signal heats "
    "loudspeakers like a test tone does.",
    remedy="Set the gain with a tone and an AC voltmeter, as the gain card says.",
    source=GAIN,
    mark="common practice",
)
def gain_high(study: Study, say: Say) -> Iterator[Finding]:
    """Gains as set that put full scale more than 6 dB beyond full output."""
    for name, levels in study.sound.levels.items():
        g = levels.gain
        if g.as_set_db is not None and g.as_set_v is not None and g.as_set_db > OVER_DB:
            yield say(
                (name.partition(".")[0], f"{name.partition('+')[0]}+"),
                f"Gain of {name} stands at {amount(g.as_set_v, 'V')}; full scale is {amount(g.as_set_db, 'dB')} beyond "
                "full output.",
                f"Set {amount(g.set_v, 'V')} AC at {name} with {num(g.tone_hz)} Hz at {num(g.tone_dbfs)} dBFS.",
            )


@check(
    "E937",
    "Hiss that can be heard",
    "Know",
    why="What is left of noise, times the gain, on a driver of high sensitivity: heard between songs with the engine "
    "off.",
    remedy="More volts from the source and less gain; or a pad before the driver.",
    source="noise of each part, its gain, the driver's sensitivity (calculated); 30 dBA is a quiet evening (from "
    "memory)",
    mark="from memory",
)
def hiss(study: Study, say: Say) -> Iterator[Finding]:
    """One line for the channels whose hiss at 1 m is above a quiet evening."""
    limit = signal.hiss_heard_db()
    loud = [c for c in study.sound.levels.values() if c.hiss_db > limit]
    if loud:
        worst = max(loud, key=lambda c: c.hiss_db)
        yield say(
            tuple(dict.fromkeys(c.hiss_driver for c in loud)),
            f"{worst.hiss_driver} hisses {amount(worst.hiss_db, 'dB')} (A) at 1 m; {num(limit)} is a quiet evening.",
            f"Put a pad before {listing(dict.fromkeys(c.hiss_driver for c in loud))}, or give the amplifier more volts "
            "and less gain.",
            provisional=True,
        )


@check(
    "E938",
    "Floating speaker output tied to ground",
    "Stop",
    why="Both wires of such an output sit at about half the battery's volts. An input that grounds one of them shorts "
    "the output stage through it.",
    remedy="Use a differential input or a level converter; never ground a speaker wire.",
    source="bridged output stages: neither wire is ground (physics); common practice",
    mark="common practice",
)
def grounded(study: Study, say: Say) -> Iterator[Finding]:
    """Floating outputs into speaker-level inputs that are tied to ground."""
    for i in study.sound.speaker_inputs:
        if i.grounded:
            yield say(
                (i.output, i.input),
                f"{i.output} floats, up to {amount(i.volts_v, 'V')}; {i.input} ties 1 of its wires to ground.",
                f"Put a level converter with floating inputs between {i.output} and {i.input}.",
            )


@check(
    "E939",
    "Source that looks for a loudspeaker and finds none",
    "Fix",
    why="It tests its speaker outputs when it starts. Where it finds no load it mutes them, or reports a fault.",
    remedy="Put a resistor across each output in place of the loudspeaker.",
    source="common practice: 47 to 120 ohm",
    mark="common practice",
)
def starved(study: Study, say: Say) -> Iterator[Finding]:
    """Load-sensing outputs with nothing but a speaker-level input on them."""
    for i in study.sound.speaker_inputs:
        if i.starved:
            low, high = i.dummy_ohm
            watts = i.volts_v**2 / low
            yield say(
                (i.output,),
                f"Only {i.input} hangs on {i.output}, which wants a load.",
                f"Put {num(low)} to {num(high)} Ω, {amount(watts, 'W')} or more, across {i.output} and its minus.",
            )


@check(
    "E940",
    "Speaker-level input with one wire",
    "Fix",
    why="A floating output needs both of its wires at the input: with one alone the difference is missing, and the "
    "signal is weak or hums.",
    remedy="Run both wires of the output to both terminals of the input.",
    source="common practice",
    mark="common practice",
)
def half_input(study: Study, say: Say) -> Iterator[Finding]:
    """Speaker-level inputs whose minus does not go back to the output's minus."""
    for i in study.sound.speaker_inputs:
        if i.half is not None:
            yield say(
                (i.output, i.input),
                f"1 of 2 wires from {i.output}: {i.half} does not go to the minus of that output.",
                f"Run a wire from {i.output[:-1]}- to {i.half}; never to ground.",
            )
