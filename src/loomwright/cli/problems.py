"""Errors: one shape, printed as a readable block or as JSON."""

from __future__ import annotations

import sys
from pathlib import Path

from rich.padding import Padding
from rich.text import Text

from loomwright.cli import answer
from loomwright.cli.terminal import clean, console, copyable, put
from loomwright.errors import LoomwrightError, Problem


def report(command: str, kind: str, problems: tuple[Problem, ...], as_json: bool) -> None:
    """Say what is wrong: JSON on the output stream, or a block for each problem on the error stream."""
    if as_json:
        answer.refuse(command, kind, problems)
        return
    on = console(sys.stderr)
    count = len(problems)
    head = "This cannot be used" if count == 1 else f"This cannot be used: {count} problems"
    on.print(Text(head, style="bold red"))
    files: dict[str, dict[str, int]] = {}
    for p in problems:
        on.print()
        copyable(on, f"{_where(p, files)}: {p.place}" if p.place else p.file, "bold")
        for label, words in (("expected", p.expected), ("received", p.received), ("to do", p.remedy)):
            if words:
                line = Text(f"{label:<9} ", style="dim")
                line.append(Text(clean(words), style="bold" if label == "to do" else "not dim"))
                put(on, Padding(line, (0, 0, 0, 2)))


def _where(problem: Problem, files: dict[str, dict[str, int]]) -> str:
    """The file, with the line on which the key or its table stands where that can be told. ``files`` is filled."""
    path = Path(problem.file)
    if path.suffix.lower() != ".toml":
        return problem.file
    from loomwright.rig.lines import line_of, places
    from loomwright.rig.read import read_text

    if problem.file not in files:
        try:
            files[problem.file] = places(read_text(path))
        except LoomwrightError:
            files[problem.file] = {}
    line = line_of(problem.place, files[problem.file])
    return problem.file if line is None else f"{problem.file}, line {line}"
