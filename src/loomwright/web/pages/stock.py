"""The shop's stock: what is left on the spools, fuses, connectors and other things by count."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import Response

from loomwright.errors import InputError, Problem, UnknownName
from loomwright.facts import conductors, fuses
from loomwright.jobs.errors import Overtaken
from loomwright.jobs.ledger import now
from loomwright.jobs.model import StockLine
from loomwright.jobs.stock import COLOURS, KINDS, MATERIALS, METALS
from loomwright.rig.model import WireStockSpec
from loomwright.rig.words import show
from loomwright.web import catalogues, tables
from loomwright.web.units import Units, read
from loomwright.web.view import View, bench_of, go, page, quoted, render, units_of

router = APIRouter()
AT = "/settings/stock"
Word = Annotated[str, Form(max_length=200)]
Seen = Annotated[int, Form(ge=0, le=2**31)]
Asked = Annotated[str, Query(max_length=80)]
NAMES = {"wire": "Wire", "fuse": "Fuses", "connector": "Connectors", "sheet": "Sheets", "other": "Other things"}
FIELDS = (
    "part", "size", "metal", "insulation_c", "colour", "length_mm", "width_mm", "thickness_mm", "material", "type",
    "rating_a", "count", "note",
)  # fmt: skip
_NUMBERS = {
    "insulation_c": "C", "length_mm": "mm", "width_mm": "mm", "thickness_mm": "mm", "rating_a": "A", "count": "",
}  # fmt: skip


@page(router, AT, "stock")
def stock(request: Request, add: Asked = "", line: Asked = "", part: Asked = "", undo: Asked = "") -> View:
    """The shop's stock; ``add`` and ``line`` open the form for a new line or for one that is there."""
    if add and add not in KINDS:
        raise UnknownName(f"no kind {show(add)} of stock. There are: {', '.join(KINDS)}.")
    bench = bench_of(request)
    shown = units_of(request)
    chosen = bench.store.stock_line(line) if line else _begun(add, part, bench.own_catalogue()) if add else None
    return _view(request, chosen, typed_of(chosen, shown) if chosen else {}, shown, undo=undo)


def _view(
    request: Request, chosen: StockLine | None, typed: dict[str, str], shown: Units, status: int = 200, **more: Any
) -> View:
    bench = bench_of(request)
    found = catalogues.words(bench.own_catalogue())
    families = {"wire": "wire", "connector": "connector"}
    family = families.get(chosen.kind, "") if chosen else ""
    data = {"stock": bench.store.stock(), "kinds": KINDS}
    extra = {
        "chosen": chosen, "typed": typed, "shown": shown, "refused": (), "theirs": None, "undo": "",
        "names": NAMES, "sizes": tables.sizes(), "metals": METALS, "insulations": conductors.INSULATION_C,
        "colours": COLOURS, "materials": MATERIALS, "types": [(t, fuses.title(t)) for t in fuses.types()],
        "known": [p for p, _ in found if family in ("", p.family)],
        **more,
    }  # fmt: skip
    return View("stock.html", data, extra, status)


@router.post(f"{AT}/save", tags=["writes"])
def save(
    request: Request, kind: Word, line: Word = "", number: Seen = 0, part: Word = "", size: Word = "",
    metal: Word = "copper", insulation_c: Word = "", colour: Word = "", length_mm: Word = "", width_mm: Word = "",
    thickness_mm: Word = "", material: Word = "", type: Word = "", rating_a: Word = "", count: Word = "",
    note: Word = "", units: Word = "",
) -> Response:  # fmt: skip
    """Add a line to the stock, or change the one that ``line`` names."""
    typed = dict(zip(FIELDS, (part, size, metal, insulation_c, colour, length_mm, width_mm, thickness_mm, material,
                              type, rating_a, count, note), strict=True))  # fmt: skip
    store, shown = bench_of(request).store, read(units)
    begun = StockLine(line, kind, number, now())  # type: ignore[arg-type]
    try:
        given = _filled(begun, typed, shown)
        kept = store.save_stock(given) if line else store.add_stock(given)
    except InputError as error:
        view = _view(request, _known(begun), typed, shown, 422, refused=error.problems)
    except Overtaken as error:
        view = _view(request, replace(begun, number=error.theirs.number), typed, shown, 409, theirs=error.theirs)
    else:
        return go(f"{AT}?line={quoted(kept.id)}")
    return render(request, view.template, {**view.data, **view.more, "page": "settings"}, view.status)


@router.post(f"{AT}/remove", tags=["writes"])
def remove(request: Request, line: Word) -> Response:
    """Take a line off the list; it can be brought back."""
    bench_of(request).store.remove_stock(line)
    return go(f"{AT}?undo={quoted(line)}")


@router.post(f"{AT}/restore", tags=["writes"])
def restore(request: Request, line: Word) -> Response:
    """Bring a line back."""
    bench_of(request).store.restore_stock(line)
    return go(f"{AT}?line={quoted(line)}")


def typed_of(line: StockLine, shown: Units) -> dict[str, str]:
    """A line as its form shows it."""
    return {key: shown.shown(getattr(line, key), _NUMBERS.get(key, "")) for key in FIELDS}


def _begun(kind: str, part_id: str, own: str) -> StockLine:
    """A new line, with what the catalogue says of a spool."""
    empty = StockLine(
        id="", kind=kind, number=0, at=now(), size="16 AWG", metal="copper", material=MATERIALS[0],  # type: ignore[arg-type]
    )  # fmt: skip
    found = catalogues.usable(own)
    if not part_id or part_id not in found.tables:
        return empty
    spec = found.part(part_id).spec
    if kind == "wire" and isinstance(spec, WireStockSpec):
        return replace(empty, part=part_id, size=spec.size, metal=spec.metal, insulation_c=spec.insulation_c,
                       length_mm=spec.spool_mm)  # fmt: skip
    return replace(empty, part=part_id)


def _filled(begun: StockLine, typed: dict[str, str], shown: Units) -> StockLine:
    """The line with what was typed. Raises InputError where a number is none."""
    problems: list[Problem] = []
    values: dict[str, Any] = dict(typed)
    for key, unit in _NUMBERS.items():
        value = shown.typed(typed[key], unit if unit == "mm" else "")
        if isinstance(value, str):
            problems.append(Problem("stock", key, "a number", show(value), "Type the number alone, without its unit."))
        values[key] = value
    if problems:
        raise InputError(problems)
    return replace(begun, **values)


def _known(begun: StockLine) -> StockLine | None:
    return begun if begun.kind in KINDS else None
