"""Edits to the filters that are set on a processor or an amplifier, in the text: every remark stays."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import AoT, Array

from loomwright.errors import UnknownName
from loomwright.rig.edit import Value, item_table, put_keys, with_document


def set_band(text: str, item_id: str, number: int, keys: Mapping[str, Value | None]) -> str:
    """The text with keys of one of an item's bands set; bands are counted from 1. None takes a key out.

    Raises
    ------
    UnknownName
        Where there is no such item, or it has fewer bands.
    InputError
        Where the text is not TOML.
    """

    def change(document: TOMLDocument) -> None:
        put_keys(_band(document, item_id, number), keys)

    return with_document(text, change, ("item", item_id))


def add_band(text: str, item_id: str, keys: Mapping[str, Value | None]) -> str:
    """The text with one more band on an item. Errors as :func:`set_band`."""

    def change(document: TOMLDocument) -> None:
        item = item_table(document, item_id)
        if "bands" not in item:
            item["bands"] = tomlkit.array("[\n]")
        bands = item["bands"]
        row: Any = tomlkit.table() if isinstance(bands, AoT) else tomlkit.inline_table()
        put_keys(row, keys)
        if isinstance(bands, Array):
            bands.add_line(row, indent="  ")
        else:
            bands.append(row)

    return with_document(text, change, ("item", item_id))


def remove_band(text: str, item_id: str, number: int) -> str:
    """The text without one of an item's bands. Errors as :func:`set_band`."""

    def change(document: TOMLDocument) -> None:
        _band(document, item_id, number)
        item = item_table(document, item_id)
        del item["bands"][number - 1]
        if not item["bands"]:
            item.remove("bands")

    return with_document(text, change, ("item", item_id))


def _band(document: TOMLDocument, item_id: str, number: int) -> Any:
    bands: Any = item_table(document, item_id).get("bands", [])
    if not 1 <= number <= len(bands):
        raise UnknownName(f"no band {number} on {item_id}. There are {len(bands)}.")
    return bands[number - 1]
