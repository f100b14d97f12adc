"""The parts that rigs of this shop are read with: the built-in catalogue, and over it the shop's own."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from loomwright.errors import InputError
from loomwright.jobs.shop import CATALOGUE_FILE
from loomwright.rig import catalogue
from loomwright.rig.catalogue import Catalogue
from loomwright.rig.model import Part

KEPT = 4


@lru_cache(KEPT)
def read_with(own: str) -> Catalogue:
    """The catalogue for the text of the shop's own one; an empty text for the built-in alone.

    Raises
    ------
    InputError
        With every problem of the shop's own.
    """
    return catalogue.parse(own, CATALOGUE_FILE).over(catalogue.builtin()) if own.strip() else catalogue.builtin()


def usable(own: str) -> Catalogue:
    """The same, or the built-in catalogue alone while the shop's own cannot be used."""
    try:
        return read_with(own)
    except InputError:
        return catalogue.builtin()


@lru_cache(KEPT)
def words(own: str) -> tuple[tuple[Part, str], ...]:
    """Every part with the words that it is searched by."""
    found = usable(own)
    parts = [found.part(i) for i in found.ids()]
    return tuple((p, f"{p.title} {p.id} {p.family}".replace("_", " ").casefold()) for p in parts)


def search(own: str, wanted: str) -> tuple[Part, ...]:
    """Parts that hold every word; those that begin with the first word come first."""
    split = wanted.casefold().replace("_", " ").split()
    found = [(p, text) for p, text in words(own) if all(w in text for w in split)]
    found.sort(key=lambda f: (not (split and f[1].startswith(split[0])), f[0].family, f[0].title))
    return tuple(p for p, _ in found)


def own_ids(own: str) -> Iterator[str]:
    """Ids of the shop's own parts."""
    found = usable(own)
    return (i for i in found.ids() if found.tables[i][1] == CATALOGUE_FILE)
