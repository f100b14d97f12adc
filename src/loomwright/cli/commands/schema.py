"""``schema``: the JSON schema of the rig file, for editors."""

from __future__ import annotations

import json
import sys

from loomwright.cli import answer
from loomwright.cli.commands._options import AsJson

NAME = "schema"


def command(as_json: AsJson = False) -> int:
    """Print the JSON schema of the rig file.

    For an editor that completes and checks TOML.
    """
    from loomwright.rig.schema import json_schema

    if as_json:
        answer.give(NAME, {"schema": json_schema()})
    else:
        sys.stdout.write(json.dumps(json_schema(), indent=2, ensure_ascii=True) + "\n")
    return 0
