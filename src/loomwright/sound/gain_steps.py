"""The order in which to set everything, step by step: a card to print."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from loomwright.facts import signal
from loomwright.rig.model import Rig
from loomwright.sound.levels import ChannelLevels, signal_of
from loomwright.sound.signal_path import Chain

FIRST = (
    "System off, then every loudspeaker lead off, its end capped. System on. All gains to their least; equaliser, "
    "loudness and filters flat; engine as it will run."
)
LAST = "Volume down, power off, loudspeakers on again, filters and limiters as designed before any music."


@dataclass(frozen=True, slots=True)
class Step:
    """One step of setting the gains, in order."""

    number: int
    item: str
    text: str


def orders(chains: tuple[Chain, ...]) -> dict[str, int]:
    """Place of each channel in the order of setting: bass, then the middle, then treble; as the rig names them."""
    rank = {"bass": 0, "middle": 1, "treble": 2}
    named = [(rank[signal.tone_for(c.high_pass_hz, c.low_pass_hz).name], n, c.channel) for n, c in enumerate(chains)]
    return {channel: k for k, (_, _, channel) in enumerate(sorted(named), 1)}


def steps(rig: Rig, found: tuple[ChannelLevels, ...]) -> tuple[Step, ...]:
    """The order to set everything in: source first, then what follows it, then the amplifiers from bass to treble."""
    return tuple(Step(n, item, text) for n, (item, text) in enumerate(_words(rig, found), 1)) if found else ()


def _words(rig: Rig, found: tuple[ChannelLevels, ...]) -> Iterator[tuple[str, str]]:
    first = found[0].channel.partition(".")[0]
    yield first, FIRST
    for source in rig.family("source"):
        volts = signal_of(rig, source.id).output_max_v or signal.usual("output_max_v")
        text = (
            "Play a tone of 1 kHz at 0 dBFS and set the volume to the highest that stays clean, at most "
            f"{volts:.3g} V AC at a line output. Mark it; no one turns it further."
        )
        yield source.id, text
    for processor in rig.family("processor"):
        most = signal_of(rig, processor.id).input_max_v or signal.usual("processor_input_max_v")
        yield processor.id, f"With the same tone, set its input so that it does not clip: {most:.3g} V at most."
    for c in sorted(found, key=lambda c: c.gain.order):
        g = c.gain
        level = f"{g.tone_dbfs:g}".replace("-", "\u2212")
        tone = f"Tone of {g.tone_hz:g} Hz at {level} dBFS"
        yield c.channel, f"{tone}: turn the gain up to {g.set_v:.3g} V AC at its terminals."
    yield first, LAST
