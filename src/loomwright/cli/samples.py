"""The rigs that ``init`` can start from: the demo vehicles, and a small one."""

from __future__ import annotations

from importlib.resources import files

AS_FOUND = "carnival_trike_as_found"
VEHICLES = {"trike": "carnival_trike_planned", "buggy": "harvest_buggy", "launch": "canal_launch"}
BLANK = "blank"


def text(name: str) -> str:
    """The rig file of a sample, comments and all. ``name`` is a key of ``VEHICLES``, ``BLANK`` or ``AS_FOUND``."""
    if name == BLANK:
        return files("loomwright.cli").joinpath("blank_rig.toml").read_text(encoding="utf-8")
    from loomwright import demo

    return demo.text(VEHICLES.get(name, name))


def stock_text() -> str:
    """The stock file of the demo workshop: spools of wire, invented."""
    from loomwright import demo

    return demo.stock_path().read_text(encoding="utf-8")
