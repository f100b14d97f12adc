"""The stock file: the spools in the workshop, so that the cutting plan can use them up."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar, Literal

from pydantic import Field

from loomwright.facts import colours
from loomwright.rig import sizes
from loomwright.rig.keys import Keys
from loomwright.rig.model import Metal
from loomwright.rig.read import read_tables, read_text
from loomwright.rig.report import Report
from loomwright.rig.tables import check, dotted, rows
from loomwright.rig.words import ID_RULE, bad_id, nearest, show, some

MAX_SPOOLS = 500


class SpoolKeys(Keys):
    """One spool, or what is left of it."""

    id: str = Field(min_length=1, description="What stands on it.")
    size: str = Field(min_length=1, description="`8 AWG`, `8 SAE` or `8 mm2`.")
    metal: Literal["copper", "tinned copper", "cca10", "cca15"] = Field(default="copper", description="Its metal.")
    insulation_c: Literal[60, 75, 80, 90, 105, 125, 200] = Field(
        default=105, description="Temperature rating of the insulation."
    )
    colour: str = Field(default="", max_length=8, description="Letters of IEC 60757. Left out: fits any colour.")
    screened: bool = Field(default=False, description="Whether it is a screened line lead.")
    length_mm: float = Field(gt=0, le=10_000_000, description="What is left on it.")


class StockKeys(Keys):
    """A stock file."""

    beside: ClassVar[tuple[str, ...]] = ("spool", "sheet")
    format: Literal[1] = Field(description="Version of this file format; 1.")
    title: str = Field(default="", max_length=200, description="Whose stock it is.")
    demo: bool = Field(default=False, description="True where the data are invented.")


@dataclass(frozen=True, slots=True)
class Spool:
    """One spool: ``size`` in normal form, ``colour`` empty where it fits any."""

    id: str
    size: str
    metal: Metal
    insulation_c: int
    colour: str
    screened: bool
    length_mm: float


def load_stock(path: str | Path) -> tuple[Spool, ...]:
    """The spools of a stock file, in its order.

    Raises
    ------
    InputError
        With every problem in the file.
    """
    path = Path(path)
    return parse_stock(read_text(path), str(path))


def parse_stock(text: str, file_name: str) -> tuple[Spool, ...]:
    """The spools in a text. Errors as :func:`load_stock`."""
    data = read_tables(text, file_name)
    report = Report(file_name)
    check(StockKeys, {k: v for k, v in data.items() if k not in StockKeys.beside}, report, dotted(""))
    made: list[Spool] = []
    seen: dict[str, int] = {}
    found = rows(data, "spool", report)
    if len(found) > MAX_SPOOLS:
        report.add("spool", f"at most {MAX_SPOOLS} spools", f"{len(found)} spools", "Leave out what is used up.")
        found = []
    for n, table in enumerate(found, 1):
        keys = check(SpoolKeys, table, report, dotted(f"spool[{n}]"))
        if keys is None:
            continue
        if reason := bad_id(keys.id):
            report.add(f"spool[{n}].id", f"an id: {ID_RULE}", reason, "Rename the spool.")
        if (first := seen.setdefault(keys.id, n)) != n:
            report.add(
                f"spool[{n}].id", "a name that no other spool has", f"{show(keys.id)}, also spool {first}",
                "Rename one of the two.",
            )  # fmt: skip
        size = sizes.wire(f"spool[{n}].size", keys.size, report)
        if keys.colour and not colours.known(keys.colour):
            near = nearest(keys.colour, colours.letters())
            remedy = f'Did you mean "{near}"?' if near else "Write the colours one after the other, two letters each."
            report.add(
                f"spool[{n}].colour", f"letters of IEC 60757: {some(colours.letters(), 20)}", show(keys.colour), remedy
            )
        if size is not None:
            made.append(
                Spool(keys.id, size, keys.metal, keys.insulation_c, keys.colour, keys.screened, keys.length_mm)
            )
    report.raise_if_any()
    return tuple(made)
