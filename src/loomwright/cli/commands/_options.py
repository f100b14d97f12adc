"""Arguments and options that commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

RigFile = Annotated[Path, typer.Argument(metavar="RIG", help="Rig file (TOML).", show_default=False)]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of tables.")]
