"""Pages that ``explain`` prints: from the registry of findings, or from the table of figures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from loomwright.errors import UnknownName

if TYPE_CHECKING:
    from loomwright.facts.figures import Figure
    from loomwright.findings.registry import Check


@dataclass(frozen=True, slots=True)
class Page:
    """One explanation: a title, then labelled paragraphs. ``data`` is the same as plain values."""

    title: str
    lines: tuple[tuple[str, str], ...]
    data: dict[str, object]


def page(topic: str) -> Page:
    """The page of a finding's code, or of a figure's key.

    Raises
    ------
    UnknownName
        Where neither exists; the message names the nearest.
    """
    if "." in topic:
        from loomwright.facts.figures import figure

        return of_figure(figure(topic))
    from loomwright.findings.registry import check_of

    try:
        return of_check(check_of(topic))
    except UnknownName as error:
        raise UnknownName(f"{error} Keys of figures have dots in them, such as conductor.awg.8.area_mm2.") from None


def of_check(found: Check) -> Page:
    """The page of one check."""
    lines = (
        ("why", found.why),
        ("what to do", found.remedy),
        ("source", f"{found.source} ({found.mark})" if found.mark != found.source else found.source),
    )
    data: dict[str, object] = {
        "code": found.code,
        "severity": found.severity,
        "title": found.title,
        "why": found.why,
        "remedy": found.remedy,
        "source": found.source,
        "mark": found.mark,
    }
    return Page(f"{found.code}  {found.severity}: {found.title}", lines, data)


def of_figure(found: Figure) -> Page:
    """The page of one figure."""
    value = f"{found.value:g}" if isinstance(found.value, (int, float)) else str(found.value)
    lines = [
        ("value", f"{value} {found.unit}".rstrip()),
        ("mark", found.mark),
        ("source", found.source),
    ]
    if found.note:
        lines.append(("note", found.note))
    data: dict[str, object] = {
        "key": found.key,
        "value": found.value,
        "unit": found.unit,
        "mark": found.mark,
        "source": found.source,
        "note": found.note,
    }
    return Page(found.key, tuple(lines), data)
