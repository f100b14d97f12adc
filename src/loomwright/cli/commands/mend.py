"""``mend``: the remedies that are a definite edit of the rig file: shown, and made."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console
from rich.text import Text

from loomwright.cli import answer, service
from loomwright.cli.commands import check
from loomwright.cli.commands._options import AsJson, RigFile
from loomwright.cli.terminal import clean, console, copyable, note, sign
from loomwright.errors import InputError, Problem

if TYPE_CHECKING:
    from loomwright.findings.model import Finding, Severity

NAME = "mend"
BEFORE = ".before"
Make = Annotated[
    int | None,
    typer.Option("--make", metavar="N", min=1, help="Make remedy N of the list in the file.", show_default=False),
]
Out = Annotated[
    Path | None,
    typer.Option("--out", "-o", metavar="FILE", help="Write the mended rig here and leave RIG as it is.",
                 show_default=False),
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Line:
    """One remedy of the list. ``changes`` says each change as the file has it now and as it would have it."""

    number: int
    code: str
    severity: Severity
    where: tuple[str, ...]
    title: str
    changes: tuple[str, ...]


def command(rig: RigFile, make: Make = None, out: Out = None, as_json: AsJson = False) -> int:
    """Remedies that are a definite edit of the rig file.

    Lists them with the very changes; --make does one of them, comments kept. It is made only if its finding then goes
    or becomes milder and no Stop comes of it. The file as it was stays beside it. Leaves with 1 if a Stop is left.
    """
    from loomwright.rig.changes import told
    from loomwright.rig.read import read_text

    text = read_text(rig)
    study = service.open_study(rig)
    found = service.findings(study)
    offered = service.remedies(study, found, rig)
    lines = tuple(
        Line(n, f.code, f.severity, f.where, r.title, told(text, r.changes)) for n, (f, r) in enumerate(offered, 1)
    )
    made: Line | None = None
    left, files = found, tuple[Path, ...]()
    if make is not None:
        if make > len(offered):
            raise _no_such(make, len(offered), rig)
        made = lines[make - 1]
        after, left = service.mended(text, rig, found, *offered[make - 1])
        files = write(rig, out, text, after)
    if as_json:
        answer.give(NAME, {"rig": check.summary(study.given), "remedies": lines, "made": made, "files": files})
    else:
        on = console()
        check.title(on, study.given)
        if made is not None:
            _show_made(on, made, files, left)
        else:
            _show(on, lines, rig)
    return check.exit_code(left)


def write(rig: Path, out: Path | None, before: str, after: str) -> tuple[Path, ...]:
    """The mended text where it is wanted; the text as it was beside it, where it would be gone otherwise."""
    files = []
    if out is None:
        kept = rig.with_name(rig.name + BEFORE)
        kept.write_text(before, encoding="utf-8", newline="")
        files.append(kept)
    target = out or rig
    target.write_text(after, encoding="utf-8", newline="")
    return (target, *files)


def _show(on: Console, lines: tuple[Line, ...], rig: Path) -> None:
    if not lines:
        on.print()
        copyable(on, f"No finding of this rig has a remedy that is a definite edit. See: loomwright check {rig}")
        return
    for line in lines:
        on.print()
        head = Text(f"{line.number:>3}  ").append(sign(line.severity, on)).append(f"  {line.code}  ")
        on.print(head.append(clean(line.title), style="bold"))
        _changes(on, line)
    on.print()
    copyable(on, f"Make one of them: loomwright mend {rig} --make {lines[0].number}", "bold")


def _show_made(on: Console, made: Line, files: tuple[Path, ...], left: tuple[Finding, ...]) -> None:
    on.print()
    on.print(Text("Made: ").append(clean(made.title), style="bold"))
    _changes(on, made)
    on.print()
    copyable(on, str(files[0]))
    if len(files) > 1:
        note(on, f"As it was: {files[1]}")
    on.print(check.count_line(on, left))


def _changes(on: Console, line: Line) -> None:
    for change in line.changes:
        on.print(Text("     " + clean(change)))


def _no_such(number: int, count: int, rig: Path) -> InputError:
    expected = f"a number from 1 to {count}" if count else "no number: nothing is offered for this rig"
    return InputError(
        [Problem("command line", "mend --make", expected, str(number), f"See the list: loomwright mend {rig}")]
    )
