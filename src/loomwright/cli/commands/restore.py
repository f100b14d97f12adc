"""``restore``: the jobs of a backup in place of what is there."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from loomwright.cli import answer
from loomwright.cli.commands._options import AsJson, Data
from loomwright.cli.commands.backup import open_store
from loomwright.cli.terminal import console, copyable, waiting

NAME = "restore"

File = Annotated[Path, typer.Argument(metavar="FILE", help="Zip file that backup wrote.", show_default=False)]


def command(file: File, data: Data = None, as_json: AsJson = False) -> int:
    """Put the jobs of a backup in place of what is there.

    What is there is backed up first, so that a restore can be undone by another. Where the file cannot be used, nothing
    changes.
    """
    with open_store(data) as store, waiting("Restoring"):
        done = store.restore(file)
    if as_json:
        answer.give(NAME, {"jobs": done.jobs, "before": done.before})
        return 0
    on = console()
    copyable(on, f"Restored {'1 job' if done.jobs == 1 else f'{done.jobs} jobs'}", "bold")
    if done.before is not None:
        copyable(on, f"What was there before: {done.before}")
        copyable(on, f"To undo this: loomwright restore {done.before}")
    return 0
