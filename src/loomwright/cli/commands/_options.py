"""Arguments and options that commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

RigFile = Annotated[Path, typer.Argument(metavar="RIG", help="Rig file (TOML).", show_default=False)]
Data = Annotated[
    Path | None,
    typer.Option("--data", metavar="DIR", help="Folder of the jobs. Left out: the shop's own.", show_default=False),
]
Stock = Annotated[
    Path | None,
    typer.Option(
        "--stock", metavar="FILE",
        help="Spools in stock: a file (TOML), or `shop` for the stock kept in the browser. Left out: stock.toml beside "
        "the rig.",
        show_default=False,
    ),
]  # fmt: skip
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of tables.")]
