"""The wish which amplifier drives which loudspeaker, as the page of a short list asks for it: one choice for each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from loomwright.draft import short
from loomwright.errors import LoomwrightError
from loomwright.rig.catalogue import Catalogue
from loomwright.rig.report import Report

Table = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class DriveShown:
    """A loudspeaker, the amplifier that must drive it (empty: any), and those to choose from."""

    driver: str
    by: str
    amplifiers: tuple[str, ...]


def shown(data: Table, wished: object, catalogue: Catalogue) -> tuple[DriveShown, ...]:
    """A row for each loudspeaker of a list laid over its rig, where there is more than one amplifier to choose.

    ``wished`` is the wish as the list has it; what it names that is there no more keeps its row, to be seen and mended.
    """
    kinds = dict(_families(data, catalogue))
    amplifiers = tuple(i for i, family in kinds.items() if family == "amplifier")
    drivers = [i for i, family in kinds.items() if family == "driver"]
    by = {d: a for a, found in _wish(wished) for d in found}
    if len(amplifiers) < 2 and not by:
        return ()
    rows = dict.fromkeys([*drivers, *by])
    return tuple(DriveShown(d, by.get(d, ""), tuple(dict.fromkeys([*amplifiers, *by.values()]))) for d in rows)


def filled(drivers: list[str], amplifiers: list[str]) -> dict[str, list[str]]:
    """The wish as a filled-in form has it, loudspeaker by loudspeaker."""
    made: dict[str, list[str]] = {}
    for driver, amplifier in zip(drivers, amplifiers, strict=False):
        if driver and amplifier:
            made.setdefault(amplifier, []).append(driver)
    return made


def _families(data: Table, catalogue: Catalogue) -> Iterator[tuple[str, str]]:
    """Every item with the family of its part: those of the rig that is there, then those of the rows."""
    items = data.get("item", {})
    for name, table in items.items() if isinstance(items, Mapping) else ():
        if isinstance(table, Mapping) and (family := _family(catalogue, str(table.get("part", "")))):
            yield str(name), family
    for row in short.read_rows(data, catalogue, Report("list")):
        for name in row.items:
            yield name, _family(catalogue, row.part)


def _family(catalogue: Catalogue, part: str) -> str:
    try:
        return catalogue.part(part).family
    except LoomwrightError:
        return ""


def _wish(wished: object) -> Iterator[tuple[str, list[str]]]:
    for amplifier, found in wished.items() if isinstance(wished, Mapping) else ():
        if isinstance(found, list):
            yield str(amplifier), [str(d) for d in found]
