"""``pack``: the printed documents."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from loomwright.cli import answer, service
from loomwright.cli.commands import check
from loomwright.cli.commands._options import AsJson, RigFile
from loomwright.cli.terminal import console, copyable

NAME = "pack"

Out = Annotated[Path, typer.Option("--out", "-o", metavar="DIR", help="Folder for the documents; made if missing.")]


Sheet = Annotated[Literal["a4", "letter"], typer.Option("--sheet", help="Size of the paper.")]


def command(rig: RigFile, out: Out = Path("build/pack"), sheet: Sheet = "a4", as_json: AsJson = False) -> int:
    """Print the papers: a PDF report, a gain card for each amplifier, and the single-line diagram.

    Leaves with 1 if there is a Stop.
    """
    study = service.open_study(rig)
    found = service.findings(study)
    files = service.papers(study, found, out, sheet)
    if as_json:
        answer.give(NAME, {"rig": check.summary(study.given), "counts": check.counts(found), "files": files})
        return check.exit_code(found)
    on = console()
    check.title(on, study.given)
    on.print()
    on.print(check.count_line(on, found))
    on.print()
    for f in files:
        copyable(on, str(f))
    return check.exit_code(found)
