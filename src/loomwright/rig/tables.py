"""Tables checked against the keys they may hold, and what pydantic found put into the words of the trade."""

from __future__ import annotations

import types
from collections.abc import Callable, Mapping, Sequence
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt, MaxLen, MinLen
from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from loomwright.rig.report import Report
from loomwright.rig.words import nearest, show, some

M = TypeVar("M", bound=BaseModel)
_UNITS = (
    ("_mv_per_c", "mV/C"), ("_mohm", "mohm"), ("_ohm", "ohm"), ("_mm2", "mm2"), ("_mm", "mm"), ("_rpm", "rpm"),
    ("_pct", "%"), ("_ma", "mA"), ("_ah", "Ah"), ("_uf", "uF"), ("_mh", "mH"), ("_a", "A"), ("_v", "V"), ("_w", "W"),
    ("_h", "h"), ("_c", "C"), ("_g", "g"), ("rpm", "rpm"),
)  # fmt: skip
_NO_UNIT = {"acceptance_c": "1/h", "price": "catalogue's currency"}


def unit(key: str) -> str:
    """Unit that a key's name ends in; empty where it has none."""
    if key in _NO_UNIT:
        return _NO_UNIT[key]
    return next((u for ending, u in _UNITS if key.endswith(ending)), "")


def keys(model: type[BaseModel]) -> dict[str, FieldInfo]:
    """Fields of a table under the names the file uses."""
    return {f.alias or name: f for name, f in model.model_fields.items()}


def expected(key: str, field: FieldInfo) -> str:
    """What a key may hold, in words: ``a number from 0 to 70 [C]``."""
    mark = unit(key)
    return _kind(field.annotation, field.metadata) + (f" [{mark}]" if mark else "")


def _kind(annotation: Any, metadata: Sequence[Any]) -> str:
    origin = get_origin(annotation)
    if origin is Annotated:
        inner, *more = get_args(annotation)
        return _kind(inner, [*more, *metadata])
    if origin is Literal:
        return "one of " + ", ".join(show(v) for v in get_args(annotation))
    if origin in (Union, types.UnionType):
        options = [a for a in get_args(annotation) if a is not type(None)]
        if len(options) == 1:
            return _kind(options[0], metadata)
        return "one of the tables " + ", ".join(_kind(o, ()) for o in options)
    if origin in (list, tuple):
        (inner, *_) = get_args(annotation)
        low, high = _bound(metadata, MinLen, "min_length"), _bound(metadata, MaxLen, "max_length")
        count = f"of {low} values " if low is not None and low == high else ""
        return f"a list {count}of {_kind(inner, ()).removeprefix('a ').removeprefix('one ').removeprefix('of ')}"
    if origin is dict:
        return "a table"
    if annotation is bool:
        return "true or false"
    if annotation in (float, int):
        return ("a number" if annotation is float else "a whole number") + _range(metadata)
    if annotation is str:
        high = _bound(metadata, MaxLen, "max_length")
        return "text" + (f" of at most {high:,} characters" if high is not None else "")
    if annotation is Any:
        from loomwright.rig.keys import FUSE_RULE

        return FUSE_RULE
    return "a table"


def _bound(metadata: Sequence[Any], kind: type, attribute: str) -> Any:
    return next((getattr(m, attribute) for m in metadata if isinstance(m, kind)), None)


def _range(metadata: Sequence[Any]) -> str:
    low, above = _bound(metadata, Ge, "ge"), _bound(metadata, Gt, "gt")
    high, below = _bound(metadata, Le, "le"), _bound(metadata, Lt, "lt")
    text = ""
    if low is not None:
        text = f" from {low:,g}"
    elif above is not None:
        text = f" above {above:,g}"
    if high is not None:
        return text + (f" to {high:,g}" if low is not None else f"{' and' if text else ''} up to {high:,g}")
    if below is not None:
        return text + f"{' and' if text else ''} below {below:,g}"
    return text


def check(
    model: type[M], table: object, report: Report, place: Callable[[tuple[int | str, ...]], str]
) -> M | None:
    """The table as its keys, or None with every problem in the report.

    ``place`` writes a path inside the table the way the whole file would call it.
    """
    try:
        return model.model_validate(table)
    except ValidationError as error:
        for found in error.errors(include_url=False, include_context=False):
            _add(model, found, table, report, place)
        return None


def _add(
    model: type[BaseModel],
    found: ErrorDetails,
    table: object,
    report: Report,
    place: Callable[[tuple[int | str, ...]], str],
) -> None:
    path = tuple(found["loc"])
    where = place(path)
    if not path:
        report.add(where, "a table", show(table), "Write it as a table with its keys.")
        return
    owner, field, key = _owner(model, path)
    if found["type"] == "extra_forbidden":
        names = sorted(keys(owner))
        near = nearest(str(path[-1]), names)
        remedy = f'Did you mean "{near}"?' if near else "Take it out, or put it in the notes."
        report.add(where, f"one of the keys {some(names, 30)}", f"an unknown key {show(path[-1])}", remedy)
    elif found["type"] == "missing":
        want = expected(key, field) if field is not None else "a value"
        report.add(where, want, "nothing", f"Add the key {show(key)}.")
    else:
        want = expected(key, field) if field is not None else found["msg"]
        value = found["input"]
        remedy = "Correct the value."
        if isinstance(value, str) and field is not None:
            near = nearest(value, _words(field.annotation))
            if near and near != value:
                remedy = f'Did you mean "{near}"?'
            elif not want.startswith(("text", "a list", "one of")):
                remedy = "Write a number without quotes."
        report.add(where, want, show(value), remedy)


def _owner(model: type[BaseModel], path: tuple[int | str, ...]) -> tuple[type[BaseModel], FieldInfo | None, str]:
    """The table that holds the last key of a path, that key's field, and the key."""
    owner, field, key = model, None, str(path[-1])
    for step in path:
        fields = keys(owner)
        if not isinstance(step, str) or step not in fields:
            continue
        field, key = fields[step], step
        inner = _model_in(field.annotation)
        if inner is not None and step != path[-1]:
            owner, field = inner, None
            key = str(path[-1])
    return owner, field, key


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in get_args(annotation):
        if isinstance(inner, type) and issubclass(inner, BaseModel):
            return inner
    return None


def _words(annotation: Any) -> list[str]:
    if get_origin(annotation) is Literal:
        return [v for v in get_args(annotation) if isinstance(v, str)]
    return [w for inner in get_args(annotation) if inner is not None for w in _words(inner)]


def dotted(head: str) -> Callable[[tuple[int | str, ...]], str]:
    """A function that writes a path under ``head``, lists counted from 1: ``item.block.fuses_a[2]``."""

    def place(path: tuple[int | str, ...]) -> str:
        text = head
        for step in path:
            text += f"[{step + 1}]" if isinstance(step, int) else (f".{step}" if text else str(step))
        return text

    return place


def subtable(data: Mapping[str, object], key: str, report: Report) -> dict[str, object]:
    """A table of tables such as ``[item.x]``; empty, with a problem, where something else stands there."""
    value = data.get(key, {})
    if isinstance(value, dict):
        return value
    report.add(key, f"tables such as [{key}.name]", show(value), f"Write each {key} as [{key}.name].")
    return {}


def rows(data: Mapping[str, object], key: str, report: Report) -> list[object]:
    """An array of tables such as ``[[wire]]``; empty, with a problem, where something else stands there."""
    value = data.get(key, [])
    if isinstance(value, list):
        return value
    report.add(key, f"tables such as [[{key}]]", show(value), f"Write each {key} under its own line [[{key}]].")
    return []
