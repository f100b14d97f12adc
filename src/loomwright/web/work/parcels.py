"""Results on their way from the worker to the pages, as bytes.

The usual way of pickling looks up the fields of a frozen class anew for every object. Here each class is looked at
once: its objects travel as their values in order, and are made again by calling the class. What was worked out of an
object and kept with it stays behind: it is worked out again where it is asked for. Arrays that are alike (feed and
return, left and right) travel once, and arrive as what they are everywhere else: not to be written to.
"""

from __future__ import annotations

import copyreg
import io
import pickle
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from operator import attrgetter
from typing import Any

import numpy as np

Reducer = Callable[[Any], str | tuple[Any, ...]]


_FOUND: dict[type, Reducer] = dict(copyreg.dispatch_table)
"""How the objects of each class are taken apart, as far as one has come by."""


class _Reducers(dict[type, Reducer]):
    """The reducers of one parcel, that of its arrays among them."""

    def __init__(self, of_array: Reducer) -> None:
        super().__init__(_FOUND)
        self[np.ndarray] = of_array

    def __missing__(self, kind: type) -> Reducer:
        reducer = _by_values(kind)
        if reducer is None:
            raise KeyError(kind)
        self[kind] = _FOUND[kind] = reducer
        return reducer


def _by_values(kind: type) -> Reducer | None:
    """Takes objects of a class apart into the values of its fields; None where calling it with them is not enough."""
    if not is_dataclass(kind) or hasattr(kind, "__post_init__"):
        return None
    if "__reduce__" in vars(kind) or not all(f.init and not f.kw_only for f in fields(kind)):
        return None
    names = [f.name for f in fields(kind)]
    if not names:
        return None
    if len(names) == 1:
        (name,) = names
        return lambda one: (kind, (getattr(one, name),))
    values = attrgetter(*names)
    return lambda one: (kind, values(one))


def _array(data: bytes, kind: str, shape: tuple[int, ...]) -> np.ndarray:
    return np.frombuffer(data, kind).reshape(shape)


def packed(result: object) -> bytes:
    """A result as bytes, for :func:`pickle.loads`."""
    alike: dict[bytes, bytes] = {}

    def of_array(array: np.ndarray) -> tuple[Any, ...]:
        if array.dtype.hasobject or array.dtype.names:
            reduced: tuple[Any, ...] = array.__reduce__()  # type: ignore[assignment]
            return reduced
        data = array.tobytes()
        return _array, (alike.setdefault(data, data), array.dtype.str, array.shape)

    out = io.BytesIO()
    pickler = pickle.Pickler(out, pickle.HIGHEST_PROTOCOL)
    pickler.dispatch_table = _Reducers(of_array)
    pickler.dump(result)
    return out.getvalue()
