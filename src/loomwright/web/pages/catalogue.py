"""The catalogue: the built-in parts, and the shop's own, kept in the store as one TOML text."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any

import tomlkit
from fastapi import APIRouter, Form, Query, Request, UploadFile
from fastapi.responses import Response

from loomwright.errors import InputError, Problem, UnknownName
from loomwright.jobs.errors import Conflict
from loomwright.jobs.model import Revision
from loomwright.jobs.shop import CATALOGUE_FILE
from loomwright.rig import lines
from loomwright.rig.words import show
from loomwright.web import catalogues
from loomwright.web.view import View, bench_of, go, page, render

router = APIRouter()
AT = "/settings/catalogue"
MOST_SHOWN = 60
MOST_LETTERS = 1_000_000
Word = Annotated[str, Query(max_length=200)]
Seen = Annotated[int, Form(ge=0, le=2**31)]
_FIRST = "format = 1\n"


@page(router, AT, "catalogue")
def catalogue(request: Request, find: Word = "", copy: Word = "", saved: bool = False) -> View:
    """Parts to choose from, and the shop's own as text; ``copy`` puts a part at its end to begin with."""
    standing = bench_of(request).store.shop_text("catalogue")
    text = with_copy(standing.text, copy) if copy else standing.text
    return _view(standing, text, find, saved=saved, copied=copy)


def _view(standing: Revision, typed: str, find: str = "", status: int = 200, **more: Any) -> View:
    own = set(catalogues.own_ids(standing.text))
    found = catalogues.search(standing.text, find)
    rows = [{"id": p.id, "title": p.title, "family": p.family, "own": p.id in own, "demo": p.demo} for p in found]
    data = {
        "find": find,
        "catalogue": rows,
        "own": {"number": standing.number, "text": standing.text, "parts": sorted(own)},
    }
    extra = {"typed": typed, "refused": (), "conflict": None, "saved": False, "copied": "",
             "rows": rows, "most": MOST_SHOWN, **more}  # fmt: skip
    return View("catalogue.html", data, {**extra, "can_undo": standing.number > 0}, status)


@router.get("/settings/catalogue.toml", tags=["data"])
def own_file(request: Request) -> Response:
    """The shop's own catalogue as a file."""
    text = bench_of(request).store.shop_text("catalogue").text
    headers = {"content-disposition": 'attachment; filename="catalogue.toml"'}
    return Response(text.encode(), media_type="application/toml", headers=headers)


@router.post(AT, tags=["writes"])
def save(
    request: Request, based_on: Seen, text: Annotated[str, Form(max_length=MOST_LETTERS)] = ""
) -> Response:
    """Keep the shop's own catalogue, if every part in it can be used."""
    return _saved(request, text.replace("\r\n", "\n"), based_on)


@router.post(f"{AT}/file", tags=["writes"])
def upload(request: Request, based_on: Seen, file: UploadFile) -> Response:
    """Take the shop's own catalogue from a file, in place of what it was."""
    content = file.file.read(MOST_LETTERS + 1)
    try:
        if len(content) > MOST_LETTERS:
            raise _unfit(f"at most {MOST_LETTERS // 1_000_000} MB", "more", "Split it, or take out what is not used.")
        text = content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise _unfit("text in UTF-8", f"another byte in line {line}", "Save the file as UTF-8.") from None
    return _saved(request, text, based_on)


@router.post(f"{AT}/undo", tags=["writes"])
def undo(request: Request, based_on: Seen) -> Response:
    """Put back the catalogue before the current one."""
    bench_of(request).store.undo_shop("catalogue", based_on)
    return go(f"{AT}?saved=true")


def _saved(request: Request, text: str, based_on: int) -> Response:
    store = bench_of(request).store
    try:
        store.save_catalogue(text, based_on)
    except InputError as error:
        view = _view(store.shop_text("catalogue"), text, status=422, refused=with_lines(error.problems, text))
    except Conflict as conflict:
        view = _view(conflict.theirs, text, status=409, conflict=conflict)
    else:
        return go(f"{AT}?saved=true")
    return render(request, view.template, {**view.data, **view.more, "page": "settings"}, view.status)


def with_lines(problems: tuple[Problem, ...], text: str) -> tuple[Problem, ...]:
    """Problems of a catalogue with the line of the text that each is about."""
    known = lines.places(text)
    out = []
    for problem in problems:
        line = lines.line_of(problem.place, known)
        out.append(problem if line is None else replace(problem, place=f"line {line}, {problem.place}"))
    return tuple(out)


def with_copy(text: str, part_id: str) -> str:
    """The text with a copy of a part at its end, under a name of its own: something to begin with.

    Raises
    ------
    UnknownName
        Where the catalogue has no such part.
    """
    found = catalogues.usable(text)
    if part_id not in found.tables:
        raise UnknownName(f"no part {show(part_id)} in the catalogue. Search for it by other words.")
    names = (f"own_{part_id}", *(f"own_{part_id}_{n}" for n in range(2, len(found.tables) + 3)))
    name = next(n for n in names if n not in found.tables)
    table = tomlkit.table()
    for key, value in found.tables[part_id][0].items():
        table[key] = value
    whole = tomlkit.document()
    whole["part"] = tomlkit.table(is_super_table=True)
    whole["part"].append(name, table)
    return f"{text or _FIRST}\n{tomlkit.dumps(whole)}"


def _unfit(expected: str, received: str, remedy: str) -> InputError:
    return InputError([Problem(CATALOGUE_FILE, "file", expected, received, remedy)])
