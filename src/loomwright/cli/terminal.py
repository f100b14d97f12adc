"""The terminal: consoles, signs, tables, and a sign of life when something takes longer than a second."""

from __future__ import annotations

import sys
import threading
import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TextIO

from rich.box import SIMPLE_HEAD
from rich.console import Console, RenderableType
from rich.measure import Measurement
from rich.segment import Segment, Segments
from rich.table import Table
from rich.text import Text

from loomwright.findings.model import Severity

WIDEST = 120
SIGNS: dict[str, tuple[str, str]] = {
    "Stop": ("\u2298", "bold red"),
    "Fix": ("\u25b2", "bold yellow"),
    "Know": ("\u25cf", "bold blue"),
}
VERDICTS: dict[str, str] = {
    "burned": "bold red",
    "not cleared": "red",
    "spread": "yellow",
    "cleared": "green",
    "no harm": "green",
}
_BIDI = set("\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def clean(text: str) -> str:
    """Text from a file, fit to print: control and direction characters become visible escapes."""
    if text.isprintable() and not _BIDI.intersection(text):
        return text
    return "".join(
        ch
        if ch == "\n" or not (unicodedata.category(ch) in ("Cc", "Cs") or ch in _BIDI)
        else ch.encode("unicode_escape", "surrogatepass").decode("ascii")
        for ch in text
    )


def console(stream: TextIO | None = None) -> Console:
    """A console that prints text as it is: no markup, no guessed colours. ``NO_COLOR`` is honoured."""
    stream = sys.stdout if stream is None else stream
    reconfigure = getattr(stream, "reconfigure", None)
    if reconfigure is not None:
        reconfigure(errors="replace")
    made = Console(file=stream, markup=False, emoji=False, highlight=False)
    if made.width > WIDEST:
        made.width = WIDEST
    return made


def sign(severity: Severity, on: Console, count: int | None = None) -> Text:
    """The sign of a severity, always with its word: ``⊘ Stop``."""
    mark, style = SIGNS[severity]
    words = severity if count is None else f"{count} {severity}"
    return Text(f"{mark} {words}" if unicode_ok(on) else words, style=style)


def unicode_ok(on: Console) -> bool:
    """True if the stream can carry signs."""
    return (on.encoding or "").lower().replace("-", "").startswith("utf")


def copyable(on: Console, text: str, style: str = "") -> None:
    """A line with a path or a command in it: never broken by us, so that it can be copied whole."""
    on.print(Text(clean(text), style=style), soft_wrap=True)


def put(on: Console, what: RenderableType) -> None:
    """Print a table or a block, without blanks at the ends of its lines.

    Where a table is too wide its names are broken, never its figures: a figure that lost its end is a wrong one.
    """
    if isinstance(what, Table) and not fits(on, what):
        for column in what.columns:
            column.no_wrap = column.no_wrap and column.justify != "left"
    for line in on.render_lines(what, pad=False):
        while line and not line[-1].text.strip():
            line.pop()
        if line:
            line[-1] = Segment(line[-1].text.rstrip(), line[-1].style)
        on.print(Segments([*line, Segment.line()]))


def heading(on: Console, text: str) -> None:
    """A heading with a blank line before it."""
    on.print()
    on.print(Text(clean(text), style="bold"))


def note(on: Console, text: str) -> None:
    """A secondary line."""
    on.print(Text(clean(text), style="dim"))


def table(*columns: str, left: Sequence[str] = (), fold: Sequence[str] = ()) -> Table:
    """A table whose columns stand right-aligned unless named in ``left``; only those in ``fold`` may wrap."""
    made = Table(box=SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0), header_style="bold", show_edge=False)
    for name in columns:
        wraps = name in fold
        made.add_column(
            Text(name),
            justify="left" if name in left else "right",
            no_wrap=not wraps,
            overflow="fold",
            vertical="top",
            ratio=None,
        )
    return made


def fits(on: Console, made: Table) -> bool:
    """Whether a table stands on the console with no name broken."""
    return Measurement.get(on, on.options.update(max_width=10_000), made).maximum <= on.width


def cell(value: str, style: str = "") -> Text:
    """A table cell holding data: never read as markup."""
    return Text(clean(value), style=style)


@contextmanager
def waiting(words: str) -> Iterator[None]:
    """Says on the error stream what is being done, if it takes more than a second and someone is watching."""
    on = console(sys.stderr)
    if not on.is_terminal:
        yield
        return
    status = on.status(Text(clean(words)))
    timer = threading.Timer(1.0, status.start)
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
        timer.join()
        status.stop()
