"""``init``: a rig file to start from."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated, Literal

import typer

from loomwright.cli import answer, samples
from loomwright.cli.commands._options import AsJson
from loomwright.cli.terminal import console, copyable
from loomwright.errors import InputError, Problem

NAME = "init"

Folder = Annotated[
    Path, typer.Argument(metavar="DIR", help="Folder for the rig file; made if missing.", show_default=False)
]
Name = Annotated[str, typer.Option("--name", metavar="NAME", help="Name of the file, without .toml.")]
Sample = Annotated[
    Literal["trike", "buggy", "launch", "blank"],
    typer.Option("--from", help="What to start from: a demo vehicle, or a small commented rig."),
]


def command(folder: Folder, name: Name = "rig", sample: Sample = "blank", as_json: AsJson = False) -> int:
    """Write a commented rig file to start from.

    It never writes over a file that is there.
    """
    if not re.fullmatch(r"[\w][\w. -]*", name) or name.endswith("."):
        raise InputError(
            [
                Problem(
                    "command line",
                    "--name",
                    "letters, digits, spaces, dots, hyphens and underscores",
                    name,
                    "Give a plain file name; the folder is an argument of its own.",
                )
            ]
        )
    path = folder / (name if name.endswith(".toml") else f"{name}.toml")
    text = samples.text(sample)
    folder.mkdir(parents=True, exist_ok=True)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        raise InputError(
            [
                Problem(
                    str(path),
                    "",
                    "no file by that name yet",
                    "a file that is already there",
                    "Choose another --name or folder; init never writes over a file.",
                )
            ]
        ) from None
    if as_json:
        answer.give(NAME, {"file": str(path), "from": sample})
        return 0
    on = console()
    copyable(on, f"Wrote {path}", "bold")
    copyable(on, f"Next: change it to what is in the vehicle, then: loomwright check {path}")
    return 0
