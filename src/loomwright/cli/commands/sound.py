"""``sound``: loads, output, gains, loudness, the order of switching; and ways to wire loudspeakers."""

from __future__ import annotations

from collections.abc import Sequence
from math import isinf
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console

from loomwright.cli import answer, service
from loomwright.cli.commands import check
from loomwright.cli.commands._options import AsJson, RigFile
from loomwright.cli.names import no_such
from loomwright.cli.numbers import column, seconds
from loomwright.cli.terminal import cell, console, heading, note, put, table, waiting
from loomwright.drawing.figures import MINUS, NOTHING, band_hz, three

if TYPE_CHECKING:
    from loomwright.sound.sheet import ChannelSheet, SoundSheet
    from loomwright.sound.switching_results import Timeline
    from loomwright.sound.tolerance import Spread
    from loomwright.sound.wiring_results import WiringChoices
    from loomwright.study import Study

NAME = "sound"
SHOWN = 12

Channel = Annotated[
    str | None, typer.Option("--channel", help="Only this channel, with more of it: amp.ch1.", show_default=False)
]
Try = Annotated[
    list[str] | None,
    typer.Option("--try", help="Wire these drivers every possible way; once for each.", show_default=False),
]
On = Annotated[
    list[str] | None, typer.Option("--on", help="To these channels: amp.ch1; once for each.", show_default=False)
]


def command(rig: RigFile, channel: Channel = None, try_: Try = None, on: On = None, as_json: AsJson = False) -> int:
    """What each channel sees and gives, gains in volts, loudness, and the order of switching on and off.

    With --try and --on: every way to wire some drivers to some channels, best first.
    """
    study = service.open_study(rig)
    if try_ or on:
        return _choices(study, try_ or [], on or [], as_json)
    from loomwright.sound.sheet import sheet

    with waiting("Working out the sound"):
        found = sheet(study.sound, study.rig)
    names = [c.channel for c in found.channels]
    if channel is not None and channel not in names:
        raise no_such("--channel", "channel", channel, names)
    shown = [c for c in found.channels if channel in (None, c.channel)]
    if as_json:
        data: dict[str, object] = (
            {"sound": found} if channel is None else {"channel": shown[0], "spread": spread(study, shown[0])}
        )
        answer.give(NAME, {"rig": check.summary(study.given), **data})
        return 0
    out = console()
    check.title(out, study.given)
    loads(out, shown)
    drivers(out, shown)
    if channel is None:
        claims(out, found)
        leads(out, found)
        gains(out, found)
        loudness(out, found)
        remotes(out, found)
        for timeline in (found.switching.on, found.switching.off):
            switching(out, timeline)
    else:
        levels(out, shown[0])
        crossovers(out, shown[0])
        stresses(out, shown[0])
        strays(out, spread(study, shown[0]))
    return 0


def loads(on: Console, channels: Sequence[ChannelSheet]) -> None:
    """What each channel sees, and what it gives."""
    heading(on, "What each channel sees")
    made = table("Channel", "nominal Ω", "least Ω", "at Hz", "drivers", left=("Channel", "drivers"), fold=("drivers",))
    columns = (
        column(c.nominal_ohm for c in channels),
        column(c.least_ohm for c in channels),
        [NOTHING if c.least_at_hz is None else three(c.least_at_hz) for c in channels],
    )
    for k, c in enumerate(channels):
        names = ", ".join(d.driver for d in c.drivers) or "; ".join(c.flags)
        made.add_row(cell(c.channel), *(cell(x[k]) for x in columns), cell(names))
    put(on, made)
    heading(on, "What each channel gives")
    made = table("Channel", "clips at V", "W", "idle W", "plays Hz", left=("Channel", "plays Hz"))
    columns = (
        column(c.clip_v for c in channels),
        column(c.credible_w for c in channels),
        column(c.watts_w.get("idle") for c in channels),
    )
    for k, c in enumerate(channels):
        made.add_row(cell(c.channel), *(cell(x[k]) for x in columns), cell(band_hz(c.high_pass_hz, c.low_pass_hz)))
    put(on, made)
    note(on, "W: credible full output at rated volts; idle W: at the volts found with the engine idle, played loud.")


def drivers(on: Console, channels: Sequence[ChannelSheet]) -> None:
    """What each driver gets of each programme, and what it stands."""
    rows = [(c, d) for c in channels for d in c.drivers]
    if not rows:
        return
    heading(on, "Drivers")
    made = table(
        "Driver", "rated W", "pink W", "dense W", "speech W", "safe from Hz", "limit V", "", left=("Driver", ""),
        fold=("Driver",),
    )  # fmt: skip
    columns = (
        column(d.rated_w for _, d in rows),
        *(column(d.watts_w.get(s) for _, d in rows) for s in ("pink", "dense", "speech")),
        [NOTHING if d.subsonic_hz is None else three(d.subsonic_hz) for _, d in rows],
        column(d.limiter_v for _, d in rows),
    )
    for k, (_, d) in enumerate(rows):
        remark = "nominal only" if d.basis == "nominal" else "reversed" if d.reversed else ""
        hot = "bold red" if max(d.watts_w.values(), default=0.0) > d.rated_w else ""
        made.add_row(cell(d.driver), *(cell(x[k], hot) for x in columns), cell(remark))
    put(on, made)
    note(on, "Programme just beyond clipping, filtered as the rig says, averaged over seconds. Safe from: full output "
             "moves no cone beyond its linear way above this.")  # fmt: skip


def claims(on: Console, found: SoundSheet) -> None:
    """Claims that the supply cannot feed, with the arithmetic."""
    weak = [c for c in found.claims if c.limit_w < c.claimed_w]
    for c in weak:
        how = f"{three(c.amps_a)} A x {three(c.volts_v)} V x {three(c.efficiency)}" if c.amps_a else "V²/2/R"
        note(on, f"{c.item} claims {three(c.claimed_w)} W; {how} = {three(c.limit_w)} W.")


def leads(on: Console, found: SoundSheet) -> None:
    """Loss and damping of the speaker wire."""
    if not found.leads:
        return
    heading(on, "Speaker wire")
    made = table("Driver", "loop mΩ", "loss dB", "damping", "enough", left=("Driver", "enough"), fold=("Driver",))
    columns = (
        column(1000.0 * x.loop_ohm for x in found.leads),
        [f"{x.loss_db:.2f}" for x in found.leads],
        column(x.damping for x in found.leads),
    )
    for k, x in enumerate(found.leads):
        more = ", more than useful" if x.thicker_than_useful else ""
        made.add_row(cell(x.driver), *(cell(c[k]) for c in columns), cell((x.enough or "none does") + more))
    put(on, made)
    note(on, "Enough: the smallest size that keeps the loss under 0.2 dB, which is unheard.")


def gains(on: Console, found: SoundSheet) -> None:
    """The gain card."""
    if not found.steps:
        return
    heading(on, "Gains, in this order")
    made = table("", "what", "do this", left=("what", "do this"), fold=("what", "do this"))
    for step in found.steps:
        made.add_row(cell(str(step.number)), cell(step.item), cell(step.text))
    put(on, made)


def loudness(on: Console, found: SoundSheet) -> None:
    """Level at the listening place."""
    if not found.loudness:
        return
    heading(on, f"Level at {three(found.loudness[0].distance_m)} m")
    made = table("Programme", "dB(A)", "from", "to", "dB", "NIOSH time a day", left=("Programme", "NIOSH time a day"))
    for x in found.loudness:
        made.add_row(
            cell(x.programme), cell(three(x.level_dba)), cell(three(x.low_dba)), cell(three(x.high_dba)),
            cell(three(x.level_db)), cell(seconds(3600.0 * x.exposure_h)),
        )  # fmt: skip
    put(on, made)
    for caution in found.cautions:
        note(on, caution)


def remotes(on: Console, found: SoundSheet) -> None:
    """What each remote output has to give."""
    if not found.budgets:
        return
    heading(on, "Remote outputs")
    made = table("Output", "gives mA", "of mA", "to", left=("Output", "to"), fold=("Output", "to"))
    for b in found.budgets:
        style = "bold red" if b.over else ""
        fed = ", ".join(f"{i} {ma:g}" for i, ma in b.draws_ma)
        made.add_row(cell(b.item), cell(three(b.total_ma), style), cell(three(b.limit_ma)), cell(fed))
    put(on, made)


def switching(on: Console, timeline: Timeline) -> None:
    """What happens after one turn of the key."""
    if not timeline.events:
        return
    heading(on, f"Switched {timeline.turn}")
    made = table("ms", "item", "what", "by", left=("item", "what", "by"), fold=("item", "by"))
    for e in timeline.events:
        made.add_row(cell(f"{e.time_ms:g}"), cell(e.item), cell(e.what), cell(e.cause))
    put(on, made)
    for t in timeline.thumps:
        until = "on" if isinf(t.to_ms) else f"to {t.to_ms:g} ms"
        note(on, f"Thump: {t.amplifier}, from {t.from_ms:g} ms {until}, by {t.culprit}. {t.remedy}")
    if not timeline.thumps:
        note(on, "No thump.")


def levels(on: Console, channel: ChannelSheet) -> None:
    """The level diagram of one channel."""
    if channel.levels is None:
        return
    heading(on, "Levels, source at full scale")
    made = table("Place", "peak V", "clips at V", "margin dB", "noise µV", left=("Place",), fold=("Place",))
    points = channel.levels.points
    columns = (
        column(p.peak_v for p in points),
        column(p.clip_v for p in points),
        column(p.margin_db for p in points),
        column(1e6 * p.noise_v for p in points),
    )
    for k, p in enumerate(points):
        made.add_row(cell(p.place), *(cell(x[k]) for x in columns))
    put(on, made)
    g = channel.levels.gain
    words = (
        f"Gain: {three(g.set_v)} V AC with {g.tone_hz:g} Hz at {_db(g.tone_dbfs)} dBFS, loudspeakers off; {g.reach}."
    )
    note(on, f"{words} Bounded by {g.held_by}.")


def _db(value: float) -> str:
    return f"{value:g}".replace("-", MINUS)


def crossovers(on: Console, channel: ChannelSheet) -> None:
    """What passive parts do to each driver of one channel."""
    rows = [r for r in channel.responses if r.filtered]
    if not rows:
        return
    heading(on, "Passive crossover")
    made = table("Driver", "-3 dB Hz", "textbook Hz", "peak dB", "level dB", left=("Driver", "-3 dB Hz", "textbook Hz"))
    for r in rows:
        real = ", ".join(three(c.frequency_hz) for c in r.crossings) or NOTHING
        book = ", ".join(three(c.frequency_hz) for c in r.textbook)
        made.add_row(cell(r.item), cell(real), cell(book), cell(three(r.peak_db)), cell(three(r.level_change_db)))
    put(on, made)


def stresses(on: Console, channel: ChannelSheet) -> None:
    """What the parts of a passive crossover must stand at full output."""
    if not channel.stresses:
        return
    heading(on, "Crossover parts at full output")
    made = table("Part", "element", "volts V", "at Hz", "amps A", "at Hz ", "dense W", left=("Part", "element"))
    rows = channel.stresses
    columns = (
        column(s.volts_v for s in rows), [three(s.volts_at_hz) for s in rows],
        column(s.amps_a for s in rows), [three(s.amps_at_hz) for s in rows],
        column(s.programme_w or None for s in rows),
    )  # fmt: skip
    for k, s in enumerate(rows):
        made.add_row(cell(s.item), cell(s.element), *(cell(x[k]) for x in columns))
    put(on, made)


def spread(study: Study, channel: ChannelSheet) -> Spread | None:
    """How far a passive crossover may be off; None where there is none."""
    from loomwright.sound.tolerance import study_tolerance

    if not any(r.filtered for r in channel.responses):
        return None
    item, _, number = channel.channel.partition(".ch")
    with waiting("Drawing parts"):
        bands = study_tolerance(study.rig, item, int(number.partition("+")[0]))
    return bands.spread() if bands is not None else None


def strays(on: Console, found: Spread | None) -> None:
    """A passive crossover over many draws of its parts and voice coils."""
    if found is None:
        return
    heading(on, f"If parts and voice coils stray, {found.draws} draws")
    made = table("What", *(f"{100 * q:g} %" for q in found.quantiles), left=("What",), fold=("What",))
    made.add_row(cell("least load, Ω"), *(cell(three(z)) for z in found.least_ohm))
    for name, rises_hz in found.rises_hz.items():
        made.add_row(cell(f"{name}, rises through {_db(-3.0)} dB, Hz"), *(cell(three(f)) for f in rises_hz))
    put(on, made)


def _choices(study: Study, drivers: list[str], channels: list[str], as_json: bool) -> int:
    from loomwright.rig.model import AmplifierSpec, DriverSpec
    from loomwright.sound.wiring_choices import choices

    rig = study.rig
    known = [i.id for i in rig.items.values() if isinstance(i.part.spec, DriverSpec)]
    outs = []
    for i in rig.items.values():
        if isinstance(i.part.spec, AmplifierSpec):
            second = {b for _, b in i.bridged}
            outs += [f"{i.id}.ch{n}" for n in range(1, i.part.spec.channels + 1) if n not in second]
    for name in drivers or [""]:
        if name not in known:
            raise no_such("--try", "driver", name, known)
    for name in channels or [""]:
        if name not in outs:
            raise no_such("--on", "channel", name, outs)
    places = [(c.rpartition(".ch")[0], int(c.rpartition(".ch")[2])) for c in dict.fromkeys(channels)]
    with waiting("Looking through the ways"):
        found = choices(rig, tuple(dict.fromkeys(drivers)), places)
    if as_json:
        answer.give(NAME, {"rig": check.summary(study.given), "choices": found})
        return 0
    out = console()
    check.title(out, study.given)
    show_choices(out, found)
    return 0


def show_choices(on: Console, found: WiringChoices) -> None:
    """The best ways, how to wire the first, and why the others are out."""
    heading(on, f"{len(found.arrangements)} ways to wire {len(found.drivers)} drivers, best first")
    made = table("", "way", "Ω", "dB apart", "", left=("way", ""), fold=("way", ""))
    for n, a in enumerate(found.arrangements[:SHOWN], 1):
        ohms = ", ".join(NOTHING if c.nominal_ohm is None else three(c.nominal_ohm) for c in a.channels)
        words = "; ".join(a.refused or a.remarks) or "fine"
        style = "bold red" if a.refused else ""
        made.add_row(cell(str(n)), cell(a.words), cell(ohms), cell(three(a.balance_db)), cell(words, style))
    put(on, made)
    if len(found.arrangements) > SHOWN:
        note(on, f"{len(found.arrangements) - SHOWN} more with --json.")
    if found.best is None:
        note(on, "None of them is fit to use.")
        return
    heading(on, "Wire the best one so")
    wires = table("from", "to", left=("from", "to"), fold=("from", "to"))
    for c in found.best.channels:
        for lead in c.leads:
            wires.add_row(cell(lead.start), cell(lead.end))
    put(on, wires)
