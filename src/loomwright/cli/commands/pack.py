"""``pack``: every paper of a rig, in one PDF and as a folder of parts."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from loomwright.cli import answer, service
from loomwright.cli.commands import check
from loomwright.cli.commands._options import AsJson, Data, RigFile, Stock
from loomwright.cli.terminal import console, copyable

NAME = "pack"

Before = Annotated[
    Path | None,
    typer.Option("--before", metavar="RIG", help="An earlier stage, for before and after.", show_default=False),
]
Out = Annotated[Path, typer.Option("--out", "-o", metavar="DIR", help="Folder for the papers; made if missing.")]
Paper = Annotated[Literal["a4", "letter"], typer.Option("--paper", help="Size of the paper.")]
Png = Annotated[bool, typer.Option("--png", help="Each drawing as a PNG too, for a message.")]
Units = Annotated[Literal["metric", "us"], typer.Option("--units", help="Units of lengths, temperatures, masses.")]


def command(
    rig: RigFile, before: Before = None, out: Out = Path("build/pack"), paper: Paper = "a4", units: Units = "metric",
    stock: Stock = None, png: Png = False, data: Data = None, as_json: AsJson = False,
) -> int:  # fmt: skip
    """Print the pack: one PDF with every paper, and a folder of its parts.

    Cautions, findings, drawings, wire list, pinouts, cutting plan, labels, ring-out, commissioning sheet, gain cards,
    figures and their sources. Leaves with 1 if there is a Stop.
    """
    service.warm_drawing()
    study = service.open_study(rig)
    first = None if before is None else service.open_study(before)
    earlier = None if first is None else (first, service.findings(first))
    order = service.order(study, rig, paper=paper, units=units, stock=stock, data=data, before=earlier)
    files = service.pack(order, out, pictures=png)
    found = tuple(order.findings)
    if as_json:
        answer.give(NAME, {"rig": check.summary(study.given), "counts": check.counts(found), "files": files})
        return check.exit_code(found)
    on = console()
    check.title(on, study.given)
    on.print()
    on.print(check.count_line(on, found))
    on.print()
    copyable(on, str(files[0]))
    copyable(on, f"{files[0].parent / 'parts'}: {len(files) - 1} files, to print and to open one by one")
    return check.exit_code(found)
