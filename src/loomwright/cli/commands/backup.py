"""``backup``: every job in one file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from loomwright.cli import answer
from loomwright.cli.commands._options import AsJson, Data
from loomwright.cli.terminal import console, copyable, waiting
from loomwright.errors import InputError, Problem

if TYPE_CHECKING:
    from loomwright.jobs.store import Store

NAME = "backup"

File = Annotated[Path, typer.Argument(metavar="FILE", help="Zip file to write.", show_default=False)]


def command(file: File, data: Data = None, as_json: AsJson = False) -> int:
    """Write all jobs into one file.

    Rigs and notes with their history, photographs, readings, deleted ones among them. Others may go on working
    meanwhile. The file appears whole or not at all.
    """
    with open_store(data, must_exist=True) as store, waiting("Backing up"):
        made = store.backup(file)
    if as_json:
        size_bytes, missing = made.size_bytes, made.missing
        answer.give(NAME, {"file": made.path, "jobs": made.jobs, "size_bytes": size_bytes, "missing": missing})
        return 0
    on = console()
    jobs = "1 job" if made.jobs == 1 else f"{made.jobs} jobs"
    copyable(on, f"Wrote {made.path}: {jobs}, {made.size_bytes / 1e6:.1f} MB", "bold")
    for sha256 in made.missing:
        copyable(on, f"Not in it, because its file is missing: photograph {sha256[:12]}", "yellow")
    return 0


def open_store(data: Path | None, must_exist: bool = False) -> Store:
    """The store of a folder, or the shop's own. Raises InputError where it must exist and does not."""
    from loomwright.jobs.store import Store, default_url, url_in

    url = default_url() if data is None else url_in(data.expanduser())
    if must_exist and "://" not in url and not Path(url).is_file():
        raise InputError(
            [Problem(url, "", "a store of jobs", "none",
                     "Name its folder with --data, or make the first job: loomwright serve")]
        )  # fmt: skip
    return Store(url)
