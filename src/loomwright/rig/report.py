"""Problems as they are found, kept in the order of the file."""

from __future__ import annotations

from dataclasses import dataclass, field

from loomwright.errors import InputError, Problem
from loomwright.rig.words import nearest, plain, show, some


@dataclass
class Report:
    """Collects every problem of one input, so that all can be said at once.

    ``said`` holds keys that cannot be used and have been reported: nothing more is said about them.
    """

    file: str
    problems: list[Problem] = field(default_factory=list)
    said: set[str] = field(default_factory=set)

    def add(self, place: str, expected: str, received: str, remedy: str) -> None:
        if any(place == s or place.startswith((f"{s}.", f"{s}[")) for s in self.said):
            return
        problem = Problem(self.file, plain(place), plain(expected, 2000), plain(received), plain(remedy, 2000))
        if problem not in self.problems:
            self.problems.append(problem)

    def unknown(self, place: str, what: str, name: str, names: list[str]) -> None:
        """A name that is none of ``names``; the remedy gives the nearest one."""
        near = nearest(name, names)
        remedy = f'Did you mean "{near}"?' if near else f"Use one of: {some(names)}."
        self.add(place, f"{what}: {some(names)}", show(name), remedy)

    def raise_if_any(self) -> None:
        if self.problems:
            raise InputError(self.problems)
