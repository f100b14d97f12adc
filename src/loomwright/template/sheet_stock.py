"""Sheets and remnants in the stock file of the shop: what boards can be cut from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from pydantic import Field

from loomwright.facts import boards
from loomwright.nesting.model import Stock
from loomwright.rig.keys import Keys
from loomwright.rig.plan import Material
from loomwright.rig.read import read_tables, read_text
from loomwright.rig.report import Report
from loomwright.rig.tables import check, dotted, rows
from loomwright.rig.words import ID_RULE, bad_id, show

MAX_SHEETS = 200
Grain = Literal["along the width", "along the height", "none"]


class SheetKeys(Keys):
    """A size of sheet that is bought, or a remnant."""

    id: str = Field(min_length=1, description="What is written on it.")
    material: Literal["plywood", "expanded PVC", "HDPE", "aluminium"] = Field(description="What it is.")
    thickness_mm: float = Field(ge=1, le=50, description="How thick it is.")
    width_mm: float = Field(ge=50, le=5000, description="One side.")
    height_mm: float = Field(ge=50, le=5000, description="The other side.")
    grain: Literal["along the width", "along the height", "none"] | None = Field(
        default=None, description="Which way its grain runs. Left out: along the width for plywood, else none."
    )
    count: int = Field(default=0, ge=0, le=1000, description="How many there are; 0 for as many as are needed.")
    price: float = Field(default=0.0, ge=0, le=1e6, description="What one costs; 0 for a remnant, used first.")
    margin_mm: float = Field(default=8.0, ge=0, le=200, description="Rough edge that is not used.")


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet: what :class:`SheetKeys` says of it."""

    id: str
    material: Material
    thickness_mm: float
    width_mm: float
    height_mm: float
    grain: Grain
    count: int
    price: float
    margin_mm: float

    def stock(self) -> Stock:
        """As the nesting wants it."""
        return Stock(self.id, self.width_mm, self.height_mm, self.margin_mm, self.count, self.price)


def load(path: str | Path) -> tuple[Sheet, ...]:
    """The sheets of a stock file, in its order.

    Raises
    ------
    InputError
        With every problem in the file.
    """
    path = Path(path)
    return parse(read_text(path), str(path))


def parse(text: str, file_name: str) -> tuple[Sheet, ...]:
    """The sheets in a text. Errors as :func:`load`."""
    report = Report(file_name)
    found = rows(read_tables(text, file_name), "sheet", report)
    if len(found) > MAX_SHEETS:
        report.add("sheet", f"at most {MAX_SHEETS} sheets", f"{len(found)} sheets", "Leave out what is used up.")
        found = []
    out: list[Sheet] = []
    for n, table in enumerate(found, 1):
        keys = check(SheetKeys, table, report, dotted(f"sheet[{n}]"))
        if keys is None:
            continue
        if reason := bad_id(keys.id):
            report.add(f"sheet[{n}].id", f"an id: {ID_RULE}", reason, "Rename the sheet.")
        if any(s.id == keys.id for s in out):
            report.add(
                f"sheet[{n}].id", "a name that no other sheet has", show(keys.id), "Rename one of the two."
            )  # fmt: skip
        if 2.0 * keys.margin_mm >= min(keys.width_mm, keys.height_mm):
            report.add(
                f"sheet[{n}].margin_mm", "less than half of the shorter side", f"{keys.margin_mm:g}",
                "Make the margin smaller.",
            )  # fmt: skip
        out.append(Sheet(
            keys.id, keys.material, keys.thickness_mm, keys.width_mm, keys.height_mm,
            keys.grain or usual_grain(keys.material), keys.count, keys.price, keys.margin_mm,
        ))  # fmt: skip
    report.raise_if_any()
    return tuple(out)


def usual_grain(material: Material) -> Grain:
    """How the grain of a sheet runs where nobody has said it: along, if the material has any."""
    return "along the width" if boards.material(material).cells["grain"] else "none"


def usual(material: Material, thickness_mm: float) -> Sheet:
    """A full sheet of the usual size, of unknown price, where the shop has said nothing."""
    return Sheet(
        "full_sheet", material, thickness_mm, boards.rule("sheet_width_mm"), boards.rule("sheet_height_mm"),
        usual_grain(material), 0, 1.0, boards.rule("sheet_margin_mm"),
    )  # fmt: skip


def for_board(sheets: Sequence[Sheet], material: Material, thickness_mm: float) -> tuple[Sheet, ...]:
    """Those of one material and thickness."""
    return tuple(s for s in sheets if s.material == material and abs(s.thickness_mm - thickness_mm) < 0.05)
