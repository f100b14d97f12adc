"""The gain card: one page for each amplifier, to take to the vehicle and write on."""

from __future__ import annotations

from typing import Any

from loomwright.drawing.figures import NOTHING, band_hz, three, unit
from loomwright.papers.cautions import Caution
from loomwright.papers.order import Content, Order
from loomwright.papers.paper import heading
from loomwright.papers.sound_tables import speaker_input
from loomwright.rig.model import Item
from loomwright.sound.levels import Gain
from loomwright.sound.sheet import ChannelSheet, SoundSheet, sheet

CAUTIONS = (
    Caution(
        "Hearing.",
        "Loudspeakers off for every tone here. Volume down before they go on again; wear protection at full output.",
    ),
    Caution(
        "Never ground an output.",
        "Most speaker outputs float: neither terminal may touch the frame, a line shield or a grounded instrument. "
        "Use a battery-fed voltmeter between the two terminals named here.",
    ),
    Caution(
        "Live work.",
        "Fuses in, wires covered, battery held by its charger, engine out of doors. Shift and mend only with the "
        "battery isolated.",
    ),
    Caution(
        "Volts that can be felt.",
        "Bridged and large amplifiers give tens of volts. Hold the probes by their grips; no rings.",
    ),
)
METER = (
    "A voltmeter set to AC, true r.m.s. and good to 5 kHz; many cheap ones are right only near 50 Hz: compare yours at "
    "1 kHz first. A meter on DC shows nothing."
)
DEFER = (
    "The amplifier's own manual comes first. The figures are worked out from the rig file: measure before you rely on "
    "them."
)


def part(order: Order) -> Content | None:
    """A card for each amplifier; None where no channel has a gain to set."""
    study = order.study
    sound = sheet(study.sound, study.rig)
    amplifiers = dict.fromkeys(c.channel.partition(".")[0] for c in sound.channels if c.levels)
    if not amplifiers:
        return None
    head = heading(study, order.findings)
    return Content({
        **{key: head[key] for key in ("demo", "verdict", "counts")},
        "cards": [_card(study.rig.items[name], sound) for name in amplifiers],
        "cautions": [{"head": c.head, "text": c.text} for c in CAUTIONS], "meter": METER, "defer": DEFER,
    })  # fmt: skip


def _card(amplifier: Item, sound: SoundSheet) -> dict[str, Any]:
    mine = [c for c in sound.channels if c.levels and c.channel.partition(".")[0] == amplifier.id]
    numbers = {s.item: s.number for s in sound.steps}
    tuned = {c.channel for c in sound.channels if c.levels}
    before = [s for s in sound.steps[:-1] if s.item not in tuned]
    mine.sort(key=lambda c: numbers[c.channel])
    return {
        "amplifier": amplifier.id,
        "part": amplifier.part.title + (" (invented)" if amplifier.part.demo else ""),
        "place": amplifier.place,
        "before": [{"number": s.number, "item": "everywhere" if n == 0 else s.item, "text": s.text}
                   for n, s in enumerate(before)],
        "after": {"number": sound.steps[-1].number, "text": sound.steps[-1].text},
        "gains": [_gain(c, c.levels.gain, numbers[c.channel]) for c in mine if c.levels],
        "limits": [_limits(c) for c in mine],
        "inputs": [speaker_input(i) for i in sound.speaker_inputs if i.input.partition(".")[0] == amplifier.id],
    }  # fmt: skip


def _gain(channel: ChannelSheet, gain: Gain, number: int) -> dict[str, Any]:
    return {
        "number": number, "channel": channel.channel, "plus": channel.plus.partition(".")[2],
        "minus": channel.minus.partition(".")[2], "tone_hz": f"{gain.tone_hz:g}",
        "tone_dbfs": f"{gain.tone_dbfs:g}".replace("-", "−"), "set_v": three(gain.set_v), "note": _note(gain),
        "drivers": ", ".join(d.driver for d in channel.drivers),
    }  # fmt: skip


def _note(gain: Gain) -> str:
    """What bounds the gain, where it then stands, and what to do where its range does not hold that."""
    held = "the amplifier's full output" if gain.held_by == "the amplifier" else f"what {gain.held_by} takes"
    words = f"Bounded by {held}; the gain then stands at {unit(three(gain.input_v), 'V')} in for full output."
    if gain.reach == "too weak":
        words += f" Out of reach: fully up it gives {unit(three(gain.most_set_v), 'V')}. Leave it there."
    elif gain.reach == "too hot":
        words += (
            f" Out of reach: at its least it gives {unit(three(gain.least_set_v), 'V')} already. Turn the output "
            "before it down until it gives the figure."
        )
    return words


def _limits(channel: ChannelSheet) -> dict[str, Any]:
    """Filters and limiter of one channel: as the rig has them, and as its drivers ask for."""
    held = [d for d in channel.drivers if d.limiter_v is not None and d.limiter_w is not None]
    least = min(held, key=lambda d: d.limiter_v or 0.0, default=None)
    low = max((d.subsonic_hz for d in channel.drivers if d.subsonic_hz is not None), default=None)
    beyond = max((d.excursion_ratio or 0.0 for d in channel.drivers), default=0.0)
    return {
        "channel": channel.channel,
        "plays": band_hz(channel.high_pass_hz, channel.low_pass_hz),
        "safe": "any frequency" if low is None else f"from {unit(three(low), 'Hz')}",
        "unknown": all(d.excursion_v is None for d in channel.drivers),
        "beyond": three(beyond) if beyond > 1.0 else "",
        "limiter": "none needed" if least is None
        else f"{unit(three(least.limiter_v or 0.0), 'V')} r.m.s., {unit(three(least.limiter_w or 0.0), 'W')}",
        "for": NOTHING if least is None else least.driver,
    }  # fmt: skip
