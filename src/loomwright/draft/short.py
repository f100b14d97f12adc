"""Rows of a short list, what and how many and where: they become items and places of an equipment list.

A row names a part by its id, or by words that fit no other part. Its items are named by what they are, and by their
place where there are several of a kind; two loudspeakers of a row are left and right.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import tomlkit
from pydantic import Field

from loomwright.rig import edit
from loomwright.rig.catalogue import Catalogue
from loomwright.rig.keys import Keys
from loomwright.rig.model import Family, Part
from loomwright.rig.read import read_tables
from loomwright.rig.report import Report
from loomwright.rig.tables import check, dotted, rows
from loomwright.rig.words import ID_RULE, bad_id, nearest, show, some

MOST_ROWS = 100
STEMS: Mapping[Family, str] = {"amplifier": "amp", "accessory": "load", "fuse_holder": "fuse", "fused_block": "block"}
"""What an item is called after, where its family's own name is not short enough."""
_BARE = re.compile(r"[A-Za-z0-9_-]+\Z")


class RowKeys(Keys):
    """A row of a short list."""

    what: str = Field(
        min_length=1, max_length=200, description="Part of the catalogue: its id, or words that fit no other part."
    )
    many: int = Field(default=1, ge=1, le=16, description="How many of them.")
    where: str = Field(
        min_length=1, max_length=64, description="The place where they go. One that has no table of its own is made."
    )


@dataclass(frozen=True, slots=True)
class Row:
    """A row as read, with the part that it names and the items that it becomes."""

    part: str
    where: str
    items: tuple[str, ...]


def matching(catalogue: Catalogue, words: str) -> tuple[Part, ...]:
    """The part of that id; else the parts that can be placed and hold every word, by title."""
    if words in catalogue.tables:
        return (catalogue.part(words),)
    wanted = words.casefold().replace("_", " ").split()
    found = [p for p in _placeable(catalogue) if all(w in _words(p) for w in wanted)] if wanted else []
    same = [p for p in found if p.title.casefold().replace(",", "").split() == [w.strip(",") for w in wanted]]
    return tuple(sorted(same or found, key=lambda p: (p.title, p.id)))


def _placeable(catalogue: Catalogue) -> tuple[Part, ...]:
    return tuple(p for i in catalogue.ids() if (p := catalogue.part(i)).terminals)


def _words(part: Part) -> str:
    return f"{part.title} {part.id} {part.family}".replace("_", " ").casefold()


def expand(text: str, file: str, catalogue: Catalogue) -> str:
    """The list with its rows written out as items and places; a list without rows as it is.

    Raises
    ------
    InputError
        With every row that cannot be used.
    """
    data = read_tables(text, file)
    if "equipment" not in data:
        return text
    report = Report(file)
    found = read_rows(data, catalogue, report)
    report.raise_if_any()

    def take_out(document: Any) -> None:
        document.remove("equipment")

    return edit.with_document(text, take_out).rstrip("\n") + "\n" + _tables(found, _known(data, "place"))


def read_rows(data: Mapping[str, object], catalogue: Catalogue, report: Report) -> list[Row]:
    """The rows of a list's tables with the names of their items; what cannot be used goes into the report."""
    raw = rows(data, "equipment", report)
    if len(raw) > MOST_ROWS:
        report.add("equipment", f"at most {MOST_ROWS} rows", f"{len(raw)}", "Write one row for parts that are alike.")
        return []
    chosen: list[tuple[Part, str, int]] = []
    for n, table in enumerate(raw, 1):
        keys = check(RowKeys, table, report, dotted(f"equipment[{n}]"))
        if keys is None:
            continue
        part = _one_part(catalogue, keys.what, f"equipment[{n}].what", report)
        if (why := bad_id(keys.where)) is not None:
            report.add(f"equipment[{n}].where", f"a place: {ID_RULE}", why, "Give the place a short name.")
        elif part is not None:
            chosen.append((part, keys.where, keys.many))
    return _named(chosen, {*_known(data, "item"), *_wires(data)})


def _one_part(catalogue: Catalogue, words: str, place: str, report: Report) -> Part | None:
    found = matching(catalogue, words)
    if len(found) == 1:
        return found[0]
    if found:
        received = f"{show(words)}, which fits {len(found)} parts"
        report.add(place, "words that fit one part only", received, f"Take one of: {some((p.id for p in found), 8)}.")
    else:
        near = nearest(words, catalogue.tables)
        remedy = f'Did you mean "{near}"?' if near else "Search by fewer words: kind, ratings, size."
        report.add(place, "a part of the catalogue", show(words), remedy)
    return None


def _named(chosen: Sequence[tuple[Part, str, int]], taken: set[str]) -> list[Row]:
    """A name for every item: what it is; with its place where there are more of the kind; with a side or a number."""
    each = Counter[str]()
    for part, _, many in chosen:
        each[_stem(part)] += many
    used, made = set(taken), []
    for part, where, many in chosen:
        stem = _stem(part)
        base = stem if each[stem] == 1 and stem not in used else f"{where}_{stem}"
        sides = ("left", "right") if part.family == "driver" and many == 2 else ()
        names = [f"{base}_{s}" for s in sides] or ([base] if many == 1 else [f"{base}_{n}" for n in range(1, many + 1)])
        free = [_free(n, used) for n in names]
        made.append(Row(part.id, where, tuple(free)))
    return made


def _stem(part: Part) -> str:
    """What a part is, in a word."""
    if part.family == "driver":
        first = part.title.partition(" ")[0].strip(",").casefold()
        return "speaker" if first == "driver" or not _BARE.match(first) else first
    return STEMS.get(part.family, part.family)


def _free(name: str, used: set[str]) -> str:
    short = name[:60]
    found = short if short not in used else next(f"{short}_{n}" for n in range(2, 10_000) if f"{short}_{n}" not in used)
    used.add(found)
    return found


def _known(data: Mapping[str, object], kind: str) -> set[str]:
    found = data.get(kind, {})
    return set(found) if isinstance(found, Mapping) else set()


def _wires(data: Mapping[str, object]) -> Iterable[str]:
    found = data.get("wire", [])
    return [str(w.get("id")) for w in found if isinstance(w, Mapping)] if isinstance(found, list) else []


def _tables(found: Sequence[Row], places: set[str]) -> str:
    out = [f"\n[place.{_key(w)}]\n" for w in dict.fromkeys(r.where for r in found) if w not in places]
    out += [
        f"\n[item.{_key(name)}]\npart = {_text(row.part)}\nplace = {_text(row.where)}\n"
        for row in found
        for name in row.items
    ]
    return "".join(out)


def _key(name: str) -> str:
    return name if _BARE.match(name) else _text(name)


def _text(value: str) -> str:
    return json.dumps(value, ensure_ascii=False)


def onto(text: str, rig: str) -> str:
    """A list laid over a rig that is there already: items and wires of the rig stay, title and wishes are the list's.

    Places, runs and rows of the list come on top of those of the rig, except where the rig has them already.
    """
    document = tomlkit.parse(rig)
    given = tomlkit.parse(text).unwrap()
    document["title"], document["stage"] = given.get("title", ""), "planned"
    for key in ("vehicle", "limits", "wishes"):
        if key in given:
            table: Any = document.setdefault(key, tomlkit.table())
            for name, value in given[key].items():
                table[name] = value
    out = tomlkit.dumps(document).rstrip("\n") + "\n"
    held = document.unwrap()
    there = {frozenset(r.get("between", ())) for r in held.get("run", [])}
    rest: dict[str, Any] = {
        "place": {k: v for k, v in given.get("place", {}).items() if k not in held.get("place", {})},
        "run": [r for r in given.get("run", []) if frozenset(r.get("between", ())) not in there],
        "equipment": given.get("equipment", []),
    }
    return out + "\n" + tomlkit.dumps({k: v for k, v in rest.items() if v})
