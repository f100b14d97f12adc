"""The list that a job is drafted from, as a page shows it and as the store keeps it.

What was typed is kept as it was typed, sound or not: a number that is none stays a text, and the draft says so.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, get_args

import tomlkit
from starlette.datastructures import FormData

from loomwright.draft import equipment, short
from loomwright.draft.equipment import EquipmentList
from loomwright.draft.wishes import WishKeys
from loomwright.errors import InputError, LoomwrightError, Problem
from loomwright.rig.catalogue import Catalogue
from loomwright.rig.keys import Hazard, LimitKeys, VehicleKeys
from loomwright.rig.read import tables
from loomwright.web import catalogues, drives, forms
from loomwright.web.drives import DriveShown
from loomwright.web.forms import Field
from loomwright.web.units import Units

Table = Mapping[str, Any]
FLAGS = (("comes_off", "comes off"), ("wet", "wet"), ("engine_space", "engine space"))
HAZARDS: tuple[str, ...] = get_args(Hazard)
ABOUT = (
    ("vehicle", VehicleKeys, ("kind", "crank_a", "idle_rpm", "cruise_rpm")),
    ("limits", LimitKeys, ("session_h", "session_engine", "session_programme", "drop_v")),
    ("wishes", WishKeys, ("min_amp_v", "engine", "programme", "budget", "stock", "returns", "metal", "block_places",
                            "wrong_fuse_sizes")),
)
"""The tables of the list that have fields of their own on the page."""
NO_WIRE = "none"
"""What is typed where no wire of the rig that is there has to keep its size."""
SPARE_ROWS, LEAST_ROWS = 3, 8
MOST_CHOICES = 24
KEPT = 16
_LINE = 200
_ROW = re.compile(r"equipment\[(\d+)\]\.")


@dataclass(frozen=True, slots=True)
class RowShown:
    """A row: what was typed, the title of its part, and the parts to choose from where it is open."""

    many: str
    what: str
    where: str
    title: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    unknown: bool = False


@dataclass(frozen=True, slots=True)
class WayShown:
    """How far it is from one place to another."""

    ends: tuple[str, str]
    length: str
    hazards: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlaceShown:
    """What is known of a place."""

    name: str
    temperature: str
    flags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Shown:
    """The list as the page shows it."""

    base: str
    keep: str
    comes_off: str
    rows: tuple[RowShown, ...]
    ways: tuple[WayShown, ...]
    places: tuple[PlaceShown, ...]
    fields: Mapping[str, tuple[Field, ...]]
    drives: tuple[DriveShown, ...]


def empty(title: str) -> str:
    """A list with nothing in it."""
    return tomlkit.dumps({"format": 1, "title": title, "ambient_c": 30})


def shown(text: str, base: str, catalogue: Catalogue, units: Units) -> Shown:
    """The list of a text. ``base`` is the text of the rig that it begins with, empty where there is none."""
    data = tables_of(text)
    wishes = _table(data, "wishes")
    rows = tuple(_row(r, catalogue) for r in _rows(data, "equipment"))
    blank = max(SPARE_ROWS, LEAST_ROWS - len(rows))
    keep = wishes.get("keep")
    return Shown(
        base=str(data.get("base", "")),
        keep="" if keep is None else ", ".join(map(str, keep)) or NO_WIRE,
        comes_off=", ".join(map(str, wishes.get("comes_off", ()))),
        rows=(*rows, *(RowShown("", "", "") for _ in range(blank))),
        ways=_ways(data, base, units),
        places=tuple(
            PlaceShown(name, units.shown(table.get("temperature_c"), "C"),
                       tuple(k for k, _ in FLAGS if table.get(k) is True))
            for name in _place_names(data) for table in (_table(_table(data, "place"), name),)
        ),
        fields={k: forms.fields(m, names, _table(data, k), units, {}) for k, m, names in ABOUT},
        drives=drives.shown(tables_of(whole(text, base)), wishes.get("drives"), catalogue),
    )  # fmt: skip


def _row(table: Table, catalogue: Catalogue) -> RowShown:
    words = str(table.get("what", ""))
    try:
        found = short.matching(catalogue, words)
    except LoomwrightError:
        found = ()
    title = found[0].title if len(found) == 1 else ""
    choices = tuple((p.id, p.title) for p in found[:MOST_CHOICES]) if len(found) > 1 else ()
    return RowShown(str(table.get("many", 1)), words, str(table.get("where", "")), title, choices,
                    bool(words) and not found)  # fmt: skip


def _ways(data: Table, base: str, units: Units) -> tuple[WayShown, ...]:
    """The ways of the list, and one to be measured for each place that none leads to."""
    made = []
    for run in _rows(data, "run"):
        a, b = _ends(run)
        hazards = tuple(h for h in run.get("hazards", ()) if isinstance(h, str))
        made.append(WayShown((a, b), units.shown(run.get("length_mm"), "mm"), hazards))
    joined = [*(w.ends for w in made), *(_ends(r) for r in _rows(tables_of(base), "run"))]
    names = [*_place_names(data), *(n for ends in joined for n in ends)]
    root = _root(data, names)
    reached = _reached(root, joined)
    for name in dict.fromkeys(names):
        if name not in reached:
            made.append(WayShown((root, name), "", ()))
            joined.append((root, name))
            reached = _reached(root, joined)
    return tuple(made)


def _root(data: Table, names: Sequence[str]) -> str:
    """The place that others are measured from: where the first battery goes, else the first place."""
    battery = next((r for r in _rows(data, "equipment") if _is_battery(str(r.get("what", "")))), {})
    return str(battery.get("where", "")) or next(iter(names), "")


def _is_battery(words: str) -> bool:
    return words.casefold().replace("_", " ").startswith(("battery", "agm", "flooded", "gel", "lfp"))


def _reached(root: str, ways: Iterable[tuple[str, str]]) -> set[str]:
    found, waiting = {root}, [root]
    listed = list(ways)
    while waiting:
        at = waiting.pop()
        for a, b in listed:
            for here, there in ((a, b), (b, a)):
                if here == at and there not in found:
                    found.add(there)
                    waiting.append(there)
    return found


def _place_names(data: Table) -> list[str]:
    """Every place that the list speaks of, in the order in which it does."""
    named = [str(r.get("where", "")) for r in _rows(data, "equipment")]
    named += [n for r in _rows(data, "run") for n in _ends(r)]
    return [n for n in dict.fromkeys([*named, *_table(data, "place")]) if n]


def filled(text: str, form: FormData, units: Units) -> str:
    """The text of a list as a filled-in form has it. ``text`` gives what the form does not ask for."""
    was = tables_of(text)
    data: dict[str, Any] = {k: was[k] for k in ("format", "title", "ambient_c") if k in was}
    data["base"] = _typed(form, "base")
    rows = _filled_rows(form)
    for name, model, _ in ABOUT:
        data[name] = _filled_table(_table(was, name), model, name, form, units)
    data["wishes"] |= _filled_wishes(form)
    ways = _filled_ways(form, units, {r["where"] for r in rows})
    data |= {"place": _filled_places(form, units), "run": ways, "equipment": rows}
    return tomlkit.dumps({k: v for k, v in data.items() if v not in ("", {}, [])})


def _filled_table(was: Table, model: Any, name: str, form: FormData, units: Units) -> dict[str, Any]:
    known = next(names for k, _, names in ABOUT if k == name)
    given = {k: _typed(form, f"{name}.{k}") for k in known if f"{name}.{k}" in form}
    changed = forms.changes(model, was, given, units)
    kept = {k: v for k, v in was.items() if k in given and k not in changed}
    return kept | {k: v for k, v in changed.items() if v is not None}


def _filled_wishes(form: FormData) -> dict[str, Any]:
    keep, off = _typed(form, "keep"), _typed(form, "comes_off")
    made: dict[str, Any] = {}
    if keep:
        made["keep"] = [] if keep.casefold() == NO_WIRE else _names(keep)
    if off:
        made["comes_off"] = [_place(n) for n in _names(off)]
    if found := drives.filled(_all(form, "driver"), _all(form, "driven_by")):
        made["drives"] = found
    return made


def _filled_rows(form: FormData) -> list[dict[str, Any]]:
    made = []
    columns = [_all(form, k) for k in ("many", "what", "pick", "where")]
    for many, what, pick, where in zip(*columns, strict=False):
        if what or where:
            made.append({"what": pick or what, "many": _number(many or "1"), "where": _place(where)})
    return made[: short.MOST_ROWS]


def _filled_ways(form: FormData, units: Units, used: set[str]) -> list[dict[str, Any]]:
    made = []
    hazards = _ticked(form, "hazards")
    columns = [_all(form, k) for k in ("way_from", "way_to", "way_length")]
    for n, (a, b, length) in enumerate(zip(*columns, strict=False)):
        ends = [_place(a), _place(b)]
        value = units.typed(length, "mm")
        run: dict[str, Any] = {"between": ends}
        if value is not None:
            run["length_mm"] = value
        elif not set(ends) <= used and not hazards.get(n):
            continue
        if hazards.get(n):
            run["hazards"] = hazards[n]
        if all(ends):
            made.append(run)
    return made


def _filled_places(form: FormData, units: Units) -> dict[str, Any]:
    made = {}
    flags = _ticked(form, "flags")
    for n, (name, typed) in enumerate(zip(_all(form, "place"), _all(form, "place_c"), strict=False)):
        value = units.typed(typed, "C")
        table: dict[str, Any] = {} if value is None else {"temperature_c": value}
        table |= dict.fromkeys(flags.get(n, ()), True)
        if table and name:
            made[_place(name)] = table
    return made


def _ticked(form: FormData, key: str) -> dict[int, list[str]]:
    """Ticks by the number of their row: each is sent as ``3:hot``."""
    found: dict[int, list[str]] = {}
    for value in _all(form, key):
        number, _, word = value.partition(":")
        if number.isdigit() and word:
            found.setdefault(int(number), []).append(word)
    return found


def whole(text: str, base: str) -> str:
    """The equipment list as a draft takes it: laid over the rig that is there, with every place that it speaks of."""
    data = {k: v for k, v in tables_of(text).items() if k != "base"}
    places = _table(data, "place")
    ends = dict.fromkeys(n for r in _rows(data, "run") for n in _ends(r) if n)
    data["place"] = {**{n: {} for n in ends}, **places}
    listed = tomlkit.dumps({k: v for k, v in data.items() if v not in ({}, [])})
    return short.onto(listed, base) if base else listed


@lru_cache(KEPT)
def read(text: str, base: str, own: str) -> tuple[EquipmentList | None, tuple[Problem, ...]]:
    """The list as a draft reads it, with the shop's own catalogue; or why it cannot be drafted yet. Read once."""
    open_ways = [n for n, r in enumerate(_rows(tables_of(text), "run"), 1) if "length_mm" not in r]
    problems = tuple(
        Problem("list", f"way {n}", "", "", f"Measure the way from {a} to {b}.")
        for n in open_ways for a, b in (_ends(_rows(tables_of(text), "run")[n - 1]),)
    )  # fmt: skip
    try:
        found = equipment.parse(_measured(whole(text, base)), "list", catalogues.usable(own))
    except InputError as error:
        return None, (*(_by_row(p) for p in error.problems), *problems)
    return (None, problems) if problems else (found, ())


def _measured(text: str) -> str:
    """The list with a length on each way that has none yet, to see what else is to be done."""
    data = tables_of(text)
    if all("length_mm" in r for r in _rows(data, "run")):
        return text
    return tomlkit.dumps({**data, "run": [{"length_mm": 1000, **r} for r in _rows(data, "run")]})


def _by_row(problem: Problem) -> Problem:
    """A problem with its place as the page counts it."""
    return replace(problem, place=_ROW.sub(r"row \1, ", problem.place))


def without(text: str, demand: str, catalogue: Catalogue) -> str:
    """The text of a list without one demand of a draft: a wish, a limit or an item.

    Raises
    ------
    KeyError
        Where the list makes no such demand.
    """
    data = {k: (dict(v) if isinstance(v, Mapping) else v) for k, v in tables_of(text).items()}
    kind, _, name = demand.partition(".")
    if kind == "item":
        data["equipment"] = _without_item(data, name, catalogue)
    elif demand == "wishes.keep":
        data.setdefault("wishes", {})["keep"] = []
    elif demand == "limits.drop_v":
        data.setdefault("limits", {})["drop_v"] = min(2.0 * float(data.get("limits", {}).get("drop_v", 0.5)), 5.0)
    elif demand == "limits.session_h":
        limits = data.setdefault("limits", {})
        limits["session_h"] = max(float(limits.get("session_h", 2.0)) / 2.0, 0.1)
    else:
        del data[kind][name]
    return tomlkit.dumps({k: v for k, v in data.items() if v not in ({}, [])})


def _without_item(data: Table, name: str, catalogue: Catalogue) -> list[Any]:
    from loomwright.rig.report import Report

    report = Report("list")
    read_rows = short.read_rows(data, catalogue, report)
    report.raise_if_any()
    at = next((n for n, r in enumerate(read_rows) if name in r.items), None)
    if at is None:
        raise KeyError(name)
    rows = [dict(r) for r in _rows(data, "equipment")]
    left = len(read_rows[at].items) - 1
    return [*rows[:at], *([{**rows[at], "many": left}] if left else []), *rows[at + 1 :]]


def tables_of(text: str) -> Table:
    """The tables of a list; none where it is not TOML."""
    try:
        return tables(text)
    except ValueError:
        return {}


def _table(data: Table, key: str) -> Table:
    found = data.get(key, {})
    return found if isinstance(found, Mapping) else {}


def _rows(data: Table, key: str) -> list[Table]:
    found = data.get(key, [])
    return [t for t in found if isinstance(t, Mapping)] if isinstance(found, list) else []


def _ends(run: Table) -> tuple[str, str]:
    found = [str(n) for n in run.get("between", ())] if isinstance(run.get("between"), list) else []
    a, b = (*found, "", "")[:2]
    return a, b


def _typed(form: FormData, key: str) -> str:
    found = form.get(key, "")
    return found.strip()[:_LINE] if isinstance(found, str) else ""


def _all(form: FormData, key: str) -> list[str]:
    return [v.strip()[:_LINE] if isinstance(v, str) else "" for v in form.getlist(key)]


def _names(text: str) -> list[str]:
    return [n for part in text.split(",") if (n := part.strip())]


def _place(typed: str) -> str:
    """A place as it is called in a rig: small letters, no blanks and no full stops."""
    return "_".join(typed.replace(".", " ").casefold().split())


def _number(text: str) -> int | str:
    return int(text) if text.isdigit() else text
