"""Tables checked against the keys they may hold, and what pydantic found put into the words of the trade."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from loomwright.rig.holds import asked, expected, keys, unit
from loomwright.rig.remedies import remedy
from loomwright.rig.report import Report
from loomwright.rig.words import nearest, show, some

M = TypeVar("M", bound=BaseModel)


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
        advice = f'Did you mean "{near}"?' if near else "Take it out, or put it in the notes."
        report.add(where, f"one of the keys {some(names, 30)}", f"an unknown key {show(path[-1])}", advice)
    elif found["type"] == "missing":
        want = expected(key, field) if field is not None else "a value"
        report.add(where, want, "nothing", f"Add the key {show(key)}.")
    else:
        value = found["input"]
        if field is None:
            report.add(where, found["msg"], show(value), "Write the value in the form that this key takes.")
            return
        wanted = asked(field)
        for _ in [step for step in path[path.index(key) + 1 :] if isinstance(step, int)]:
            wanted = wanted.element()
        report.add(where, wanted.words(unit(key)), show(value), remedy(key, wanted, value))


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
