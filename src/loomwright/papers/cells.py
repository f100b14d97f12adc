"""Tables as data for the typesetter: words, and numbers aligned on their point."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from loomwright.drawing.figures import NOTHING, three
from loomwright.drawing.marks import clean

Value = str | float | None
WIDEST = 24
"""Characters of the widest column that is set as wide as it needs."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its title, the unit of its numbers, and its share of the width (0: as wide as it needs)."""

    title: str
    unit: str = ""
    number: bool = False
    share: float = 0.0
    strong: bool = False


def table(columns: Sequence[Column], rows: Iterable[Sequence[Value]]) -> dict[str, Any]:
    """A table for the template. A float becomes three significant digits; None becomes a dash."""
    body = [list(row) for row in rows]
    texts = [[_text(value) for value in row] for row in body]
    for k, column in enumerate(columns):
        if column.number:
            padded = aligned([row[k] for row in texts])
            for row, cell in zip(texts, padded, strict=True):
                row[k] = cell
    heads = [asdict(_yielding(c, [row[k] for row in texts])) for k, c in enumerate(columns)]
    cells = [
        [dict(zip(("text", "pad"), t if isinstance(t, tuple) else (t, ""), strict=True)) for t in r] for r in texts
    ]
    return {"columns": heads, "rows": cells}


def _yielding(column: Column, texts: Sequence[Any]) -> Column:
    """A column as wide as it needs, or with a share of the width where that would leave the others too little."""
    if column.number or column.share or all(len(t) <= WIDEST for t in texts):
        return column
    return replace(column, share=0.8)


def _text(value: Value) -> Any:
    if value is None:
        return NOTHING
    return clean(value) if isinstance(value, str) else three(value)


def aligned(texts: Sequence[str]) -> list[tuple[str, str]]:
    """Each number with the unseen digits that bring its point under those of its column."""
    tails = [text.partition(".")[2] for text in texts]
    widest = max((len(t) for t in tails), default=0)
    out = []
    for text, tail in zip(texts, tails, strict=True):
        missing = widest - len(tail)
        out.append((text, ("." if widest and not tail else "") + "0" * missing if missing else ""))
    return out
