"""The panel: items on their board, moved by hand with the rules live, or placed by the search; what to drill."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import JSONResponse, Response

from loomwright import answer
from loomwright.drawing import board, pages, svg
from loomwright.errors import InputError, Problem, UnknownName
from loomwright.jobs.errors import Conflict
from loomwright.panel.bodies import all_bodies
from loomwright.panel.free_spot import free_spot
from loomwright.panel.results import Placement, Where
from loomwright.panel.write import moved, written
from loomwright.rig.keys import ItemKeys
from loomwright.study import Study
from loomwright.web import boards, forms, frames
from loomwright.web.pages.saving import AT, Field, Seen
from loomwright.web.pages.tasks import sent
from loomwright.web.service import Opened
from loomwright.web.view import View, bench_of, go, page, quoted, render, settings_of, units_of, wants_page
from loomwright.web.work.pieces import key_of
from loomwright.web.work.placing import Placing
from loomwright.web.work.tasks import Task

router = APIRouter()
Word = Annotated[str, Query(max_length=200)]
Mm = Annotated[float, Query(ge=-5000.0, le=5000.0)]
FormMm = Annotated[float | None, Form(ge=-5000.0, le=5000.0)]
Turn = Annotated[int, Query(ge=0, le=270, multiple_of=90)]
Layer = Annotated[int, Query(ge=1, le=2)]
FormTurn = Annotated[int | None, Form(ge=0, le=270, multiple_of=90)]
FormLayer = Annotated[int | None, Form(ge=1, le=2)]
SPOT = ("at_mm", "turn_deg", "layer", "fixed", "turns")
_GONE = "It may have been taken out: go back to the rig."


@page(router, f"{AT}/panel", "panel")
def panel(
    request: Request, job_id: str, stage: str, panel: Word = "", item: Word = "", layer: Literal["", "1", "2"] = ""
) -> View:
    """A panel to scale: items, leads, rules, what it costs; move, turn, put on spacers, or have it placed."""
    opened = bench_of(request).opened(job_id, stage)
    return panel_view(request, opened, {"panel": panel, "item": item, "layer": layer})


def panel_view(
    request: Request, opened: Opened, chosen: dict[str, str], status: int = 200, **more: Any
) -> View:
    """The page; ``more`` holds what an edit that could not be saved has to say."""
    study = boards.study_of(opened)
    settled = frames.settled(request, opened)
    names = tuple(study.rig.panels) if study is not None else ()
    here = known_panel(study, chosen.get("panel", "")) if study is not None and names else ""
    layout = study.panels.layout(here) if study is not None and here else None
    item = chosen.get("item", "")
    if layout is not None and item and item not in (*(i.id for i in layout.items), *layout.unplaced):
        raise UnknownName(f'no item "{item}" on panel {here}. {_GONE}')
    found = boards.findings(study, here) if study is not None and here else ()
    task = _task(request, opened, here) if here else None
    placement: Placement | None = task.value() if task is not None and task.state == "done" else None
    drawing, scale = boards.drawn(layout, item, int(chosen.get("layer") or 0)) if layout is not None else ("", 1.0)
    data = {
        "rig": frames.about(opened, settled),
        "panels": names,
        "panel": layout.as_data() if layout is not None else None,
        "findings": found,
        "placement": placement,
        "chosen": {k: v for k, v in chosen.items() if v},
    }
    extra = {
        **frames.around(opened, settled),
        "here": here, "layout": layout, "drawing": drawing, "item": item, "layer": chosen.get("layer", ""),
        "board": boards.shown(layout, scale) if layout is not None else {},
        "breakers": boards.breakers(layout) if layout is not None else (),
        "laid": next((i for i in layout.items if i.id == item), None) if layout is not None else None,
        "fields_of": _fields(request, opened, item) if item else (),
        "placing": task.standing if task is not None else None,
        "why": str(task.error) if task is not None and task.state == "failed" else "",
        "refused": (), "conflict": None, "typed": None,
        **more,
    }  # fmt: skip
    return View("panel.html", data, extra, status)


def _fields(request: Request, opened: Opened, item: str) -> tuple[forms.Field, ...]:
    return forms.fields(ItemKeys, SPOT, opened.draft.table("item", item), units_of(request), {})


def known_panel(study: Study, asked: str) -> str:
    """The panel that is asked for, or the first. Raises UnknownName where there is none of that name."""
    names = tuple(study.rig.panels)
    if asked not in names and (asked or not names):
        raise UnknownName(f'no panel "{asked}" in this rig. {_GONE}')
    return asked or names[0]


def _task(request: Request, opened: Opened, name: str) -> Task | None:
    return bench_of(request).tasks.find(key_of(_placing(opened, name)))


def _placing(opened: Opened, name: str) -> Placing:
    return Placing(opened.revision.text, opened.stage, name, opened.own)


def study_in(opened: Opened) -> Study:
    """The study of a rig that is whole. Raises InputError or UnknownName where it is not."""
    study = boards.study_of(opened)
    if study is None:
        if opened.worked.problems:
            raise InputError(opened.worked.problems)
        raise UnknownName("no rig in this stage yet. Begin one on the rig page.")
    return study


def _on(study: Study, name: str, item: str) -> None:
    if item not in (b.id for b in all_bodies(study.rig)[known_panel(study, name)]):
        raise UnknownName(f'no item "{item}" on panel {name}. {_GONE}')


@router.get(f"{AT}/panel/try", tags=["data"])
def attempt(
    request: Request, job_id: str, stage: str, panel: Word, item: Word, x: Mm, y: Mm, turn: Turn = 0, layer: Layer = 1
) -> Response:
    """What a layout with one item elsewhere breaks and costs. Nothing is saved."""
    study = study_in(bench_of(request).opened(job_id, stage))
    _on(study, panel, item)
    found = boards.tried(study.rig, panel, Where(item, (x, y), turn, 2 if layer == 2 else 1))
    return JSONResponse(answer.result("panel_try", found))


@router.post(f"{AT}/panel/move", tags=["writes"])
def move(
    request: Request, job_id: str, stage: str, panel: Field, item: Field, based_on: Seen,
    x: FormMm = None, y: FormMm = None, turn: FormTurn = None, layer: FormLayer = None,
) -> Response:  # fmt: skip
    """Put an item somewhere; what is left out stays. One without a place yet goes where nothing is in its way."""
    opened = bench_of(request).opened(job_id, stage)
    study = study_in(opened)
    _on(study, panel, item)
    spot = study.rig.items[item].spot
    assert spot is not None
    there = Where(item, spot.at_mm, spot.turn_deg, spot.layer or 1) if spot.at_mm is not None else free_spot(
        study.rig.panels[panel], all_bodies(study.rig)[panel], study.panels.layout(panel).items, item
    )  # fmt: skip
    where = Where(
        item,
        (there.at_mm[0] if x is None else round(x, 1), there.at_mm[1] if y is None else round(y, 1)),
        there.turn_deg if turn is None else turn,
        there.layer if layer is None else 2 if layer == 2 else 1,
    )
    return _saved(request, opened, based_on, lambda t: moved(t, study.rig, where), f"Panel {panel}: {item} moved",
                  {"panel": panel, "item": item})  # fmt: skip


@router.post(f"{AT}/panel/item", tags=["writes"])
def set_spot(
    request: Request, job_id: str, stage: str, panel: Field, item: Field, based_on: Seen, at_mm: Field = "",
    turn_deg: Field = "", layer: Field = "", fixed: Annotated[list[str], Form(max_length=4)] = [],  # noqa: B006
    turns: Annotated[list[str], Form(max_length=8)] = [], units: Field = "",  # noqa: B006
) -> Response:  # fmt: skip
    """Change where an item lies, as typed."""
    from loomwright.rig import edit
    from loomwright.web import draft
    from loomwright.web.units import read

    opened = bench_of(request).opened(job_id, stage)
    given: dict[str, str | list[str]] = {
        "at_mm": at_mm, "turn_deg": turn_deg, "layer": layer, "fixed": fixed[-1] if fixed else "", "turns": turns,
    }  # fmt: skip

    def change(text: str) -> str:
        keys = forms.changes(ItemKeys, draft.read(text).table("item", item), given, read(units))
        return edit.set_item(text, item, **keys) if keys else text

    typed = {**given, "units": units}
    return _saved(request, opened, based_on, change, f"Panel {panel}: {item}", {"panel": panel, "item": item}, typed)


@router.post(f"{AT}/panel/place", tags=["writes"])
def place(request: Request, job_id: str, stage: str, panel: Field) -> Response:
    """Have a panel placed; the page shows how far it is."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    name = known_panel(study_in(opened), panel)
    bench.tasks.ask(_placing(opened, name), opened.by, asked=True, again=True)
    return go(f"{opened.url}/panel?panel={quoted(name)}")


@router.post(f"{AT}/panel/stop", tags=["writes"])
def stop(request: Request, job_id: str, stage: str, panel: Field) -> Response:
    """Stop the placing of a panel."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    name = known_panel(study_in(opened), panel)
    bench.tasks.stop(key_of(_placing(opened, name)))
    return go(f"{opened.url}/panel?panel={quoted(name)}")


@router.post(f"{AT}/panel/use", tags=["writes"])
def use(request: Request, job_id: str, stage: str, panel: Field, based_on: Seen) -> Response:
    """Put the items where the search has found them best."""
    opened = bench_of(request).opened(job_id, stage)
    study = study_in(opened)
    name = known_panel(study, panel)
    task = _task(request, opened, name)
    if task is None or task.state != "done":
        raise UnknownName("no places in hand for this panel as it is now. Have it placed again.")
    found: Placement = task.value()
    if not found.spots:
        raise UnknownName("no layout was found for this panel. See what would make it fit.")
    return _saved(request, opened, based_on, lambda t: written(t, study.given, found), f"Panel {name} placed",
                  {"panel": name})  # fmt: skip


@router.get(AT + "/panel/{name}.{ending}", tags=["data"])
def drawing(
    request: Request, job_id: str, stage: str, name: str, ending: Literal["pdf", "svg"], download: bool = False
) -> Response:
    """The drawing of a finished panel, to scale, with what to drill."""
    opened = bench_of(request).opened(job_id, stage)
    study = study_in(opened)
    layout = study.panels.layout(known_panel(study, name))
    size: Any = "A3" if settings_of(request).sheet == "a4" else "Tabloid"
    sheet = board.draw(layout, study.given.title, size, study.given.stage)
    made = svg.render(sheet, embed_font=True).encode() if ending == "svg" else pages.pdf(sheet)
    return sent(made, f"panel_{name}.{ending}", download)


def _saved(
    request: Request, opened: Opened, based_on: int, change: Callable[[str], str], note: str, chosen: dict[str, str],
    typed: dict[str, Any] | None = None,
) -> Response:  # fmt: skip
    """Save an edit; the page with what came of it, or with what stands against it."""
    bench = bench_of(request)
    refused: tuple[Problem, ...] = ()
    conflict: Conflict | None = None
    try:
        bench.edit(opened, based_on, change, note)
    except InputError as error:
        refused = error.problems
    except Conflict as error:
        conflict = error
        opened = bench.opened(opened.job.id, opened.slug)
    if not refused and conflict is None:
        return go(f"{opened.url}/panel?" + "&".join(f"{k}={quoted(v)}" for k, v in chosen.items()))
    if not wants_page(request):
        if conflict is not None:
            raise conflict
        raise InputError(refused)
    view = panel_view(request, opened, chosen, 409 if conflict else 422, refused=refused, conflict=conflict,
                      typed=typed)  # fmt: skip
    return render(request, view.template, {**view.data, **view.more, "page": "panel"}, view.status)
