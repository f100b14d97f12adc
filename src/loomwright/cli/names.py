"""Values of options that name nothing, and the nearest name that exists."""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.errors import InputError, Problem


def no_such(place: str, what: str, given: str, valid: Iterable[str]) -> InputError:
    """The error for an option's value that names nothing: which names there are, and the nearest."""
    from loomwright.rig.words import nearest, some

    names = list(valid)
    near = nearest(given, names)
    remedy = f"Did you mean {near}?" if near else "Choose one of these."
    return InputError([Problem("command line", place, f"a {what}: {some(names)}", given, remedy)])
