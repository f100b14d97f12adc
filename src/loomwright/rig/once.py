"""What follows from a rig, worked out once and kept with it."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TypeVar

Whole = TypeVar("Whole")
Result = TypeVar("Result")


def once(work: Callable[[Whole], Result]) -> Callable[[Whole], Result]:
    """A pure function of one frozen value (a rig, a study) whose result is kept for as long as that value is.

    A copy made with ``dataclasses.replace`` starts anew. What is returned is shared: it is read, never changed.
    """
    key = f"{work.__module__}.{work.__qualname__}"

    @wraps(work)
    def kept(whole: Whole) -> Result:
        if key not in whole.__dict__:
            whole.__dict__[key] = work(whole)
        found: Result = whole.__dict__[key]
        return found

    return kept
