"""Edits to what a rig file says of the vehicle: its head, ``[vehicle]``, ``[limits]``, places and runs.

Text in, text out, comments kept, as in :mod:`loomwright.rig.edit`. A run is called by its two places, in either order.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any, Literal

import tomli
import tomlkit
from tomlkit.toml_document import TOMLDocument

from loomwright.errors import InputError, Problem, UnknownName
from loomwright.rig.edit import Value, after_last, cut, insert, missing, put_keys, read_document, with_document
from loomwright.rig.words import show, some

Keys = Mapping[str, Value | None]
_ANY_HEAD = re.compile(r"^[ \t]*\[", re.MULTILINE)


def set_head(text: str, keys: Keys) -> str:
    """The text with keys at the top of the file set, such as ``title``; None takes a key out.

    Raises
    ------
    InputError
        Where the text is not TOML.
    """
    return with_document(text, lambda document: put_keys(document, keys))


def set_table(text: str, table: Literal["vehicle", "limits"], keys: Keys) -> str:
    """The text with keys of ``[vehicle]`` or ``[limits]`` set; the table is added where there is none."""
    if table in read_document(text):
        return with_document(text, lambda document: put_keys(_table(document, table), keys))
    given = {k: v for k, v in keys.items() if v is not None}
    if not given:
        return text
    whole = tomlkit.document()
    whole[table] = tomlkit.table()
    put_keys(whole[table], given)
    return insert(text, tomlkit.dumps(whole), after_top(text))


def add_place(text: str, name: str, keys: Keys) -> str:
    """The text with a place after the others. Raises InputError where there is one of that name."""
    if name in read_document(text).get("place", {}):
        raise taken("place", name)
    table = tomlkit.table()
    put_keys(table, keys)
    whole = tomlkit.document()
    whole["place"] = tomlkit.table(is_super_table=True)
    whole["place"].append(name, table)
    return insert(text, tomlkit.dumps(whole), after_last(text, "place") or after_top(text))


def set_place(text: str, name: str, keys: Keys, new_name: str = "") -> str:
    """The text with keys of a place set, and the place renamed wherever it is named.

    Raises
    ------
    UnknownName
        Where there is no such place.
    InputError
        Where another place has the new name.
    """

    _place(read_document(text), name)
    edited = with_document(text, lambda document: put_keys(_place(document, name), keys))
    if new_name in ("", name):
        return edited
    if new_name in read_document(text)["place"]:
        raise taken("place", new_name)

    def follow(document: TOMLDocument) -> None:
        for item in _tables(document.get("item", {}).values()):
            if item.get("place") == name:
                item["place"] = new_name
        for panel in _tables(document.get("panel", {}).values()):
            if panel.get("place") == name:
                panel["place"] = new_name
        for run in _tables(document.get("run", [])):
            for n, end in enumerate(run.get("between", [])):
                if end == name:
                    run["between"][n] = new_name
        for wire in _tables(document.get("wire", [])):
            for n, stop in enumerate(wire.get("via", [])):
                if stop == name:
                    wire["via"][n] = new_name

    return with_document(renamed(edited, "place", name, new_name), follow)


def remove_place(text: str, name: str) -> str:
    """The text without a place.

    Raises
    ------
    UnknownName
        Where there is no such place.
    InputError
        Where an item stands in it or a run leads to it.
    """

    document = read_document(text)
    _place(document, name)
    items = [str(k) for k, v in document.get("item", {}).items() if isinstance(v, Mapping) and v.get("place") == name]
    runs = [_called(r) for r in _tables(document.get("run", [])) if name in r.get("between", [])]
    wires = [str(w.get("id")) for w in _tables(document.get("wire", [])) if name in w.get("via", [])]
    panels = [
        str(k) for k, v in document.get("panel", {}).items() if isinstance(v, Mapping) and v.get("place") == name
    ]  # fmt: skip
    if items or runs or wires or panels:
        raise InputError(
            [Problem("rig", f"place.{name}", "a place with no item, no panel, no run to it and no wire led over it",
                     some([*items, *runs, *panels, *wires]),
                     "Move these items to another place and take these runs out first"
                     + (", and lead these wires another way." if wires else "."))]
        )  # fmt: skip
    return cut(text, "place", list(document["place"]).index(name))


def add_run(text: str, between: Sequence[str], keys: Keys) -> str:
    """The text with a run after the others."""
    table = tomlkit.table()
    put_keys(table, {"between": list(between), **keys})
    runs = tomlkit.aot()
    runs.append(table)
    whole = tomlkit.document()
    whole["run"] = runs
    at = after_last(text, "run") or after_last(text, "place") or after_top(text)
    return insert(text, tomlkit.dumps(whole), at)


def set_run(text: str, between: Sequence[str], keys: Keys) -> str:
    """The text with keys of a run set; ``between`` says which. Raises UnknownName where no run joins these places."""
    return with_document(text, lambda document: put_keys(_run(document, between)[1], keys))


def remove_run(text: str, between: Sequence[str]) -> str:
    """The text without a run. Raises UnknownName where no run joins these places."""

    return cut(text, "run", _run(read_document(text), between)[0])


def rename_item(text: str, item_id: str, new_id: str) -> str:
    """The text with an item under another name, its wires with it.

    Raises
    ------
    UnknownName
        Where there is no such item.
    InputError
        Where another item has that name, or the item has no heading of its own.
    """
    items = read_document(text).get("item", {})
    if item_id not in items:
        raise UnknownName(missing("item", item_id, [str(i) for i in items]))
    if new_id in items:
        raise taken("item", new_id)

    def follow(document: TOMLDocument) -> None:
        for wire in _tables(document.get("wire", [])):
            for end in ("from", "to"):
                name, dot, terminal = str(wire.get(end, "")).partition(".")
                if name == item_id:
                    wire[end] = f"{new_id}{dot}{terminal}"
        vehicle: Any = document.get("vehicle", {})
        if vehicle.get("start_battery") == item_id:
            vehicle["start_battery"] = new_id

    return with_document(renamed(text, "item", item_id, new_id), follow)


def renamed(text: str, kind: Literal["item", "place", "panel"], old: str, new: str) -> str:
    """Another name in the headings of a table, which keep their place in the file."""

    def head(found: re.Match[str]) -> str:
        try:
            named = tomli.loads(f"{found[2]} = 0")
        except ValueError:
            return found[0]
        return f"{found[1]}{tomlkit.key(new).as_string()}{found[3]}" if old in named else found[0]

    pattern = rf"^([ \t]*\[[ \t]*{kind}[ \t]*\.[ \t]*)([^\].\n]+?)([ \t]*[.\]])"
    edited = re.sub(pattern, head, text, flags=re.MULTILINE)
    wanted = tomli.loads(text)
    wanted[kind] = {new if k == old else k: v for k, v in wanted[kind].items()}
    try:
        if tomli.loads(edited) == wanted:
            return edited
    except ValueError:
        pass
    expected = f"a heading of its own, [{kind}.{old}]"
    raise InputError([Problem("rig", f"{kind}.{old}", expected, "another way of writing it", "Give it a heading.")])


def _table(document: TOMLDocument, name: str) -> Any:
    found = document[name]
    if not isinstance(found, Mapping):
        raise InputError([Problem("rig", name, f"a table [{name}]", show(found), "Mend the file first.")])
    return found


def _place(document: TOMLDocument, name: str) -> Any:
    places = document.get("place", {})
    if name not in places:
        raise UnknownName(missing("place", name, [str(p) for p in places]))
    return places[name]


def _run(document: TOMLDocument, between: Sequence[str]) -> tuple[int, Any]:
    runs = _tables(document.get("run", []))
    for number, run in enumerate(runs):
        if sorted(map(str, run.get("between", []))) == sorted(between):
            return number, run
    raise UnknownName(missing("run", " to ".join(between), [_called(r) for r in runs]))


def _called(run: Any) -> str:
    return " to ".join(map(str, run.get("between", [])))


def _tables(found: Any) -> list[Any]:
    return [t for t in found if isinstance(t, Mapping)]


def taken(what: str, name: str) -> InputError:
    """The error for a name that another has."""
    remedy = "Choose another name."
    return InputError([Problem("rig", f"{what}.{name}", f"a name that no other {what} has", show(name), remedy)])


def after_top(text: str) -> int:
    """Where the keys at the top of the file end."""
    first = _ANY_HEAD.search(text)
    end = 0
    at = 0
    for line in text[: first.start() if first else len(text)].splitlines(keepends=True):
        at += len(line)
        if line.strip() and not line.lstrip().startswith("#"):
            end = at
    return end
