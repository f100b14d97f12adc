"""The outline of a panel from photographs of its cardboard template: traced, mended by hand, written into the rig."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Form, Query, Request, UploadFile
from fastapi.responses import Response

from loomwright.errors import InputError, Problem, UnknownName
from loomwright.jobs.errors import Conflict
from loomwright.jobs.images import MAX_BYTES, SMALL_PX
from loomwright.jobs.model import Photo
from loomwright.rig import edit_panels
from loomwright.rig.edit import Value
from loomwright.rig.words import show
from loomwright.trace.allowances import Allowances, SawSide
from loomwright.web import draft, frames
from loomwright.web.lengths import length_mm
from loomwright.web.outlines import OnPhoto, allowed
from loomwright.web.pages.saving import AT, Field, Seen
from loomwright.web.pages.tasks import sent
from loomwright.web.service import Bench, Opened
from loomwright.web.units import Units, number, read
from loomwright.web.view import View, bench_of, go, page, quoted, render, settings_of, wants_page
from loomwright.web.work.pieces import key_of
from loomwright.web.work.tasks import Standing
from loomwright.web.work.tracing import Shot, Tracing

router = APIRouter()
Word = Annotated[str, Query(max_length=200)]
Thick = Annotated[float, Query(ge=0.0, le=60.0)]
FormThick = Annotated[float, Form(ge=0.0, le=60.0)]
Bar = Annotated[float | None, Query(ge=50.0, le=400.0)]
Typed = Annotated[str, Form(max_length=20)]
Saw = Annotated[SawSide, Form()]
Rows = Annotated[list[str], Form(max_length=400)]
BAR_MM, LEFT_MM, CARD_MM, MOST_MM = (50.0, 400.0), (0.0, 500.0), (0.0, 60.0), 1e5
"""Least and most of a check bar, of what is left for covering, air and blade, of the card; no corner lies beyond."""
MOST_SHOTS = 6
"""Photographs of one board."""
More = Annotated[list[str], Query(max_length=MOST_SHOTS - 1)]
FormMore = Annotated[list[str], Form(max_length=MOST_SHOTS - 1)]
USUAL_THICKNESS_MM = 4.0


@page(router, f"{AT}/panel/outline", "panel/outline")
def outline(
    request: Request, job_id: str, stage: str, panel: Word = "", photo: Word = "",
    also: More = [], thickness: Thick = USUAL_THICKNESS_MM, across: Bar = None, down: Bar = None,  # noqa: B006
) -> View:  # fmt: skip
    """The board on a photograph: its corners to drag, its error, and what to do where it cannot be trusted.

    ``also`` are further photographs of the same board, which overlap. Without ``panel`` it is the first of the rig.
    """
    opened = bench_of(request).opened(job_id, stage)
    name = panel or next(iter(_panels(opened)), "")
    return outline_view(request, opened, name, [photo, *also], thickness, across, down)


def outline_view(
    request: Request, opened: Opened, panel: str, photos: list[str], thickness: float, across: float | None,
    down: float | None, status: int = 200, **more: Any,
) -> View:  # fmt: skip
    """The page; ``more`` holds what could not be saved."""
    bench = bench_of(request)
    name = _panel(opened, panel)
    pictures = [_picture(bench, opened, photo) for photo in photos if photo]
    found: OnPhoto | None = None
    refused: tuple[Problem, ...] = ()
    standing: Standing | None = None
    why = ""
    if pictures:
        task = bench.tasks.ask(_tracing(bench, pictures, thickness, across, down), opened.by, asked=True)
        if frames.must_wait(request) or status != 200:
            task.finished.wait()
        standing = task.standing
        if isinstance(task.error, InputError):
            refused = task.error.problems
        elif standing.state == "done":
            found = task.value()
        elif not standing.live:
            why = str(task.error)
    data = {
        "rig": frames.about(opened, None), "panel": name, "photo": pictures[0] if pictures else None,
        "also": pictures[1:], "outline": found,
        "thickness_mm": thickness, "across_mm": across, "down_mm": down,
    }  # fmt: skip
    extra = {**frames.around(opened, frames.settled(request, opened)), "refused": refused, "conflict": None,
             "tracing": standing, "why": why, "small_px": SMALL_PX, "most_shots": MOST_SHOTS, **more}  # fmt: skip
    return View("outline.html", data, extra, status)


@router.post(f"{AT}/panel/photo", tags=["writes"])
def add_photo(
    request: Request, job_id: str, stage: str, file: list[UploadFile], panel: Field, thickness: Typed,
    photo: Field = "", also: FormMore = [], join: Field = "", across: Typed = "", down: Typed = "",  # noqa: B006
) -> Response:  # fmt: skip
    """Keep photographs of the template, and trace the board on them; with ``join``, on those before them too."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    name = _panel(opened, panel)
    before = [p for p in (photo, *also) if p] if join else []
    contents = [c for f in file if (c := f.file.read(MAX_BYTES + 1))]
    if not contents or len(before) + len(contents) > MOST_SHOTS:
        expected = f"1 to {MOST_SHOTS} photographs of one board"
        received = str(len(before) + len(contents)) if contents else "nothing"
        problem = Problem("photograph", "file", expected, received, "Choose or take the photographs that show it best.")
        raise InputError([problem])
    bars, thick = _bars(across, down), length_mm("photograph", "thickness of the card", thickness, CARD_MM)
    place = str(opened.draft.table("panel", name).get("place", ""))
    kept = [bench.store.add_photo(opened.job.id, place, c, f"Template of {name}").id for c in contents]
    return go(_address(opened, name, [*before, *kept], thick, bars))


@router.post(f"{AT}/panel/tracing", tags=["writes"])
def tracing(
    request: Request, job_id: str, stage: str, panel: Field, photo: Field, act: Literal["stop", "again"] = Form(),
    also: FormMore = [], thickness: FormThick = USUAL_THICKNESS_MM, across: Typed = "", down: Typed = "",  # noqa: B006
) -> Response:  # fmt: skip
    """Stop the tracing of photographs, or begin it again."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    name = _panel(opened, panel)
    bars = _bars(across, down)
    pictures = [_picture(bench, opened, p) for p in (photo, *also)]
    piece = _tracing(bench, pictures, thickness, bars[0], bars[1])
    if act == "stop":
        bench.tasks.stop(key_of(piece))
    else:
        bench.tasks.ask(piece, opened.by, asked=True, again=True)
    return go(_address(opened, name, [photo, *also], thickness, bars))


@router.post(f"{AT}/panel/outline", tags=["writes"])
def save(
    request: Request, job_id: str, stage: str, panel: Field, based_on: Seen, x: Rows, y: Rows, bulge: Rows = [],  # noqa: B006
    hole: Rows = [], photo: Field = "", also: FormMore = [], thickness: FormThick = USUAL_THICKNESS_MM,  # noqa: B006
    across: Typed = "", down: Typed = "", covering: Typed = "", clearance: Typed = "", saw: Saw = "waste",
    kerf: Typed = "", units: Typed = "",
) -> Response:  # fmt: skip
    """Write the corners into the rig; the size that the panel had is taken out."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    name = _panel(opened, panel)
    refused: tuple[Problem, ...] = ()
    conflict: Conflict | None = None
    asked = {"covering": covering, "clearance": clearance, "kerf": kerf}
    read_in = read(units)
    try:
        corners = _corners(x, y, bulge, read_in)
        holes = [[round(_number("hole", v), 1) for v in row.split()] for row in hole]
        left = {k: length_mm("outline", k, v, LEFT_MM, read_in) if v.strip() else 0.0 for k, v in asked.items()}
        corners, holes = allowed(corners, holes, Allowances(left["covering"], left["clearance"], saw, left["kerf"]))

        def change(text: str) -> str:
            was = draft.read(text).table("panel", name)
            keys: dict[str, Value | None] = {
                "corners_mm": corners, "width_mm": None, "height_mm": None, "outline_file": None,
                "holes_mm": holes or None,
            }  # fmt: skip
            entry = was.get("entry_mm")
            wide, high = (max(c[k] for c in corners) - min(c[k] for c in corners) for k in (0, 1))
            if isinstance(entry, list) and len(entry) == 2 and (entry[0] > wide or entry[1] > high):
                keys["entry_mm"] = None
            return edit_panels.set_panel(text, name, keys)

        bench.edit(opened, based_on, change, f"Panel {name}: outline from a photograph")
    except InputError as error:
        refused = error.problems
    except Conflict as error:
        conflict = error
    if not refused and conflict is None:
        return go(f"{opened.url}/panel?panel={quoted(name)}")
    if not wants_page(request):
        if conflict is not None:
            raise conflict
        raise InputError(refused)
    bars = _bars(across, down)
    view = outline_view(request, bench.opened(job_id, stage), name, [photo, *also], thickness, bars[0], bars[1],
                        409 if conflict else 422, refused=refused, conflict=conflict, typed=(x, y),
                        asked={**asked, "saw": saw})  # fmt: skip
    return render(request, view.template, {**view.data, **view.more, "page": "panel/outline"}, view.status)


@router.get(f"{AT}/panel/marker_sheets.pdf", tags=["data"])
def sheets(request: Request, job_id: str, stage: str) -> Response:
    """Marker sheets to print and lay on the template."""
    from loomwright.papers import marker_sheets

    bench_of(request).opened(job_id, stage)
    paper = settings_of(request).sheet
    return sent(marker_sheets.pdf(paper), f"marker_sheets_{paper}.pdf", download=False)


def _picture(bench: Bench, opened: Opened, photo: str) -> Photo:
    picture = bench.store.photo(photo)
    if picture.id not in (p.id for p in bench.store.photos(opened.job.id)):
        raise UnknownName("no such photograph in this job. Take it again.")
    return picture


def _tracing(
    bench: Bench, pictures: list[Photo], thickness: float, across: float | None, down: float | None
) -> Tracing:
    bars = (across, down) if across is not None and down is not None else None
    names = [p.caption or "photograph" for p in pictures]
    if len(names) > 1:
        names = [f"{name}, photograph {n}" for n, name in enumerate(names, 1)]
    shots = (Shot(name, p.sha256, bench.store.photo_file(p)) for name, p in zip(names, pictures, strict=True))
    return Tracing(tuple(shots), thickness, bars)


def _address(opened: Opened, panel: str, photos: list[str], thickness: float, bars: list[float | None]) -> str:
    """Where the board is looked at on these photographs."""
    also = "".join(f"&also={quoted(p)}" for p in photos[1:])
    more = "".join(f"&{k}={v:g}" for k, v in zip(("across", "down"), bars, strict=True) if v is not None)
    asked = f"panel={quoted(panel)}&photo={quoted(photos[0])}{also}&thickness={thickness:g}{more}"
    return f"{opened.url}/panel/outline?{asked}"


def _panels(opened: Opened) -> list[str]:
    found = opened.draft.raw.get("panel", {})
    return [str(n) for n in found] if isinstance(found, dict) else []


def _panel(opened: Opened, asked: str) -> str:
    names = _panels(opened)
    if asked in names:
        return asked
    known = f"Its panels: {', '.join(names[:8])}." if names else "Add one on the page Rig first."
    raise UnknownName(f"no panel {show(asked)} in this rig. {known}" if asked else f"no panel in this rig. {known}")


def _bars(across: str, down: str) -> list[float | None]:
    return [_bar(k, v) if v.strip() else None for k, v in (("across", across), ("down", down))]


def _bar(name: str, value: str) -> float:
    return length_mm("marker sheet", name, value, BAR_MM, decimals=1, remedy="Measure the check bar with a rule.")


def _number(name: str, value: str) -> float:
    made = number(value)
    if not isinstance(made, int | float) or not abs(made) < MOST_MM:
        raise InputError([Problem("outline", name, "a number", value[:40], "Open the page again.")])
    return round(float(made), 6)


def _corners(x: list[str], y: list[str], bulge: list[str], units: Units) -> list[list[float]]:
    if len(x) != len(y) or len(x) < 2 or len(bulge) not in (0, len(x)):
        received = f"{len(x)} across, {len(y)} down"
        problem = Problem("outline", "corners", "two figures for each corner", received, "Open the page again.")
        raise InputError([problem])
    out = []
    for k, (a, b) in enumerate(zip(x, y, strict=True)):
        sides = ((f"corner {k + 1} across", a), (f"corner {k + 1} down", b))
        row = [length_mm("outline", name, typed, (-MOST_MM, MOST_MM), units, decimals=1) for name, typed in sides]
        if bulge and (round_by := _number(f"corner {k + 1} bulge", bulge[k] or "0")):
            row.append(round_by)
        out.append(row)
    return out
