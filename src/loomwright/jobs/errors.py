"""What can go wrong in the store, beside an input that cannot be used."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING

from loomwright.errors import LoomwrightError

if TYPE_CHECKING:
    from loomwright.jobs.model import Revision, StockLine


class StoreError(LoomwrightError, RuntimeError):
    """The store cannot be opened, read or written; the message says what to do."""


class Deleted(LoomwrightError, LookupError):
    """The job was deleted. It can be restored, then written to."""


class Overtaken(LoomwrightError, RuntimeError):
    """Somebody else changed the line first. Nothing was written.

    Attributes
    ----------
    theirs : StockLine
        What stands there now.
    """

    def __init__(self, theirs: StockLine) -> None:
        self.theirs = theirs
        super().__init__("This line of the stock was changed meanwhile. Look at what stands there, and save again.")


class Conflict(LoomwrightError, RuntimeError):
    """Somebody else saved first. Both texts are kept.

    Attributes
    ----------
    base : Revision
        What the writer started from. Revision 0, with an empty text, where the store does not know it.
    mine : Revision
        What the writer wished to save: kept in the history as a side revision.
    theirs : Revision
        What stands there now.
    diff : str
        Unified diff from ``theirs`` to ``mine``.
    """

    def __init__(self, base: Revision, mine: Revision, theirs: Revision) -> None:
        self.base = base
        self.mine = mine
        self.theirs = theirs
        super().__init__(
            f"Revision {theirs.number} was saved after revision {base.number}, which this edit started from. "
            f"The edit is kept as revision {mine.number}; compare the two and save again."
        )

    @property
    def diff(self) -> str:
        """Unified diff from ``theirs`` to ``mine``."""
        return "".join(
            line if line.endswith("\n") else line + "\n"
            for line in difflib.unified_diff(
                self.theirs.text.splitlines(keepends=True),
                self.mine.text.splitlines(keepends=True),
                f"revision {self.theirs.number}",
                f"revision {self.mine.number}",
            )
        )
