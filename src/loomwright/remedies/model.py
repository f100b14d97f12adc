"""What a remedy is, and the list of those that make them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from loomwright.findings.model import Finding
from loomwright.remedies.stock import Stock
from loomwright.rig.changes import Change


@dataclass(frozen=True, slots=True)
class Remedy:
    """One way to mend what a finding says: an instruction, and the changes to the rig file that are just that."""

    title: str
    changes: tuple[Change, ...]


Make = Callable[[Stock, Finding], Iterator[Remedy]]
_MAKERS: dict[str, Make] = {}


def makes(*codes: str) -> Callable[[Make], Make]:
    """Put a function on the list: it makes the remedies of findings with these codes.

    Raises
    ------
    ValueError
        Where a code has one already.
    """

    def enter(make: Make) -> Make:
        for code in codes:
            if code in _MAKERS:
                raise ValueError(f"two makers of remedies for {code}")
            _MAKERS[code] = make
        return make

    return enter


def makers() -> Mapping[str, Make]:
    """Who makes the remedies of which code, as far as the modules are read."""
    return _MAKERS
