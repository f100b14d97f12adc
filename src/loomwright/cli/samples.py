"""The rigs that come with the program: three demo vehicles, and a small one to start from."""

from __future__ import annotations

from importlib.resources import files

FILES = {
    "trike": "trike_planned.toml",
    "trike as found": "trike_as_found.toml",
    "buggy": "buggy.toml",
    "launch": "launch.toml",
    "blank": "blank.toml",
}


def text(name: str) -> str:
    """The rig file of a sample, comments and all."""
    return files("loomwright").joinpath("demo", FILES[name]).read_text(encoding="utf-8")
