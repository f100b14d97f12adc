"""Edits to a rig file that keep everything else as it is: comments, order, spacing, line ends.

Each function takes the text of a rig file and gives the new text. An edit changes only the lines it is about; a
text that is not edited comes back byte for byte. The result is not validated: read it with
:func:`loomwright.rig.file.parse` afterwards.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import tomlkit
from tomlkit.items import Array, InlineTable, Table
from tomlkit.toml_document import TOMLDocument

from loomwright.errors import InputError, Problem, UnknownName
from loomwright.rig import sections
from loomwright.rig.read import tables
from loomwright.rig.words import nearest, show

Value = str | float | int | bool | Sequence[Any]
_ITEM_HEAD = re.compile(r"^[ \t]*\[[ \t]*item[ \t]*\.[^\n]*\n?", re.MULTILINE)
_HEAD = re.compile(r"^[ \t]*\[", re.MULTILINE)
_LINE = re.compile(r"[^\n]*\n|[^\n]+$")
_BARE_END = re.compile(r"(?<!\r)\n")
_WIRE_ORDER = ("id", "from", "to", "size", "metal", "length_mm", "insulation_c", "from_joint", "to_joint", "cover")


def set_wire(text: str, wire_id: str, **keys: Value | None) -> str:
    """The text with keys of a wire set, such as ``size="8 AWG"`` or ``length_mm=450``; None takes a key out.

    Raises
    ------
    UnknownName
        Where there is no wire of that id; the message gives the nearest one.
    InputError
        Where the text is not TOML.
    """

    def change(document: TOMLDocument) -> None:
        _set(_wire(document, wire_id), keys)

    return _edit(text, change, ("wire", wire_id))


def set_item(text: str, item_id: str, **keys: Value | None) -> str:
    """The text with keys of an item set; None takes a key out. Errors as :func:`set_wire`."""

    def change(document: TOMLDocument) -> None:
        _set(_item(document, item_id), keys)

    return _edit(text, change, ("item", item_id))


def set_run(text: str, number: int, **keys: Value | None) -> str:
    """The text with keys of a run set, such as ``cover=["grommet"]``; runs are counted from 1, as findings name them.

    Raises
    ------
    UnknownName
        Where there are fewer runs.
    InputError
        Where the text is not TOML.
    """

    def change(document: TOMLDocument) -> None:
        runs: Any = document.get("run", [])
        if not 1 <= number <= len(runs):
            raise UnknownName(f"no run {number} in the file. There are {len(runs)}.")
        _set(runs[number - 1], keys)

    return _edit(text, change)


def set_fuse(text: str, item_id: str, way: int, rating_a: float | str) -> str:
    """The text with the fuse of one way set, counted from 1: amperes, 0 for empty, or ``"auto"``.

    Raises
    ------
    UnknownName
        Where there is no such item, or it has no such way.
    InputError
        Where the text is not TOML.
    """

    def change(document: TOMLDocument) -> None:
        fuses = _item(document, item_id).get("fuses_a")
        if not isinstance(fuses, Array) or not 1 <= way <= len(fuses):
            count = len(fuses) if isinstance(fuses, Array) else 0
            raise UnknownName(f"{item_id} has {count} fuse ways in the file; there is no way {way}")
        fuses[way - 1] = _number(rating_a)

    return _edit(text, change, ("item", item_id))


def add_item(text: str, item_id: str, part: str, place: str, **keys: Value) -> str:
    """The text with an item added after the last one. Raises UnknownName where the id is taken."""
    items = _tables(text).get("item", {})
    if item_id in items:
        raise UnknownName(f"there is an item {show(item_id)} already")
    table = tomlkit.table()
    _set(table, {"part": part, "place": place, **keys})
    whole = tomlkit.document()
    whole["item"] = tomlkit.table(is_super_table=True)
    whole["item"].append(item_id, table)
    return _insert(text, tomlkit.dumps(whole), _after_last_item(text))


def add_wire(text: str, wire_id: str, start: str, end: str, size: str, **keys: Value) -> str:
    """The text with a wire added at its end. Raises UnknownName where the id is taken."""
    if any(w.get("id") == wire_id for w in _tables(text).get("wire", [])):
        raise UnknownName(f"there is a wire {show(wire_id)} already")
    given = {"id": wire_id, "from": start, "to": end, "size": size, **keys}
    in_order = {k: given[k] for k in sorted(given, key=_order)}
    if isinstance(_parse(text).get("wire"), Array):
        return _edit(text, lambda document: _add_row(document, in_order))
    table = tomlkit.table()
    _set(table, in_order)
    wires = tomlkit.aot()
    wires.append(table)
    whole = tomlkit.document()
    whole["wire"] = wires
    return _insert(text, tomlkit.dumps(whole), len(text))


def remove_item(text: str, item_id: str) -> str:
    """The text without an item. Its wires stay: take them out by :func:`remove_wire`."""

    def change(document: TOMLDocument) -> None:
        _item(document, item_id)
        items: Any = document["item"]
        items.remove(item_id)

    return _edit(text, change, ("item", item_id))


def remove_wire(text: str, wire_id: str) -> str:
    """The text without a wire."""

    def change(document: TOMLDocument) -> None:
        _wire(document, wire_id)
        wires: Any = document["wire"]
        del wires[[w.get("id") for w in wires].index(wire_id)]

    return _edit(text, change, ("wire", wire_id))


def _edit(text: str, change: Callable[[TOMLDocument], None], target: tuple[str, str] | None = None) -> str:
    """The text with a change; where it is to one wire or item, to the lines of that alone if they can be told."""
    span = sections.find(text, *target) if target is not None else None
    if target is not None and span is not None:
        piece = _parse(text[slice(*span)])
        change(piece)
        edited = _ends(text[: span[0]] + tomlkit.dumps(piece) + text[span[1] :], text)
        if sections.same_but(text, edited, *target):
            return edited
    document = _parse(text)
    change(document)
    return _ends(tomlkit.dumps(document), text)


def _parse(text: str) -> TOMLDocument:
    try:
        return tomlkit.parse(text)
    except ValueError as error:
        raise InputError([Problem("rig file", "file", "TOML", str(error), "Mend the file first.")]) from None


def _tables(text: str) -> Mapping[str, Any]:
    try:
        return tables(text)
    except ValueError as error:
        raise InputError([Problem("rig file", "file", "TOML", str(error), "Mend the file first.")]) from None


def _ends(edited: str, text: str) -> str:
    """Line ends as the text has them."""
    return _BARE_END.sub("\r\n", edited) if "\r\n" in text and not _BARE_END.search(text) else edited


def _after_last_item(text: str) -> int:
    """Where the last item's last key ends; the end of the text where no item has a line of its own."""
    heads = list(_ITEM_HEAD.finditer(text))
    if not heads:
        return len(text)
    start = heads[-1].end()
    following = _HEAD.search(text, start)
    region = text[start : following.start() if following else len(text)]
    end = start
    for line in _LINE.finditer(region):
        if line[0].strip() and not line[0].lstrip().startswith("#"):
            end = start + line.end()
    return end


def _insert(text: str, piece: str, at: int) -> str:
    """The text with a table put in, a blank line before it; at the end where it would not read right at ``at``."""
    gap = "" if not text[:at] else "\n" if text[:at].endswith("\n") else "\n\n"
    for place in (at, len(text)):
        edited = _ends(text[:place] + gap + piece + text[place:], text)
        try:
            if tables(edited) == _together(text, piece):
                return edited
        except ValueError:
            continue
    raise InputError(
        [Problem("rig file", "file", "tables such as [item.name] and [[wire]]", "another way of writing them",
                 "Write items and wires under headings of their own.")]
    )  # fmt: skip


def _together(text: str, piece: str) -> dict[str, Any]:
    whole, more = {**tables(text)}, tomllib.loads(piece)
    whole["item"] = {**whole.get("item", {}), **more.get("item", {})}
    if "wire" in more:
        whole["wire"] = [*whole.get("wire", []), *more["wire"]]
    return {k: v for k, v in whole.items() if v or k != "item"}


def _wire(document: TOMLDocument, wire_id: str) -> Any:
    wires = document.get("wire", [])
    found = [w for w in wires if isinstance(w, Mapping) and w.get("id") == wire_id]
    if not found:
        raise UnknownName(_missing("wire", wire_id, [str(w.get("id")) for w in wires if isinstance(w, Mapping)]))
    return found[0]


def _item(document: TOMLDocument, item_id: str) -> Any:
    items = document.get("item", {})
    if item_id not in items:
        raise UnknownName(_missing("item", item_id, [str(i) for i in items]))
    return items[item_id]


def _missing(what: str, name: str, names: list[str]) -> str:
    near = nearest(name, names)
    return f"no {what} {show(name)} in the file." + (f" Did you mean {show(near)}?" if near else "")


def _add_row(document: TOMLDocument, keys: Mapping[str, Value]) -> None:
    """A wire as one more row, where the file writes its wires as rows of ``wire = [..]``."""
    row = tomlkit.inline_table()
    _set(row, keys)
    wires: Any = document["wire"]
    wires.add_line(row, indent="  ")


def _set(table: Table | InlineTable, keys: Mapping[str, Value | None]) -> None:
    for key, value in keys.items():
        if value is None:
            if key in table:
                table.remove(key)
        else:
            table[key] = _number(value)


def _number(value: Value) -> Value:
    """Whole numbers without the point, as a hand would write them."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _order(key: str) -> int:
    return _WIRE_ORDER.index(key) if key in _WIRE_ORDER else len(_WIRE_ORDER)
