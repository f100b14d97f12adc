"""Tables checked against the keys they may hold, and what pydantic found put into the words of the trade."""

from __future__ import annotations

import types
from collections.abc import Callable, Mapping, Sequence
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, MaxLen, MinLen
from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from loomwright.rig.keys import FUSE_RULE
from loomwright.rig.report import Report
from loomwright.rig.words import nearest, show, some

M = TypeVar("M", bound=BaseModel)
_UNITS = (
    ("_mv_per_c", "mV/C"), ("_mohm", "mohm"), ("_ohm", "ohm"), ("_mm2", "mm2"), ("_mm", "mm"), ("_rpm", "rpm"),
    ("_pct", "%"), ("_ma", "mA"), ("_ah", "Ah"), ("_uf", "uF"), ("_mh", "mH"), ("_a", "A"), ("_v", "V"), ("_w", "W"),
    ("_h", "h"), ("_c", "C"), ("_g", "g"),
)  # fmt: skip
_OWN_UNIT = {"acceptance_c": "1/h", "rpm": "rpm"}


def unit(key: str) -> str:
    """Unit that a key's name ends in; empty where it has none."""
    if key in _OWN_UNIT:
        return _OWN_UNIT[key]
    return next((u for ending, u in _UNITS if key.endswith(ending)), "")


def keys(model: type[BaseModel]) -> dict[str, FieldInfo]:
    """Fields of a table under the names the file uses."""
    return {f.alias or name: f for name, f in model.model_fields.items()}


def expected(key: str, field: FieldInfo) -> str:
    """What a key may hold, in words and with its unit: ``a number from 0 to 70 [C]``."""
    mark = unit(key)
    return holds(field) + (f" [{mark}]" if mark else "")


def holds(field: FieldInfo) -> str:
    """What a key may hold, in words: ``a number from 0 to 70``."""
    return _one(field.annotation, field.metadata)


def _one(annotation: Any, metadata: Sequence[Any]) -> str:
    annotation, metadata = _plain(annotation, metadata)
    origin = get_origin(annotation)
    if origin is Literal:
        words = [show(v) for v in get_args(annotation)]
        return words[0] if len(words) == 1 else "one of " + ", ".join(words)
    if origin is list:
        return f"a list of {_many(annotation, metadata)}"
    if annotation is bool:
        return "true or false"
    if annotation is float:
        return f"a number{_range(metadata)}"
    if annotation is int:
        return f"a whole number{_range(metadata)}"
    if annotation is str:
        high = _bound(metadata, MaxLen, "max_length")
        return "text" + (f" of at most {high:,} characters" if high is not None else "")
    return FUSE_RULE if annotation is Any else "a table"


def _many(annotation: Any, metadata: Sequence[Any]) -> str:
    """The values of a list: ``2 whole numbers``, ``any of ..``."""
    low, high = _bound(metadata, MinLen, "min_length"), _bound(metadata, MaxLen, "max_length")
    count = f"{low} " if low is not None and low == high else ""
    inner, more = _plain(get_args(annotation)[0], ())
    if get_origin(inner) is list:
        return f"{count}lists of {_many(inner, more)}"
    one = _one(inner, more)
    if one.startswith("one of "):
        return f"any of {one.removeprefix('one of ')}"
    if one.startswith(("a number", "a whole number")):
        return count + one.removeprefix("a ").replace("number", "numbers", 1)
    return f"{count}names" if one.startswith("text") else one


def _plain(annotation: Any, metadata: Sequence[Any]) -> tuple[Any, Sequence[Any]]:
    """The type itself and what bounds it: ``Annotated`` and ``| None`` taken off."""
    while True:
        if get_origin(annotation) is Annotated:
            annotation, *more = get_args(annotation)
            metadata = [*metadata, *(m for x in more for m in (x.metadata if isinstance(x, FieldInfo) else [x]))]
            continue
        options = [a for a in get_args(annotation) if a is not type(None)]
        if get_origin(annotation) in (Union, types.UnionType) and len(options) == 1:
            annotation = options[0]
            continue
        return annotation, metadata


def _bound(metadata: Sequence[Any], kind: type, attribute: str) -> Any:
    return next((getattr(m, attribute) for m in metadata if isinstance(m, kind)), None)


def _range(metadata: Sequence[Any]) -> str:
    low, above = _bound(metadata, Ge, "ge"), _bound(metadata, Gt, "gt")
    high = _bound(metadata, Le, "le")
    if low is not None:
        text = f" from {_figure(low)}"
    else:
        text = f" above {_figure(above)}" if above is not None else ""
    if high is None:
        return text
    return f"{text} to {_figure(high)}" if low is not None else f"{text}{' and' if text else ''} up to {_figure(high)}"


def _figure(value: float) -> str:
    return f"{value:,.0f}" if float(value).is_integer() else f"{value:,g}"


def check(
    model: type[M], table: object, report: Report, place: Callable[[tuple[int | str, ...]], str]
) -> M | None:
    """The table as its keys; with every problem in the report where there are any.

    The keys that can be used come back even then, so that the checks that follow have something to look at; None where
    a key that must be there is not. ``place`` writes a path inside the table the way the whole file would call it.
    """
    try:
        return model.model_validate(table)
    except ValidationError as error:
        errors = error.errors(include_url=False, include_context=False)
    for found in errors:
        _add(model, found, table, report, place)
    bad = {found["loc"][0] for found in errors if found["loc"]}
    report.said.update(place((key,)) for key in bad)
    if not isinstance(table, Mapping):
        return None
    try:
        return model.model_validate({k: v for k, v in table.items() if k not in bad})
    except ValidationError:
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
        names = sorted([*keys(owner), *getattr(owner, "beside", ())])
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
