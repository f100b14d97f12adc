"""Many like states by name, held as columns of numbers; a state is made when somebody asks for it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields
from typing import Any, Generic, TypeVar

from loomwright.power.circuit import Floats

State = TypeVar("State")


class Columns(Mapping[str, State], Generic[State]):
    """A mapping whose values are states of one kind, each a row of numbers in the order of the kind's fields.

    A study holds some thousand such states and a page shows a handful: the rest are never made, nor sent one by one.

    Parameters
    ----------
    kind : type
        A frozen class whose fields are all floats.
    index : mapping of str to int
        Row of each name; shared by all that have the same names.
    rows : (names, fields) float
    """

    __slots__ = ("_index", "_kind", "_made", "_rows")

    def __init__(self, kind: type[State], index: Mapping[str, int], rows: Floats) -> None:
        self._kind, self._index, self._rows = kind, index, rows
        self._made: dict[str, State] = {}

    def __getitem__(self, name: str) -> State:
        made = self._made.get(name)
        if made is None:
            made = self._made[name] = self._kind(*self._rows[self._index[name]].tolist())
        return made

    def __iter__(self) -> Iterator[str]:
        return iter(self._index)

    def __len__(self) -> int:
        return len(self._index)

    def __contains__(self, name: object) -> bool:
        return name in self._index

    def __repr__(self) -> str:
        return repr(dict(self))

    def figures(self, field: str) -> Mapping[str, float]:
        """One figure of every state, no state made for it."""
        at = [f.name for f in fields(self._kind)].index(field)  # type: ignore[arg-type]
        return dict(zip(self._index, self._rows[:, at].tolist(), strict=True))

    def __reduce__(self) -> tuple[Any, ...]:
        return (type(self), (self._kind, self._index, self._rows))


def figures(states: Mapping[str, State], field: str) -> Mapping[str, float]:
    """One figure of every state of a mapping, however it is held."""
    if isinstance(states, Columns):
        return states.figures(field)
    return {name: getattr(state, field) for name, state in states.items()}
