"""From a sheet to the text of a rig file: tidy, grouped, each choice with its reason beside it."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import tomlkit
from tomlkit.items import InlineTable
from tomlkit.toml_document import TOMLDocument

from loomwright.draft.sheet import NewItem, NewWire, Sheet, keys_of
from loomwright.rig import edit
from loomwright.rig.edit import Value

RULE = 97
COLUMN = 30
NOTE = "#"
"""Key of a row that is a remark on it, written behind it."""
_BARE = re.compile(r"[A-Za-z0-9_-]+\Z")


@dataclass(frozen=True)
class Settled:
    """What the sizing chose: sizes by group, fuses by item, parts in place of others, sizes of single wires; reasons by
    group.
    """

    sizes: Mapping[str, str] = field(default_factory=dict)
    fuses: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    parts: Mapping[str, str] = field(default_factory=dict)
    wires: Mapping[str, str] = field(default_factory=dict)
    reasons: Mapping[str, str] = field(default_factory=dict)
    insulation_c: Mapping[str, int] = field(default_factory=dict)


def write(sheet: Sheet, settled: Settled | None = None) -> str:
    """The rig file. Without ``settled``, power wires and fuses stand as ``auto``."""
    settled = settled or Settled()
    text = _given(sheet, settled)
    return text.rstrip("\n") + "\n" + _items(sheet, settled) + _wires(sheet, settled)


def _given(sheet: Sheet, settled: Settled) -> str:
    """The list without its wishes, with the keys that the draft sets in it."""
    wishes = sheet.given.wishes

    def change(document: TOMLDocument) -> None:
        if "wishes" in document:
            document.remove("wishes")
        for (item, key), (value, why) in sheet.keys.items():
            if item in sheet.rig.items:
                if key == "fuses_a" and item in settled.fuses:
                    value = list(settled.fuses[item])
                _set(document["item"][item], key, value, why)
        for item, fuses in settled.fuses.items():
            if item in sheet.rig.items and (item, "fuses_a") not in sheet.keys:
                _set(document["item"][item], "fuses_a", list(fuses), "drafted")
        for number, (cover, why) in sheet.covers.items():
            _set(document["run"][number - 1], "cover", list(cover), why)
        for name in wishes.comes_off:
            kind = "place" if name in sheet.rig.places else "item"
            _set(document[kind][name], "comes_off", True, "as the list wishes")
        given = {w.id for w in sheet.rig.wires}
        for row in document.get("wire", []):
            if row.get("id") in given and row.get("id") in settled.wires:
                _set(row, "size", settled.wires[row["id"]], "drafted: the list lets it be sized")

    return edit.with_document(sheet.given.text, change)


def tables(sheet: Sheet) -> dict[str, object]:
    """What :func:`write` writes without sizes, as tables: for working with, before anything is settled."""
    data = dict(sheet.given.tables)
    items = {k: dict(v) for k, v in data.get("item", {}).items()}
    for (item, key), (value, _) in sheet.keys.items():
        if item in sheet.rig.items:
            items[item][key] = _bare(value)
    places = {k: dict(v) for k, v in data.get("place", {}).items()}
    for name in sheet.given.wishes.comes_off:
        (places if name in sheet.rig.places else items)[name]["comes_off"] = True
    for new in sheet.items.values():
        items[new.id] = {"part": new.part, "place": new.place, **{k: _bare(v) for k, v in keys_of(new, sheet).items()}}
    runs = [dict(r) for r in data.get("run", [])]
    for number, (cover, _) in sheet.covers.items():
        runs[number - 1]["cover"] = list(cover)
    wires = [
        *data.get("wire", []),
        *({"id": w.id, "from": w.start, "to": w.end, "size": w.size, **dict(w.keys)} for w in sheet.wires),
    ]
    return {**data, "item": items, "place": places, "run": runs, "wire": wires}


def _bare(value: Any) -> Any:
    """A value without the remarks on its rows."""
    if isinstance(value, list) and value and isinstance(value[0], Mapping):
        return [{k: v for k, v in row.items() if k != NOTE} for row in value]
    return value


def _set(table: Any, key: str, value: Value, why: str) -> None:
    """Set a key of a table as a hand would write it, with the reason behind it."""
    made = tomlkit.parse(f"{key} = {_value(value)}\n")[key]
    table[key] = made
    if why and not isinstance(table, InlineTable):
        made.comment(why)


def _heading(words: str) -> str:
    return f"\n# ---- {words} {'-' * max(RULE - len(words) - 8, 3)}\n"


def _chapters(names: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(names))


def _items(sheet: Sheet, settled: Settled) -> str:
    out: list[str] = []
    for chapter in _chapters(i.chapter for i in sheet.items.values()):
        out.append(_heading(chapter))
        out += [_item(sheet, item, settled) for item in sheet.items.values() if item.chapter == chapter]
    return "".join(out)


def _item(sheet: Sheet, item: NewItem, settled: Settled) -> str:
    keys: dict[str, Value] = {"part": settled.parts.get(item.id, item.part), "place": item.place}
    keys.update(keys_of(item, sheet))
    if item.id in settled.fuses:
        keys["fuses_a"] = list(settled.fuses[item.id])
    lines = "".join(f"{k} = {_value(v)}\n" for k, v in keys.items())
    return f"\n{_noted(f'[item.{_name(item.id)}]', item.why)}\n{lines}"


def _wires(sheet: Sheet, settled: Settled) -> str:
    out: list[str] = []
    said: set[str] = set()
    for chapter in _chapters(w.chapter for w in sheet.wires):
        out.append(_heading(chapter))
        for wire in sheet.wires:
            if wire.chapter == chapter:
                why = wire.why
                if wire.group and wire.group not in said and wire.group in settled.reasons:
                    why = "; ".join(filter(None, (why, settled.reasons[wire.group])))
                    said.add(wire.group)
                out.append(_wire(wire, why, settled))
    return "".join(out)


def _wire(wire: NewWire, why: str, settled: Settled) -> str:
    size = settled.wires.get(wire.id) or settled.sizes.get(wire.group) or wire.size
    keys: dict[str, Value] = {"id": wire.id, "from": wire.start, "to": wire.end, "size": size, **dict(wire.keys)}
    if settled.insulation_c.get(wire.id, 105) != 105:
        keys["insulation_c"] = settled.insulation_c[wire.id]
    lines = "".join(f"{k} = {_value(v)}\n" for k, v in keys.items())
    return f"\n{f'[[wire]]  # {why}' if why else '[[wire]]'}\n{lines}"


def _noted(head: str, why: str) -> str:
    return f"{head.ljust(COLUMN)}# {why}" if why else head


def _name(name: str) -> str:
    return name if _BARE.match(name) else json.dumps(name)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return f"{value:g}" if abs(value) < 1e6 else str(value)
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{k} = {_value(v)}" for k, v in value.items()) + " }"
    rows = list(value)
    if rows and isinstance(rows[0], Mapping):
        told = [(_value({k: v for k, v in r.items() if k != NOTE}), r.get(NOTE, "")) for r in rows]
        wide = max(len(text) for text, _ in told) + 3
        lines = [f"  {text},".ljust(wide + 2) + (f"# {n}" if n else "") for text, n in told]
        return "[\n" + "".join(f"{line.rstrip()}\n" for line in lines) + "]"
    return "[" + ", ".join(_value(v) for v in rows) + "]"
