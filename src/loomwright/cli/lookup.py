"""Pages that ``explain`` prints: from the registry of findings, or from the table of figures."""

from __future__ import annotations

import re
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
    """The page of a finding's code, of a figure's key, or of all figures below a part of a key.

    Raises
    ------
    UnknownName
        Where none of these exists; the message names the nearest.
    """
    from loomwright.facts.figures import figure, figures_below

    if re.fullmatch(r"\s*[A-Za-z]\d+\s*", topic):
        from loomwright.findings.registry import check_of

        return of_check(check_of(topic))
    found = figures_below(topic.strip())
    if found:
        return of_figures(topic.strip(), found)
    try:
        return of_figures(topic, (figure(topic),))
    except UnknownName as error:
        hint = "loomwright check gives the code of each finding; loomwright explain conductor lists figures."
        raise UnknownName(f"{error}. {hint}") from None


def of_check(found: Check) -> Page:
    """The page of one check."""
    severity = found.severity + (f"; {found.unless}" if found.unless else "")
    lines = (
        ("severity", f"{severity}."),
        ("why", found.why),
        ("what to do", found.remedy),
        ("source", f"{found.source} ({found.mark})"),
    )
    data: dict[str, object] = {
        "code": found.code,
        "severity": found.severity,
        "unless": found.unless,
        "title": found.title,
        "why": found.why,
        "remedy": found.remedy,
        "source": found.source,
        "mark": found.mark,
    }
    return Page(f"{found.code}  {found.severity}: {found.title}", lines, {"finding": data})


def of_figures(topic: str, found: tuple[Figure, ...]) -> Page:
    """The page of one figure, or of a row or table of figures."""
    data: dict[str, object] = {"figures": found}
    if len(found) == 1:
        only = found[0]
        lines = [("value", value(only)), ("mark", only.mark), ("source", only.source)]
        if only.note:
            lines.append(("note", only.note))
        return Page(only.key, tuple(lines), data)
    return Page(topic, tuple((f.key, f"{value(f)}, {f.mark}: {f.source}") for f in found), data)


def value(found: Figure) -> str:
    """The value with its unit."""
    number = f"{found.value:g}" if isinstance(found.value, float) else str(found.value)
    return f"{number} {found.unit}".rstrip()
