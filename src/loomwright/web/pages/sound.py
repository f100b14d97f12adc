"""Sound: what each channel sees and gives, its levels from the source to the driver, and the gains as volts to set."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request

from loomwright.drawing import figures, impedance_chart, level_diagram
from loomwright.errors import UnknownName
from loomwright.facts.loudspeakers import least_share
from loomwright.facts.spectra import Spectrum
from loomwright.papers.cells import Column, table
from loomwright.rig.words import nearest
from loomwright.sound import sheet
from loomwright.sound.sheet import ChannelSheet, SoundSheet
from loomwright.study import Study
from loomwright.web import frames
from loomwright.web.pages.power import drawn
from loomwright.web.view import View, bench_of, page

router = APIRouter()
Word = Annotated[str, Query(max_length=300)]
VIEWS = (
    ("sound", "Loads and levels"), ("sound/crossover", "Crossover"), ("sound/joining", "Ways to wire"),
    ("sound/switching", "Switching"),
)  # fmt: skip
_SPECTRA: tuple[Spectrum, ...] = ("pink", "dense", "speech")


@page(router, "/jobs/{job_id}/{stage}/sound", "sound")
def sound(request: Request, job_id: str, stage: str, channel: Word = "") -> View:
    """The load of one channel, its levels and its gain; every channel and driver as tables."""
    opened = bench_of(request).opened(job_id, stage)
    study = frames.settled(request, opened)
    found = opened.worked.once("sound", sheet_of) if study is not None else None
    shown = chosen(found, channel)
    data = {
        "rig": frames.about(opened, study),
        "channel": shown.channel if shown is not None else None,
        "sound": found,
    }
    more: dict[str, Any] = {
        **frames.around(opened, study),
        "views": VIEWS,
        "shown": shown,
        "charts": (),
        "dips": shown is not None and dips(shown),
        "names": tuple(c.channel for c in found.channels) if found is not None else (),
    }
    if found is not None and shown is not None:
        more["charts"] = opened.worked.once(f"sound of {shown.channel}", lambda _: _charts(found, shown))
        more |= opened.worked.once("sound tables", lambda _: _tables(found)) or {}
    return View("sound.html", data, more)


def sheet_of(study: Study) -> SoundSheet:
    """The sound of a study as plain numbers."""
    return sheet.sheet(study.sound, study.rig)


def chosen(found: SoundSheet | None, channel: str) -> ChannelSheet | None:
    """The channel that is asked for, else the first; None where there is none.

    Raises
    ------
    UnknownName
        Where there is no such channel.
    """
    if found is None:
        return None
    names = [c.channel for c in found.channels]
    if channel and channel not in names:
        near = nearest(channel, names)
        hint = "Choose one of the list." if near is None else f"The nearest is {near}."
        raise UnknownName(f"no channel of that name. {hint}")
    return next((c for c in found.channels if channel in ("", c.channel)), None)


def dips(channel: ChannelSheet) -> bool:
    """Whether the real load falls lower than the amplifier stands."""
    if channel.least_ohm is None or channel.rated_ohm is None:
        return False
    return channel.least_ohm < least_share() * channel.rated_ohm


def _charts(found: SoundSheet, shown: ChannelSheet) -> list[tuple[str, str]]:
    load = impedance_chart.draw(shown, found.frequency_hz, 150.0, 50.0)
    charts = [("The load, as it is", drawn(load))] if load is not None else []
    if shown.levels is not None:
        charts.append(("Levels, point to point", drawn(level_diagram.draw(shown.levels, 150.0))))
    return charts


def _tables(found: SoundSheet) -> dict[str, Any]:
    drivers = [(c, d) for c in found.channels for d in c.drivers]
    return {
        "loads": table(
            (Column("Channel"), Column("Drivers"), Column("Nominal", "Ω", True), Column("Least", "Ω", True),
             Column("at", "Hz", True), Column("Rated", "Ω", True), Column("Gives", "W", True),
             Column("Clips at", "V", True), Column("Gain to", "V", True)),
            [(c.channel, ", ".join(d.driver for d in c.drivers) or "; ".join(c.flags), c.nominal_ohm, c.least_ohm,
              c.least_at_hz, c.rated_ohm, c.credible_w, c.clip_v, c.levels.gain.set_v if c.levels else None)
             for c in found.channels],
        ),
        "speakers": table(
            (Column("Driver"), Column("Channel"), Column("Rated", "W", True),
             *(Column(s.capitalize(), "W", True) for s in _SPECTRA),
             Column("Safe from", "Hz", True), Column("Limiter", "V", True), Column("Known by")),
            [(d.driver, c.channel, d.rated_w, *(d.watts_w.get(s) for s in _SPECTRA), d.subsonic_hz, d.limiter_v,
              d.basis + (", reversed" if d.reversed else "")) for c, d in drivers],
        ),
        "loud": table(
            (Column("Programme"), Column("Level", "dB(A)", True), Column("from", "dB(A)", True),
             Column("to", "dB(A)", True), Column("NIOSH time a day")),
            [(x.programme, x.level_dba, x.low_dba, x.high_dba, figures.seconds(3600.0 * x.exposure_h))
             for x in found.loudness],
        ),
    }  # fmt: skip
