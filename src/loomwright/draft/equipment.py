"""The equipment list: what is to be fitted and where, with or without some of its wires, and the wishes.

A list is written like a rig file: the same head, ``[vehicle]``, ``[limits]``, ``[place.x]``, ``[[run]]``,
``[item.x]`` and ``[[wire]]``, with a table ``[wishes]`` besides. Wires may be missing: those are what is drafted.
A rig file is a list without wishes. Rows ``[[equipment]]`` stand for items: what, how many, where.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from loomwright.draft import short
from loomwright.draft.wishes import Wishes, WishKeys, settle
from loomwright.rig import file
from loomwright.rig.catalogue import Catalogue, beside, builtin
from loomwright.rig.migrate import to_current
from loomwright.rig.model import Rig
from loomwright.rig.read import read_tables, read_text
from loomwright.rig.report import Report
from loomwright.rig.tables import check, dotted


@dataclass(frozen=True)
class EquipmentList:
    """A list as read. ``rig`` holds what it says, with what must come off marked; it may want wires. ``tables`` are
    those of the file without the wishes.
    """

    text: str
    rig: Rig
    wishes: Wishes
    catalogue: Catalogue
    folder: Path | None
    tables: Mapping[str, Any]


def load(path: str | Path) -> EquipmentList:
    """The list in a file, with the user's catalogues beside it.

    Raises
    ------
    InputError
        With every problem in the list and in the catalogues.
    """
    path = Path(path)
    text = read_text(path)
    return _read(text, str(path), path.name, beside(path), path.parent)


def parse(text: str, file_name: str, catalogue: Catalogue | None = None) -> EquipmentList:
    """The list in a text. Errors as :func:`load`."""
    return _read(text, file_name, file_name, catalogue or builtin(), None)


def _read(text: str, shown: str, name: str, catalogue: Catalogue, folder: Path | None) -> EquipmentList:
    text = short.expand(text, shown, catalogue)
    data = dict(to_current(read_tables(text, shown), shown))
    raw = data.pop("wishes", {})
    report = Report(shown)
    keys = check(WishKeys, raw, report, dotted("wishes"))
    rig = file.make(data, name, catalogue, folder, report, finished=False)
    wishes = settle(keys, rig, report)
    if not rig.family("battery"):
        report.add("item", "at least one battery", "no battery", "Add the battery, with its place.")
    alone = rig.family("dcdc", "isolator") if len(rig.family("battery")) == 1 else ()
    for item in () if any(w.start.startswith(f"{i.id}.") for i in alone for w in rig.wires) else alone:
        report.add(
            f"item.{item.id}", "a second battery, which it charges from the first", "one battery",
            f"Add the other battery with its place, or take {item.id} out. A converter from another voltage is a part "
            "of your own: a charger of 12 V.",
        )  # fmt: skip
    if not rig.family("amplifier"):
        report.add("item", "at least one amplifier", "no amplifier", "Add the amplifiers, each with its place.")
    if wishes.budget is not None and not _has_prices(catalogue):
        report.add(
            "wishes.budget", "wire with a price in your catalogue", "none",
            "Give each wire_stock part its price for a spool, or take the budget out.",
        )  # fmt: skip
    report.raise_if_any()
    return EquipmentList(text, _coming_off(rig, wishes), wishes, catalogue, folder, data)


def _has_prices(catalogue: Catalogue) -> bool:
    tables = (table for table, _ in catalogue.tables.values())
    return any(t.get("family") == "wire_stock" and t.get("price") is not None for t in tables)


def _coming_off(rig: Rig, wishes: Wishes) -> Rig:
    """The rig with places and items that must come off marked so."""
    places = {k: replace(p, comes_off=True) if k in wishes.comes_off else p for k, p in rig.places.items()}
    items = {k: replace(i, comes_off=True) if k in wishes.comes_off else i for k, i in rig.items.items()}
    return replace(rig, places=places, items=items)


def again(given: EquipmentList, text: str) -> EquipmentList:
    """A list in another text, read as the first was. Errors as :func:`load`."""
    return _read(text, given.rig.file, given.rig.file, given.catalogue, given.folder)
