"""Labels: both ends of each wire say where they belong."""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterable, Sequence

from loomwright.errors import InputError, Problem
from loomwright.rig.words import plain

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


def size_of(text: str) -> tuple[tuple[float, float], tuple[float, float]]:
    """Size and gaps of a label from ``63.5x38.1`` or ``63.5x38.1+2.5x0`` [mm].

    Raises
    ------
    InputError
        Where it is neither.
    """
    number = r"(\d+(?:\.\d+)?)"
    found = re.fullmatch(rf"{number}x{number}(?:\+{number}x{number})?", text.strip().lower())
    if found is None:
        raise unusable(
            "width x height in mm, such as 63.5x38.1 or 63.5x38.1+2.5x0", plain(text, 40),
            "Measure one label of the sheet, width first; the gaps come after the plus.",
        )  # fmt: skip
    across, down, gap, drop = (float(g or 0.0) for g in found.groups())
    return (across, down), (gap, drop)


def unusable(expected: str, received: str, remedy: str) -> InputError:
    """What is wrong with the size of a label."""
    return InputError([Problem("command line", "loom --label", expected, received, remedy)])


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
