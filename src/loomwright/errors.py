"""What goes wrong, said so that the reader can mend it.

One root, children that are also built-in kinds. An :class:`InputError` carries every problem found,
each with file, place, what was expected, what was received and what to do.
"""

from __future__ import annotations

from dataclasses import dataclass


class LoomwrightError(Exception):
    """Root of every error that Loomwright raises on purpose."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing in an input that cannot be used.

    Attributes
    ----------
    file : str
        Name of the file as the user gave it.
    place : str
        Where in the file, as a dotted path: ``item.rear_amp.part`` or ``wire[3] (P3).from``.
    expected : str
        What would have been right.
    received : str
        What stands there.
    remedy : str
        What to do, as an instruction.
    """

    file: str
    place: str
    expected: str
    received: str
    remedy: str

    def __str__(self) -> str:
        return (
            f"{self.file}: {self.place}: expected {self.expected}; received {self.received}. "
            f"{self.remedy}"
        )


class InputError(LoomwrightError, ValueError):
    """The input cannot be used. All problems are listed, not only the first."""

    def __init__(self, problems: tuple[Problem, ...] | list[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(p) for p in self.problems))

    def __reduce__(self) -> tuple[type[InputError], tuple[tuple[Problem, ...]]]:
        """So that it comes out of another process as it went in."""
        return type(self), (self.problems,)


class UnknownName(LoomwrightError, KeyError):
    """A figure, finding, part or size by that name does not exist."""

    def __str__(self) -> str:
        return str(self.args[0]) if self.args else ""


class EngineMissing(LoomwrightError, RuntimeError):
    """A program or package that this step needs is not installed; the message says how to get it."""
