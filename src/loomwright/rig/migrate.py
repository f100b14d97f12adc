"""Rig files of older formats brought up to the current one.

A migration takes the tables of format n and gives those of format n + 1. Write it so that it changes nothing in
its input, and add it to :data:`MIGRATIONS` under n.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from loomwright.errors import InputError, Problem
from loomwright.rig.words import show

CURRENT = 1
Tables = dict[str, object]
Migration = Callable[[Tables], Tables]
MIGRATIONS: Mapping[int, Migration] = {}


def to_current(
    data: Tables, file_name: str, migrations: Mapping[int, Migration] = MIGRATIONS, current: int = CURRENT
) -> Tables:
    """The tables of a rig file in format ``current``; the input is left as it is.

    Raises
    ------
    InputError
        Where the format is missing, is no whole number, is newer than ``current``, or is too old for any migration.
    """
    found = data.get("format")
    if found is None:
        raise _error(file_name, current, "nothing", f"Write format = {current} at the top of the file.")
    if isinstance(found, bool) or not isinstance(found, int) or found < 1:
        raise _error(file_name, current, show(found), f"Write format = {current}, a whole number.")
    if found > current:
        raise _error(
            file_name, current, f"{show(found)}, made for a newer Loomwright",
            "Update Loomwright, or save an older format.",
        )  # fmt: skip
    for n in range(found, current):
        if n not in migrations:
            received = f"{n}, which is too old"
            raise _error(file_name, current, received, "Open it with an earlier Loomwright and save it.")
        data = migrations[n](dict(data)) | {"format": n + 1}
    return data


def _error(file_name: str, current: int, received: str, remedy: str) -> InputError:
    return InputError([Problem(file_name, "format", f"a format up to {current}", received, remedy)])
