"""Edits to the panels of a rig file. Text in, text out, comments kept, as in :mod:`loomwright.rig.edit_vehicle`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit.toml_document import TOMLDocument

from loomwright.errors import InputError, Problem, UnknownName
from loomwright.rig.edit import Value, after_last, cut, insert, missing, put_keys, read_document, with_document
from loomwright.rig.edit_vehicle import after_top, renamed, taken
from loomwright.rig.words import some

Keys = Mapping[str, Value | None]


def add_panel(text: str, name: str, keys: Keys) -> str:
    """The text with a panel after the others. Raises InputError where there is one of that name."""
    if name in read_document(text).get("panel", {}):
        raise taken("panel", name)
    table = tomlkit.table()
    put_keys(table, keys)
    whole = tomlkit.document()
    whole["panel"] = tomlkit.table(is_super_table=True)
    whole["panel"].append(name, table)
    at = after_last(text, "panel") or after_last(text, "run") or after_last(text, "place") or after_top(text)
    return insert(text, tomlkit.dumps(whole), at)


def set_panel(text: str, name: str, keys: Keys, new_name: str = "") -> str:
    """The text with keys of a panel set, and the panel renamed wherever it is named.

    Raises
    ------
    UnknownName
        Where there is no such panel.
    InputError
        Where another panel has the new name.
    """
    _panel(read_document(text), name)
    edited = with_document(text, lambda document: put_keys(_panel(document, name), keys))
    if new_name in ("", name):
        return edited
    if new_name in read_document(text)["panel"]:
        raise taken("panel", new_name)

    def follow(document: TOMLDocument) -> None:
        for item in document.get("item", {}).values():
            if isinstance(item, Mapping) and item.get("panel") == name:
                item["panel"] = new_name  # type: ignore[index]

    return with_document(renamed(edited, "panel", name, new_name), follow)


def remove_panel(text: str, name: str) -> str:
    """The text without a panel.

    Raises
    ------
    UnknownName
        Where there is no such panel.
    InputError
        Where an item is mounted on it.
    """
    document = read_document(text)
    _panel(document, name)
    on = [str(k) for k, v in document.get("item", {}).items() if isinstance(v, Mapping) and v.get("panel") == name]
    if on:
        raise InputError(
            [Problem("rig", f"panel.{name}", "a panel with no item on it", some(on), "Take these items off it first.")]
        )
    return cut(text, "panel", list(document["panel"]).index(name))


def _panel(document: TOMLDocument, name: str) -> Any:
    panels = document.get("panel", {})
    if name not in panels:
        raise UnknownName(missing("panel", name, [str(p) for p in panels]))
    return panels[name]
