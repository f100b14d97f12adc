"""Crossover: try a passive crossover before one driver's real load, and see what to buy for it."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request

from loomwright.drawing import figures, response_chart
from loomwright.errors import UnknownName
from loomwright.facts.loudspeakers import SeriesName, least_share
from loomwright.papers.cells import Column, table
from loomwright.sound.crossover import ALIGNMENTS, KINDS, AlignmentName, Corners, CrossoverSheet, Kind, crossover, usual
from loomwright.sound.purchases import Buy
from loomwright.web import frames
from loomwright.web.pages.power import drawn
from loomwright.web.pages.sound import VIEWS, Word, chosen, sheet_of
from loomwright.web.view import View, bench_of, page

router = APIRouter()
SERIES: tuple[SeriesName, ...] = ("E6", "E12", "E24")
Hertz = Annotated[float | None, Query(allow_inf_nan=False)]
_WORDS = {
    "BW1": "1st order, Butterworth", "BW2": "2nd order, Butterworth", "BW3": "3rd order, Butterworth",
    "BW4": "4th order, Butterworth", "LR2": "2nd order, Linkwitz-Riley", "LR4": "4th order, Linkwitz-Riley",
}  # fmt: skip
_UNITS = {"capacitor": ("µF", 1e6), "coil": ("mH", 1e3), "resistor": ("Ω", 1.0)}


@page(router, "/jobs/{job_id}/{stage}/sound/crossover", "sound/crossover")
def crossover_page(
    request: Request, job_id: str, stage: str, channel: Word = "", driver: Word = "", kind: Kind | None = None,
    alignment: AlignmentName | None = None, high_pass_hz: Hertz = None, low_pass_hz: Hertz = None,
    series: SeriesName = "E12", pad_db: Annotated[float, Query(allow_inf_nan=False)] = 0.0,
    zobel: Literal["", "yes"] = "",
) -> View:  # fmt: skip
    """One driver's response with a crossover of parts that are sold, against what was asked for; the parts to buy."""
    opened = bench_of(request).opened(job_id, stage)
    study = frames.settled(request, opened)
    found = opened.worked.once("sound", sheet_of) if study is not None else None
    fed = tuple(d.driver for c in found.channels for d in c.drivers) if found is not None else ()
    if channel and not driver:
        at = chosen(found, channel)
        driver = at.drivers[0].driver if at is not None and at.drivers else ""
    if study is not None and driver and driver not in fed:
        raise UnknownName("no channel drives a driver of that name. Choose one of the list.")
    driver = driver or (fed[0] if fed else "")
    made = None
    if study is not None and driver:
        start = usual(study.rig, study.sound, driver)
        asked = Corners(
            kind or start.kind, alignment or start.alignment, high_pass_hz or start.high_pass_hz,
            low_pass_hz or start.low_pass_hz, series, pad_db, zobel == "yes",
        )  # fmt: skip
        made = crossover(study.rig, study.sound, driver, asked)
    data = {"rig": frames.about(opened, study), "driver": driver or None, "crossover": made}
    more: dict[str, Any] = {
        **frames.around(opened, study),
        "views": VIEWS, "fed": fed, "kinds": KINDS, "alignments": {a: _WORDS[a] for a in ALIGNMENTS},
        "all_series": SERIES,
        "dips": made is not None and made.least_ohm < least_share() * (made.rated_ohm or 0.0),
        "chart": drawn(response_chart.draw(made)) if made is not None else "",
        "window": response_chart.window_pct(),
        "parts_to_buy": to_buy(made) if made is not None else None,
    }  # fmt: skip
    return View("crossover.html", data, more)


def to_buy(made: CrossoverSheet) -> dict[str, Any]:
    """The parts as a shopping list, from the amplifier on."""
    columns = (
        Column("Part"), Column("What"), Column("Where"), Column("Textbook"), Column("Buy rated"),
        Column("Sees", "V", True), Column("Carries", "A", True),
    )  # fmt: skip
    return table(columns, [_row(p) for p in made.parts])


def _row(part: Buy) -> tuple[str | float | None, ...]:
    unit, scale = _UNITS[part.element]
    kind = f"{part.capacitor_type} capacitor" if part.capacitor_type else part.element
    if part.element == "coil":
        rated = f"at most {figures.unit(figures.three(part.dcr_ohm), 'Ω')}"
    elif part.element == "capacitor":
        rated = "none sold so high" if part.rated_v is None else figures.unit(f"{part.rated_v:g}", "V")
    else:
        rated = "none sold so large" if part.rated_w is None else figures.unit(f"{part.rated_w:g}", "W")
    return (
        part.name,
        f"{kind} {figures.unit(f'{part.value * scale:.3g}', unit)}",
        "across" if part.across else "in series",
        figures.unit(figures.three(part.textbook * scale), unit),
        rated,
        part.volts_v,
        part.amps_a,
    )
