"""Labels: both ends of each wire say where they belong."""

from __future__ import annotations

import csv
import io
import unicodedata
from collections.abc import Iterable, Sequence

MOST = 28
"""Characters of a terminal on a label before it is cut in the middle."""
_STARTS = ("=", "+", "-", "@", "\t", "\r")


def label(wire_id: str, here: str, there: str) -> str:
    """Text of one label: wire, this end, then where the other end goes; each cut to fit."""
    return f"{short(wire_id)}\n{short(here)}\n> {short(there)}"


def short(text: str, most: int = MOST) -> str:
    """A name on one line that reads one way only: direction marks and controls as a sign, the middle cut out."""
    seen = "".join(
        "\ufffd" if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Cn", "Co", "Zl", "Zp") else c for c in text
    )
    if len(seen) <= most:
        return seen
    head = (most - 2) * 2 // 3
    return f"{seen[:head]}..{seen[head - most + 2 :]}"


def csv_text(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Rows as CSV that a spreadsheet takes as text: RFC 4180, and no cell that starts like a formula."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([safe(h) for h in head])
    writer.writerows([safe(cell) for cell in row] for row in rows)
    return out.getvalue()


def safe(value: object) -> str:
    """A cell: numbers as they are; text that begins like a formula gets an apostrophe before it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:.10g}"
    text = str(value)
    return f"'{text}" if text.lstrip(" \u00a0\ufeff").startswith(_STARTS) or text.startswith(_STARTS) else text
