"""What belongs to the shop as one member of a backup: ``shop.json``."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field
from sqlalchemy import select
from sqlalchemy.orm import Session

from loomwright.jobs.fields import document, line
from loomwright.jobs.layout import Strict, Time
from loomwright.jobs.model import StockLine
from loomwright.jobs.parcel import Parcel
from loomwright.jobs.schema import Base, ShopRow, StockRow
from loomwright.jobs.stock import checked
from loomwright.jobs.unpack import read_file

SHOP = "shop.json"
MOST_BYTES = 500_000_000
Count = Annotated[int, Field(ge=0, le=999_999_999)]


class TextEntry(Strict):
    """One revision of settings or catalogue."""

    key: Literal["settings", "catalogue"]
    number: Count
    parent: Count
    side: bool
    text: str
    note: str
    at: Time
    by: str


class StockEntry(Strict):
    """One line of the stock."""

    id: Annotated[str, Field(pattern="^[0-9a-z]{10}$")]
    kind: Literal["wire", "fuse", "connector", "sheet", "other"]
    number: Count
    at: Time
    by: str
    part: str
    size: str
    metal: str
    insulation_c: int | None
    colour: str
    length_mm: float | None
    width_mm: float | None = None
    thickness_mm: float | None = None
    material: str = ""
    type: str
    rating_a: float | None
    count: int | None
    note: str
    deleted_at: Time | None


class ShopFile(Strict):
    """``shop.json``."""

    format: Literal[1]
    texts: list[TextEntry]
    stock: list[StockEntry]


def pack_shop(session: Session) -> bytes:
    """Settings, catalogue and stock, with what was before and what was taken away."""
    texts = session.scalars(select(ShopRow).order_by(ShopRow.key, ShopRow.number))
    lines = session.scalars(select(StockRow).order_by(StockRow.at, StockRow.id))
    found = ShopFile(
        format=1,
        texts=[TextEntry.model_validate({k: getattr(r, k) for k in TextEntry.model_fields}) for r in texts],
        stock=[StockEntry.model_validate({k: getattr(r, k) for k in StockEntry.model_fields}) for r in lines],
    )
    return (found.model_dump_json(indent=1) + "\n").encode()


def unpack_shop(parcel: Parcel) -> list[Base]:
    """The rows of a backup's shop, every field checked as if it were typed in. Raises InputError."""
    found = read_file(parcel, SHOP, ShopFile)
    for ids in ([(t.key, t.number) for t in found.texts], [s.id for s in found.stock]):
        if len(set(ids)) != len(ids):
            raise parcel.bad(SHOP, "each line once", "one of them twice")
    rows: list[Base] = [
        ShopRow(
            key=t.key, number=t.number, parent=t.parent, side=t.side, text=document(t.key, t.text),
            note=line("note", t.note, 200), at=t.at, by=line("by", t.by),
        )
        for t in found.texts
    ]  # fmt: skip
    for s in found.stock:
        sound = checked(StockLine(**{k: getattr(s, k) for k in StockEntry.model_fields}))
        rows.append(StockRow(**{k: getattr(sound, k) for k in StockEntry.model_fields} | {"by": line("by", s.by)}))
    return rows
