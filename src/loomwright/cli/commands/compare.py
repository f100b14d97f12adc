"""``compare``: two rigs side by side."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.text import Text

from loomwright.cli import answer, service
from loomwright.cli.commands import check
from loomwright.cli.commands._options import AsJson
from loomwright.cli.comparison import PROGRAMME, Comparison, compare
from loomwright.cli.numbers import NOTHING, column
from loomwright.cli.terminal import VERDICTS, cell, clean, console, copyable, heading, put, sign, table, waiting
from loomwright.findings.model import SEVERITIES
from loomwright.rig.model import Rig

NAME = "compare"

First = Annotated[Path, typer.Argument(metavar="A", help="Rig file, say as found.", show_default=False)]
Second = Annotated[Path, typer.Argument(metavar="B", help="Rig file, say as planned.", show_default=False)]

Out = Annotated[
    Path | None,
    typer.Option("--out", "-o", metavar="DIR", help="Also print it as a page into this folder.", show_default=False),
]


def command(first: First, second: Second, out: Out = None, as_json: AsJson = False) -> int:
    """Two rigs side by side.

    Findings that are gone, new or still there, volts at the amplifiers, and the drill's verdicts. Leaves with 1 if B
    has a Stop.
    """
    a, b = service.open_study(first), service.open_study(second)
    found_a, found_b = service.findings(a), service.findings(b)
    with waiting("Comparing"):
        result = compare(a, b, found_a, found_b)
    files = () if out is None else (service.comparison_paper(a, b, found_a, found_b, out),)
    if as_json:
        rigs = {"first": check.summary(a.given), "second": check.summary(b.given)}
        answer.give(NAME, {**rigs, "comparison": result, "files": files})
    else:
        on = console()
        show(on, a.given, b.given, result)
        for path in files:
            on.print()
            copyable(on, str(path))
    return check.exit_code(found_b)


def show(on: Console, first: Rig, second: Rig, result: Comparison) -> None:
    """Print the comparison."""
    on.print(Text(clean(f"A  {first.title} ({first.file})"), style="bold"))
    on.print(Text(clean(f"B  {second.title} ({second.file})"), style="bold"))
    heading(on, "Findings")
    made = table("", "A", "B", "finding", left=("", "finding"), fold=("finding",))
    for severity in SEVERITIES:
        a, b = result.severities[severity]
        made.add_row(sign(severity, on), Text(str(a), style="bold"), Text(str(b), style="bold"), "")
        for f in result.findings:
            if f.severity == severity:
                state = "gone: " if not f.second else "new: " if not f.first else ""
                style = "green" if not f.second else "yellow" if not f.first else ""
                made.add_row("", str(f.first), str(f.second), cell(f"{state}{f.code} {f.title}", style))
    put(on, made)
    heading(on, f"Volts at the amplifiers, {PROGRAMME}")
    made = table("Amplifier", "engine", "A  V", "B  V", "change V", left=("Amplifier", "engine"), fold=("Amplifier",))
    columns = (
        column(v.first_v for v in result.volts),
        column(v.second_v for v in result.volts),
        column(v.change_v for v in result.volts),
    )
    for k, v in enumerate(result.volts):
        made.add_row(cell(v.amplifier), cell(v.engine), *(cell(c[k]) for c in columns))
    put(on, made)
    heading(on, "Fault drill")
    made = table("Verdict", "A", "B", left=("Verdict",))
    for verdict, (a, b) in result.verdicts.items():
        made.add_row(Text(verdict, style=VERDICTS[verdict]), str(a) if a else NOTHING, str(b) if b else NOTHING)
    put(on, made)
