"""Signal levels, the tone to set a gain with, and how long things take to switch on and off."""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.facts import tables


@dataclass(frozen=True, slots=True)
class Tone:
    """The tone that a gain is set with."""

    name: str
    tone_hz: float
    tone_dbfs: float


def usual(name: str) -> float:
    """A line level or a signal-to-noise figure that is taken where a part states none: ``output_max_v``."""
    return tables.rows("signal", "line")[name].number()


def delay_ms(family: str, step: str) -> float:
    """Time of a step where a part states none [ms]: ``delay_ms("amplifier", "wake")``."""
    family = "source_unit" if family == "source" else family
    return tables.rows("signal", "switching")[family].number(step)


def relay_ms(step: str, *, diode: bool) -> float:
    """Pull-in or drop-out of a relay whose part states none [ms]."""
    return tables.rows("signal", "switching.relay")["diode" if diode else "bare"].number(step)


def tone_for(high_pass_hz: float | None, low_pass_hz: float | None) -> Tone:
    """The tone for a channel, by what it plays; None where no filter bounds it."""
    bounds = tables.rows("signal", "gain.bounds")
    name = "middle"
    if low_pass_hz is not None and low_pass_hz <= bounds["bass_below"].number("frequency_hz"):
        name = "bass"
    elif high_pass_hz is not None and high_pass_hz >= bounds["treble_above"].number("frequency_hz"):
        name = "treble"
    row = tables.rows("signal", "gain")[name]
    return Tone(name, row.number("tone_hz"), row.number("tone_dbfs"))


def dummy_load_ohm() -> tuple[float, float]:
    """Least and most resistance that stands in for a loudspeaker at a load-sensing output [ohm]."""
    found = tables.rows("signal", "speaker_level")
    return found["dummy_low"].number("resistance_ohm"), found["dummy_high"].number("resistance_ohm")


def hiss_heard_db() -> float:
    """Level above which a steady hiss is heard in a quiet place [dBA]."""
    return tables.row("signal", "hiss.heard").number("level_db")
