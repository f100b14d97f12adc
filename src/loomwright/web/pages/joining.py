"""Ways to wire: every series and parallel way to join some drivers to some channels, and how to wire the one picked."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import Response

from loomwright.drawing import join_drawing
from loomwright.errors import UnknownName
from loomwright.papers.cells import Column, table
from loomwright.remedies.rejoin import rejoined
from loomwright.rig.model import Rig
from loomwright.sound.sheet import SoundSheet
from loomwright.sound.wiring_results import Arrangement
from loomwright.web import frames
from loomwright.web.pages.power import drawn
from loomwright.web.pages.saving import AT, Seen, saved
from loomwright.web.pages.sound import VIEWS, Word, chosen, sheet_of
from loomwright.web.view import View, bench_of, page

router = APIRouter()
SHOWN = 24
USUAL_MOST = 4
"""Drivers and channels that are tried without being asked for."""
Names = Annotated[list[str] | None, Query(max_length=32)]


@page(router, "/jobs/{job_id}/{stage}/sound/joining", "sound/joining")
def joining(
    request: Request, job_id: str, stage: str, channel: Word = "", driver: Names = None, on: Names = None,
    n: Annotated[int, Query(ge=1, le=100_000)] = 1,
) -> View:  # fmt: skip
    """Every way to wire the drivers that are ticked, best first, with the reasons against those that are refused."""
    opened = bench_of(request).opened(job_id, stage)
    study = frames.settled(request, opened)
    found = opened.worked.once("sound", sheet_of) if study is not None else None
    outs = channels(study.rig) if study is not None else ()
    drivers, places = tuple(dict.fromkeys(driver or ())), tuple(dict.fromkeys(on or ()))
    if found is not None and not drivers and not places:
        drivers, places = _usual(found, outs, channel)
    places = tuple(p for p in places if p in outs)
    ways = None
    waits = False
    if study is not None and drivers and places:
        if frames.must_wait(request) or opened.worked.ask_ways(drivers, places, opened.by):
            ways = opened.worked.ways(drivers, places)
        else:
            waits = True
    arrangements = ways.arrangements if ways is not None else ()
    number = min(n, len(arrangements))
    picked = arrangements[number - 1] if arrangements else None
    data = {
        "rig": frames.about(opened, study),
        "drivers": drivers,
        "channels": places,
        "picked": picked,
        "choices": ways,
    }
    more: dict[str, Any] = {
        **frames.around(opened, study),
        "views": VIEWS, "waits": waits, "outs": outs, "number": number, "most": SHOWN,
        "best": ways.best if ways else None,
        "known": tuple(i.id for i in study.rig.family("driver")) if study is not None else (),
        "words": said(picked) if picked is not None else "",
        "listed": [(k, a, said(a)) for k, a in enumerate(arrangements, 1) if k <= SHOWN or k == number],
        "drawing": drawn(join_drawing.draw(picked, 150.0)) if picked is not None else "",
        "leads": _leads(picked) if picked is not None else None,
        "shares": _shares(picked) if picked is not None else None,
    }  # fmt: skip
    return View("joining.html", data, more)


@router.post(AT + "/sound/joining/take", tags=["writes"])
def take(
    request: Request, job_id: str, stage: str, based_on: Seen,
    driver: Annotated[list[str], Form(min_length=1, max_length=32)],
    on: Annotated[list[str], Form(min_length=1, max_length=32)], n: Annotated[int, Form(ge=1, le=100_000)],
) -> Response:  # fmt: skip
    """Wire the rig as the picked way says."""
    worked = bench_of(request).opened(job_id, stage).worked
    drivers, places = tuple(dict.fromkeys(driver)), tuple(dict.fromkeys(on))

    def change(text: str) -> str:
        study = worked.study
        if study is None:
            raise UnknownName("no whole rig here. Finish it first.")
        found = worked.ways(drivers, places).arrangements
        if n > len(found):
            raise UnknownName(f"there are {len(found)} ways, no number {n}. Look through them again.")
        return rejoined(text, study.rig, found[n - 1])

    note = f"{', '.join(drivers)} wired another way"
    typed = {"driver": drivers, "on": places, "n": str(n)}
    return saved(request, job_id, stage, based_on, change, note, {"view": "signals"}, typed)


def said(arrangement: Arrangement) -> str:
    """An arrangement in one line; channels that it leaves empty are left out."""
    return "; ".join(f"{c.channel}: {c.words}" for c in arrangement.channels if c.shares)


def channels(rig: Rig) -> tuple[str, ...]:
    """Channels that drivers can be wired to; a bridged pair by its first channel."""
    found = []
    for item in rig.family("amplifier"):
        second = {b for _, b in item.bridged}
        count = getattr(item.part.spec, "channels", 0)
        found += [f"{item.id}.ch{k}" for k in range(1, count + 1) if k not in second]
    return tuple(found)


def _usual(found: SoundSheet, outs: tuple[str, ...], channel: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What hangs on the amplifier of a channel, where that is not much; nothing where there is little to choose."""
    at = chosen(found, channel)
    if at is None:
        return (), ()
    amplifier = at.channel.rpartition(".ch")[0]
    drivers = [d.driver for c in found.channels if c.channel.rpartition(".ch")[0] == amplifier for d in c.drivers]
    places = [o for o in outs if o.rpartition(".ch")[0] == amplifier]
    return tuple(dict.fromkeys(drivers))[:USUAL_MOST], tuple(places[:USUAL_MOST])


def _leads(picked: Arrangement) -> dict[str, Any]:
    leads = [(str(k), lead.start, lead.end) for k, lead in enumerate((x for c in picked.channels for x in c.leads), 1)]
    return table((Column("Lead"), Column("From"), Column("To")), leads)


def _shares(picked: Arrangement) -> dict[str, Any]:
    columns = (
        Column("Driver"), Column("Channel"), Column("Full output", "W", True), Column("Played loud", "W", True),
        Column("Rated", "W", True),
    )  # fmt: skip
    rows = [(s.driver, c.channel, s.full_w, s.loud_w, s.rated_w) for c in picked.channels for s in c.shares]
    return table(columns, rows)
