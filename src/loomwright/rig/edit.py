"""Edits to a rig file that keep everything else as it is: comments, order, spacing, line ends.

Each function takes the text of a rig file and gives the new text. An edit changes only the lines it is about; a
text that is not edited comes back byte for byte. The result is not validated: read it with
:func:`loomwright.rig.file.parse` afterwards.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Literal

import tomli
import tomlkit
from tomlkit.items import Array, InlineTable, Table
from tomlkit.toml_document import TOMLDocument

from loomwright.errors import InputError, Problem, UnknownName
from loomwright.rig import sections
from loomwright.rig.read import tables
from loomwright.rig.words import nearest, show

Kind = Literal["item", "place", "panel", "run", "wire"]
Value = str | float | int | bool | Sequence[Any]
_KIND_HEADS: dict[Kind, re.Pattern[str]] = {
    "item": re.compile(r"^[ \t]*\[[ \t]*item[ \t]*\.[^\n]*\n?", re.MULTILINE),
    "place": re.compile(r"^[ \t]*\[[ \t]*place[ \t]*\.[^\n]*\n?", re.MULTILINE),
    "panel": re.compile(r"^[ \t]*\[[ \t]*panel[ \t]*\.[^\n]*\n?", re.MULTILINE),
    "run": re.compile(r"^[ \t]*\[\[[ \t]*run[ \t]*\]\][^\n]*\n?", re.MULTILINE),
    "wire": re.compile(r"^[ \t]*\[\[[ \t]*wire[ \t]*\]\][^\n]*\n?", re.MULTILINE),
}
_HEAD = re.compile(r"^[ \t]*\[", re.MULTILINE)
_LINE = re.compile(r"[^\n]*\n|[^\n]+$")
_BLANK = re.compile(r"[ \t]*\r?\n")
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
        put_keys(_wire(document, wire_id), keys)

    return with_document(text, change, ("wire", wire_id))


def set_item(text: str, item_id: str, **keys: Value | None) -> str:
    """The text with keys of an item set; None takes a key out. Errors as :func:`set_wire`."""

    def change(document: TOMLDocument) -> None:
        put_keys(item_table(document, item_id), keys)

    return with_document(text, change, ("item", item_id))


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
        put_keys(runs[number - 1], keys)

    return with_document(text, change)


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
        fuses = item_table(document, item_id).get("fuses_a")
        if not isinstance(fuses, Array) or not 1 <= way <= len(fuses):
            count = len(fuses) if isinstance(fuses, Array) else 0
            raise UnknownName(f"{item_id} has {count} fuse ways in the file; there is no way {way}")
        fuses[way - 1] = _number(rating_a)

    return with_document(text, change, ("item", item_id))


def add_item(text: str, item_id: str, part: str, place: str, **keys: Value) -> str:
    """The text with an item added after the last one. Raises UnknownName where the id is taken."""
    items = _tables(text).get("item", {})
    if item_id in items:
        raise UnknownName(f"there is an item {show(item_id)} already")
    table = tomlkit.table()
    put_keys(table, {"part": part, "place": place, **keys})
    whole = tomlkit.document()
    whole["item"] = tomlkit.table(is_super_table=True)
    whole["item"].append(item_id, table)
    return insert(text, tomlkit.dumps(whole), after_last(text, "item") or len(text))


def add_wire(text: str, wire_id: str, start: str, end: str, size: str, **keys: Value) -> str:
    """The text with a wire added at its end. Raises UnknownName where the id is taken."""
    if any(w.get("id") == wire_id for w in _tables(text).get("wire", [])):
        raise UnknownName(f"there is a wire {show(wire_id)} already")
    given = {"id": wire_id, "from": start, "to": end, "size": size, **keys}
    in_order = {k: given[k] for k in sorted(given, key=_order)}
    if isinstance(read_document(text).get("wire"), Array):
        return with_document(text, lambda document: add_row(document, "wire", in_order))
    table = tomlkit.table()
    put_keys(table, in_order)
    wires = tomlkit.aot()
    wires.append(table)
    whole = tomlkit.document()
    whole["wire"] = wires
    return insert(text, tomlkit.dumps(whole), len(text))


def remove_item(text: str, item_id: str) -> str:
    """The text without an item. Its wires stay: take them out by :func:`remove_wire`."""
    return cut(text, "item", _named(read_document(text), "item", item_id))


def remove_wire(text: str, wire_id: str) -> str:
    """The text without a wire."""
    document = read_document(text)
    _wire(document, wire_id)
    wires: Any = document["wire"]
    return cut(text, "wire", [w.get("id") for w in wires].index(wire_id))


def cut(text: str, kind: Kind, which: int) -> str:
    """The text without one table of a kind, counted from 0 in the order of the file; remarks that follow it stay."""
    whole = tomli.loads(text)
    tables = whole[kind]
    key = which if isinstance(tables, list) else list(tables)[which]
    del tables[key]
    heads = list(_KIND_HEADS[kind].finditer(text))
    if which < len(heads):
        start, end = heads[which].start(), _end_of(text, heads[which].end())
        rest = text[end:]
        gap = _BLANK.match(rest) if not text[:start].strip() or text[:start].endswith(("\n\n", "\n\r\n")) else None
        edited = text[:start] + rest[gap.end() if gap else 0 :]
        try:
            if {k: v for k, v in tomli.loads(edited).items() if v} == {k: v for k, v in whole.items() if v}:
                return edited
        except ValueError:
            pass

    def change(document: TOMLDocument) -> None:
        found: Any = document[kind]
        if isinstance(key, int):
            del found[key]
        else:
            found.remove(key)

    return with_document(text, change)


def with_document(
    text: str, change: Callable[[TOMLDocument], None], target: tuple[str, str] | None = None
) -> str:
    """The text after a change to the document that it holds.

    Where the change is to one wire or item, ``target``, only the lines of that are taken apart if they can be told.
    Raises InputError where the text is not TOML.
    """
    span = sections.find(text, *target) if target is not None else None
    if target is not None and span is not None:
        piece = read_document(text[slice(*span)])
        change(piece)
        edited = _ends(text[: span[0]] + tomlkit.dumps(piece) + text[span[1] :], text)
        if sections.same_but(text, edited, *target):
            return edited
    document = read_document(text)
    change(document)
    return _ends(tomlkit.dumps(document), text)


def read_document(text: str) -> TOMLDocument:
    """The document that a text holds. Raises InputError where it is not TOML."""
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


def after_last(text: str, kind: Kind) -> int | None:
    """Where the last key of the last table of a kind ends; None where no table of the kind has a line of its own."""
    heads = list(_KIND_HEADS[kind].finditer(text))
    if not heads:
        return None
    return _end_of(text, heads[-1].end())


def _end_of(text: str, start: int) -> int:
    """Where the last key of a table ends whose keys begin at ``start``."""
    following = _HEAD.search(text, start)
    region = text[start : following.start() if following else len(text)]
    end = start
    for line in _LINE.finditer(region):
        if line[0].strip() and not line[0].lstrip().startswith("#"):
            end = start + line.end()
    return end


def insert(text: str, piece: str, at: int) -> str:
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
    whole, more = {**tables(text)}, tomli.loads(piece)
    for key, value in more.items():
        if isinstance(value, list):
            whole[key] = [*whole.get(key, []), *value]
        else:
            whole[key] = {**whole.get(key, {}), **value}
    return whole


def _wire(document: TOMLDocument, wire_id: str) -> Any:
    wires = document.get("wire", [])
    found = [w for w in wires if isinstance(w, Mapping) and w.get("id") == wire_id]
    if not found:
        raise UnknownName(missing("wire", wire_id, [str(w.get("id")) for w in wires if isinstance(w, Mapping)]))
    return found[0]


def item_table(document: TOMLDocument, item_id: str) -> Any:
    """The table of an item. Raises UnknownName."""
    _named(document, "item", item_id)
    return document["item"][item_id]


def _named(document: TOMLDocument, kind: Kind, name: str) -> int:
    """Which table of a kind has a name, counted from 0. Raises UnknownName."""
    tables = [str(k) for k in document.get(kind, {})]
    if name not in tables:
        raise UnknownName(missing(kind, name, tables))
    return tables.index(name)


def missing(what: str, name: str, names: list[str]) -> str:
    """What to say where there is no table of a name."""
    near = nearest(name, names)
    return f"no {what} {show(name)} in the file." + (f" Did you mean {show(near)}?" if near else "")


def add_row(document: TOMLDocument, kind: Kind, keys: Mapping[str, Value | None]) -> None:
    """A wire or a run as one more row, where the file writes them as rows of ``wire = [..]``."""
    row = tomlkit.inline_table()
    put_keys(row, keys)
    rows: Any = document[kind]
    rows.add_line(row, indent="  ")


def put_keys(table: Table | InlineTable | TOMLDocument, keys: Mapping[str, Value | None]) -> None:
    """Set keys of a table; None takes one out."""
    for key, value in keys.items():
        if value is None:
            if key in table:
                table.remove(key)
        elif isinstance(value, str) and "\n" in value:
            table[key] = tomlkit.string(value, multiline=True)
        else:
            table[key] = _number(value)


def _number(value: Value) -> Value:
    """Whole numbers without the point, as a hand would write them."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _order(key: str) -> int:
    return _WIRE_ORDER.index(key) if key in _WIRE_ORDER else len(_WIRE_ORDER)
