"""``compare``: two or more rigs side by side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console
from rich.text import Text

from loomwright.cli import answer, service
from loomwright.cli.commands import check
from loomwright.cli.commands._options import AsJson
from loomwright.cli.numbers import column
from loomwright.cli.terminal import (
    VERDICTS,
    cell,
    clean,
    console,
    copyable,
    heading,
    note,
    put,
    sign,
    table,
    waiting,
)
from loomwright.drawing.figures import NOTHING, three
from loomwright.errors import InputError, Problem
from loomwright.findings.model import SEVERITIES
from loomwright.rig.model import Rig

if TYPE_CHECKING:
    from loomwright.papers.comparison import Comparison, NumberRow

NAME = "compare"
NAMES = "ABCDEFGH"

Rigs = Annotated[
    list[Path], typer.Argument(metavar="A B [C ..]", help="Rig files: as found, as planned, ..", show_default=False)
]

Out = Annotated[
    Path | None,
    typer.Option("--out", "-o", metavar="DIR", help="Also print it as pages into this folder.", show_default=False),
]


def command(rigs: Rigs, out: Out = None, as_json: AsJson = False) -> int:
    """Two or more rigs side by side.

    Findings that are gone, new or still there, volts at the amplifiers, watts in the drivers, loudness, the drill's
    verdicts, hours of music, copper, price and hours to build. Leaves with 1 if the last one has a Stop.
    """
    if not 2 <= len(rigs) <= len(NAMES):
        expected = f"two to {len(NAMES)} rig files"
        raise InputError([Problem("command line", NAME, expected, str(len(rigs)), "Name the rigs to compare.")])
    studies = [service.open_study(path) for path in rigs]
    found = [service.findings(study) for study in studies]
    with waiting("Comparing"):
        from loomwright.papers.comparison import compare

        result = compare(studies, found)
    files = () if out is None else (service.comparison_paper(studies, found, out),)
    if as_json:
        answer.give(NAME, {"rigs": [check.summary(s.given) for s in studies], "comparison": result, "files": files})
    else:
        on = console()
        show(on, [s.given for s in studies], result)
        for path in files:
            on.print()
            copyable(on, str(path))
    return check.exit_code(found[-1])


def show(on: Console, rigs: Sequence[Rig], result: Comparison) -> None:
    """Print the comparison."""
    names = NAMES[: len(rigs)]
    for name, rig in zip(names, rigs, strict=True):
        on.print(Text(clean(f"{name}  {rig.title} ({rig.file})"), style="bold"))
    _findings(on, names, result)
    _volts(on, names, result)
    _numbers(on, "Watts in the drivers, dense programme", "Driver", names, result.watts_w)
    heading(on, "Fault drill")
    made = table("Verdict", *names, left=("Verdict",))
    for verdict, each in result.verdicts.items():
        made.add_row(Text(verdict, style=VERDICTS[verdict]), *(str(n) if n else NOTHING for n in each))
    put(on, made)
    heading(on, "Hours until the engine will not crank")
    made = table("Session", *(f"{n}  h" for n in names), left=("Session",))
    for s in result.sessions:
        hours = (NOTHING if h is None else f"> {three(s.horizon_h)}" if math.isinf(h) else three(h) for h in s.hours_h)
        made.add_row(cell(f"{s.engine}, {s.programme}"), *(cell(h) for h in hours))
    put(on, made)
    heading(on, "In all")
    made = table("", *names, left=("",), fold=("",))
    loud = (NOTHING if v is None else f"{v:.0f}" for v in result.loudness_dba.values)
    made.add_row("loudest at the listening place, dB (A)", *(cell(v) for v in loud))
    made.add_row("copper in the wires, kg", *(cell(f"{(v or 0.0) / 1000.0:.2f}") for v in result.copper_g.values))
    made.add_row("hours to build, h", *(cell(f"{a:.0f} to {b:.0f}") for a, b in result.hours_h))
    if any(p.known for p in result.price):
        made.add_row("price of the parts, as far as known", *(cell(f"{p.known:.0f}") for p in result.price))
    put(on, made)
    if any(p.known for p in result.price):
        left = ", ".join(f"{n} {p.unknown_parts}" for n, p in zip(names, result.price, strict=True))
        note(on, f"Parts without a price: {left}.")
    else:
        note(on, "The catalogue knows no prices.")


def _findings(on: Console, names: str, result: Comparison) -> None:
    heading(on, "Findings")
    made = table("", *names, "finding", left=("", "finding"), fold=("finding",))
    for severity in SEVERITIES:
        counts = (Text(str(n), style="bold") for n in result.severities[severity])
        made.add_row(sign(severity, on), *counts, "")
        for f in result.findings:
            if f.severity == severity:
                first, last = f.counts[0], f.counts[-1]
                state = "gone: " if first and not last else "new: " if last and not first else ""
                style = "green" if first and not last else "yellow" if last and not first else ""
                made.add_row("", *map(str, f.counts), cell(f"{state}{f.code} {f.title}", style))
    put(on, made)


def _volts(on: Console, names: str, result: Comparison) -> None:
    programme = result.volts[0].programme if result.volts else "loud"
    heading(on, f"Volts at the amplifiers, {programme}")
    made = table("Amplifier", "engine", *(f"{n}  V" for n in names), "change V", left=("Amplifier", "engine"),
                 fold=("Amplifier",))  # fmt: skip
    columns = [column(v.volts_v[k] for v in result.volts) for k in range(len(names))]
    columns.append(column(v.change_v for v in result.volts))
    for k, v in enumerate(result.volts):
        made.add_row(cell(v.amplifier), cell(v.engine), *(cell(c[k]) for c in columns))
    put(on, made)


def _numbers(on: Console, title: str, what: str, names: str, rows: Sequence[NumberRow]) -> None:
    heading(on, title)
    unit = rows[0].unit if rows else ""
    made = table(what, *(f"{n}  {unit}" for n in names), left=(what,), fold=(what,))
    columns = [column(r.values[k] for r in rows) for k in range(len(names))]
    for k, row in enumerate(rows):
        made.add_row(cell(row.what), *(cell(c[k]) for c in columns))
    put(on, made)
