"""Speaker-level inputs: what feeds each, whether a wire would be grounded, whether the source misses its load."""

from __future__ import annotations

import math
from dataclasses import dataclass

from loomwright.facts import signal
from loomwright.rig.model import AmplifierSpec, LoadSpec, Rig
from loomwright.sound.levels import signal_of
from loomwright.sound.netlist import conductors_joined, limbs
from loomwright.sound.results import LoadStudy
from loomwright.sound.ways import hops


@dataclass(frozen=True, slots=True)
class SpeakerInput:
    """One speaker output that feeds one speaker-level input.

    ``grounded`` says that the input ties a wire of a floating output to ground: it may destroy the output. ``starved``
    says that the source looks for a loudspeaker and finds none: give it ``dummy_ohm``. ``half`` names the wire of the
    pair that is missing, if one is. ``volts_v`` is the output at full level, r.m.s., ``most_v`` what the input takes.
    """

    output: str
    input: str
    volts_v: float
    most_v: float | None
    grounded: bool
    starved: bool
    half: str | None
    dummy_ohm: tuple[float, float]


def speaker_inputs(rig: Rig, loads: LoadStudy) -> tuple[SpeakerInput, ...]:
    """Every speaker-level input that is fed by a speaker output, in the order of the rig."""
    joined = conductors_joined(limbs(rig))
    found = []
    for hop in hops(rig):
        if hop.level != "speaker":
            continue
        source = signal_of(rig, hop.giver)
        taker = rig.items[hop.taker].part.spec
        floats, most = True, None
        if isinstance(taker, AmplifierSpec):
            floats = taker.speaker_inputs_float
        elif isinstance(taker, LoadSpec) and taker.signal is not None:
            floats = taker.signal.speaker_inputs_float
            most = taker.signal.speaker_input_max_v or signal.usual("speaker_input_max_v")
        minus_out, minus_in = f"{hop.output[:-1]}-", f"{hop.input[:-1]}-"
        wired = minus_in in joined and joined[minus_in] == joined.get(minus_out)
        played = loads.channel(hop.giver, int(hop.output.rpartition("spk")[2].rstrip("+"))).drivers
        found.append(
            SpeakerInput(
                output=hop.output,
                input=hop.input,
                volts_v=math.sqrt((source.speaker_output_w or 20.0) * 4.0),
                most_v=most,
                grounded=source.speaker_outputs_float and not floats,
                starved=source.senses_load and not played,
                half=None if wired else minus_in,
                dummy_ohm=signal.dummy_load_ohm(),
            )
        )
    return tuple(found)
