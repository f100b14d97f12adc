"""The sound in tables: loads, output, drivers, crossovers, speaker wire, levels, loudness, switching."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from loomwright.drawing.figures import NOTHING, band_hz, fixed, seconds, three, unit
from loomwright.facts.spectra import Spectrum
from loomwright.papers.cells import Column, Value, table
from loomwright.sound.sheet import ChannelSheet, DriverSheet, SoundSheet
from loomwright.sound.speaker_level import SpeakerInput
from loomwright.sound.switching_results import Thump, Timeline

_PROGRAMMES: tuple[Spectrum, ...] = ("pink", "dense", "speech")


def loads(sound: SoundSheet) -> dict[str, Any]:
    """What each channel sees, and what there is to say about its wiring."""
    columns = [
        Column("Channel", strong=True), Column("Nominal", "Ω", True), Column("Rated for", "Ω", True),
        Column("Least", "Ω", True), Column("at", "Hz", True), Column("Drivers", share=1.0),
    ]  # fmt: skip
    rows: list[list[Value]] = [
        [c.channel, c.nominal_ohm, c.rated_ohm, c.least_ohm, c.least_at_hz,
         ", ".join(d.driver for d in c.drivers) or NOTHING] for c in sound.channels
    ]  # fmt: skip
    if any(c.flags for c in sound.channels):
        columns.append(Column("Remarks", share=1.4))
        rows = [[*row, "; ".join(c.flags)] for row, c in zip(rows, sound.channels, strict=True)]
    return table(columns, rows)


def outputs(sound: SoundSheet) -> dict[str, Any]:
    """What each channel gives: as claimed, as credible, into the real load, at the volts that were found."""
    columns = (
        Column("Channel", strong=True), Column("Claimed", "W", True), Column("Credible", "W", True),
        Column("Real load", "W", True), Column("Engine off", "W", True), Column("Idle", "W", True),
        Column("Clips at", "V", True), Column("Plays", "Hz", share=1.0),
    )  # fmt: skip
    return table(columns, [
        [
            c.channel, c.claimed_w, c.credible_w, c.real_w, c.watts_w.get("off"), c.watts_w.get("idle"), c.clip_v,
            band_hz(c.high_pass_hz, c.low_pass_hz),
        ]
        for c in sound.channels
    ])  # fmt: skip


def claims(sound: SoundSheet) -> list[str]:
    """Claimed outputs that the supply cannot feed, with the arithmetic."""
    return [
        f"{c.item} claims {unit(three(c.claimed_w), 'W')}; "
        + (
            f"{unit(three(c.amps_a), 'A')} × {unit(three(c.volts_v), 'V')} × {three(c.efficiency)}"
            if c.amps_a is not None
            else f"{c.outputs} × ({unit(three(c.volts_v), 'V')})² / 2 / R"
        )
        + f" = {unit(three(c.limit_w), 'W')}."
        for c in sound.claims
        if c.limit_w < c.claimed_w
    ]


def drivers(sound: SoundSheet) -> dict[str, Any]:
    """What each driver gets of each programme, and what it stands."""
    columns = (
        Column("Driver", share=1.0, strong=True), Column("Channel", share=1.0), Column("Data"),
        Column("Rated", "W", True), Column("Pink", "W", True), Column("Dense", "W", True), Column("Speech", "W", True),
        Column("Safe from", "Hz", True), Column("Limiter", "V", True), Column("Limiter", "W", True),
    )  # fmt: skip
    return table(columns, [
        [d.driver, c.channel, _basis(d), d.rated_w, *(d.watts_w.get(p) for p in _PROGRAMMES), d.subsonic_hz,
         d.limiter_v, d.limiter_w] for c in sound.channels for d in c.drivers
    ])  # fmt: skip


def _basis(driver: DriverSheet) -> str:
    words = "nominal only" if driver.basis == "nominal" else driver.basis
    return f"{words}, reversed" if driver.reversed else words


def crossovers(sound: SoundSheet) -> dict[str, Any]:
    """What passive parts do to each driver, against the textbook."""
    columns = (
        Column("Driver", share=1.0, strong=True), Column("Channel", share=1.0), Column("−3 dB", "Hz"),
        Column("Textbook", "Hz"), Column("Peak", "dB", True), Column("at", "Hz", True),
        Column("Level change", "dB", True),
    )  # fmt: skip
    return table(columns, [
        [r.item, c.channel, ", ".join(three(x.frequency_hz) for x in r.crossings) or NOTHING,
         ", ".join(three(x.frequency_hz) for x in r.textbook), fixed(r.peak_db, 1), r.peak_at_hz,
         fixed(r.level_change_db, 1)]
        for c in sound.channels for r in c.responses if r.filtered
    ])  # fmt: skip


def stresses(sound: SoundSheet) -> dict[str, Any]:
    """What passive parts must stand with the channel at full output."""
    columns = (
        Column("Part", share=1.0, strong=True), Column("Channel", share=1.0), Column("Element"),
        Column("Volts", "V", True), Column("at", "Hz", True), Column("Current", "A", True), Column("at", "Hz", True),
        Column("Heat, tone", "W", True), Column("Heat, dense", "W", True),
    )  # fmt: skip
    return table(columns, [
        [s.item, c.channel, s.element, s.volts_v, s.volts_at_hz, s.amps_a, s.amps_at_hz, s.tone_w or None,
         s.programme_w or None]
        for c in sound.channels for s in c.stresses
    ])  # fmt: skip


def leads(sound: SoundSheet) -> dict[str, Any]:
    """Loss and damping of each run of speaker wire."""
    columns = (
        Column("Driver", share=1.0, strong=True), Column("Wires", share=1.4), Column("Loop", "mm", True),
        Column("Loop", "mΩ", True), Column("Loss", "dB", True), Column("Damping", "", True), Column("Enough"),
    )  # fmt: skip
    return table(columns, [
        [x.driver, ", ".join(x.wires), f"{x.length_mm:.0f}", 1000.0 * x.loop_ohm, f"{x.loss_db:.2f}",
         x.damping, (x.enough or "none does") + (" (more than useful)" if x.thicker_than_useful else "")]
        for x in sound.leads
    ])  # fmt: skip


def levels(groups: Sequence[Sequence[ChannelSheet]]) -> dict[str, Any]:
    """Every point from source to driver with the source at full scale; channels that are alike by their first."""
    columns = (
        Column("Channel", strong=True), Column("Point", share=1.0), Column("Peak", "V", True),
        Column("Clips at", "V", True), Column("Margin", "dB", True), Column("Noise", "µV", True),
    )  # fmt: skip
    rows: list[list[Value]] = []
    for group in groups:
        first = group[0]
        for n, p in enumerate(first.levels.points if first.levels else ()):
            margin = None if p.margin_db is None else fixed(p.margin_db, 1)
            rows.append(["" if n else first.channel, p.place, p.peak_v, p.clip_v, margin, 1e6 * p.noise_v])
    return table(columns, rows)


def speaker_input(found: SpeakerInput) -> str:
    """What to know about one speaker output that feeds an input, in a sentence or two."""
    words = f"{found.output} feeds {found.input} with up to {unit(three(found.volts_v), 'V')} r.m.s."
    if found.most_v is not None:
        words += f"; the input takes {unit(three(found.most_v), 'V')}."
    else:
        words += "."
    if found.grounded:
        words += " The input ties a wire of a floating output to ground: do not connect it; fit an isolating converter."
    if found.half is not None:
        words += f" Its other wire is missing: {found.half}."
    if found.starved:
        low, high = found.dummy_ohm
        words += f" The source looks for a loudspeaker: give it {low:g} to {unit(f'{high:g}', 'Ω')}."
    return words


def steps(sound: SoundSheet) -> dict[str, Any]:
    """The order in which everything is set."""
    columns = (Column("", "", True), Column("Where", strong=True), Column("Do this", share=1.0))
    return table(columns, [[str(s.number), s.item, s.text] for s in sound.steps])


def loudness(sound: SoundSheet) -> dict[str, Any]:
    """Level at the listening place, how sure it is, how long it may be stood."""
    columns = (
        Column("Programme", strong=True), Column("Level", "dB(A)", True), Column("from", "dB(A)", True),
        Column("to", "dB(A)", True), Column("Level", "dB", True), Column("NIOSH time a day"),
        Column("at the upper bound"),
    )  # fmt: skip
    return table(columns, [
        [x.programme, f"{x.level_dba:.0f}", f"{x.low_dba:.0f}", f"{x.high_dba:.0f}", f"{x.level_db:.0f}",
         seconds(3600.0 * x.exposure_h), seconds(3600.0 * x.exposure_at_high_h)] for x in sound.loudness
    ])  # fmt: skip


def budgets(sound: SoundSheet) -> dict[str, Any]:
    """What each remote output has to give."""
    columns = (
        Column("Output", strong=True), Column("Gives", "mA", True), Column("May give", "mA", True),
        Column("To", share=1.0), Column("Verdict"),
    )  # fmt: skip
    return table(columns, [
        [b.item, f"{b.total_ma:.0f}", f"{b.limit_ma:.0f}",
         ", ".join(f"{item} {unit(f'{ma:g}', 'mA')}" for item, ma in b.draws_ma)
         + "".join(f"; coil of {r} has no diode" for r in b.bare_coils), "too much" if b.over else "in order"]
        for b in sound.budgets
    ])  # fmt: skip


def events(timeline: Timeline) -> dict[str, Any]:
    """What happens after one turn of the key."""
    columns = (
        Column("Time", "ms", True), Column("Item", strong=True), Column("What", share=1.0), Column("By", share=1.0)
    )  # fmt: skip
    return table(columns, [[f"{e.time_ms:.0f}", e.item, e.what, e.cause] for e in timeline.events])


def thumps(timeline: Timeline) -> list[dict[str, str]]:
    """Where it will thump, and what to do."""
    return [_thump(t) for t in timeline.thumps] or [{"head": "No thump", "text": "is to be expected."}]


def _thump(thump: Thump) -> dict[str, str]:
    until = "on" if math.isinf(thump.to_ms) else f"to {unit(f'{thump.to_ms:.0f}', 'ms')}"
    begin = "the start" if math.isinf(thump.from_ms) else unit(f"{thump.from_ms:.0f}", "ms")
    sure = "" if thump.stated else " Some of the delays are only the customary ones: measure."
    text = f"from {begin} {until}, by {thump.culprit}. {thump.remedy}{sure}"
    return {"head": f"Thump: {thump.amplifier},", "text": text}
