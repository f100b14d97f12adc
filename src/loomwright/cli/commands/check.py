"""``check``: what must be put right, in order of urgency."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from loomwright.cli import answer, service
from loomwright.cli.commands._options import AsJson, RigFile
from loomwright.cli.terminal import cell, clean, console, copyable, note, put, sign
from loomwright.findings.model import SEVERITIES, Finding

if TYPE_CHECKING:
    from loomwright.rig.model import Rig

NAME = "check"


def command(rig: RigFile, as_json: AsJson = False) -> int:
    """What must be put right, in order of urgency, with the reason.

    Stop: do not power up. Fix: mend before hand-over. Know: worth knowing. Leaves with 1 if there is a Stop.
    """
    study = service.open_study(rig)
    found = service.findings(study)
    if as_json:
        answer.give(NAME, {"rig": summary(study.given), "counts": counts(found), "findings": found})
    else:
        on = console()
        title(on, study.given)
        show(on, found)
        next_step(on, found, str(rig))
    return exit_code(found)


def exit_code(found: Sequence[Finding]) -> int:
    """1 if anything stops the rig from being powered up, else 0."""
    return int(any(f.severity == "Stop" for f in found))


def counts(found: Sequence[Finding]) -> dict[str, int]:
    """How many findings of each severity, in order of urgency."""
    return {s: sum(f.severity == s for f in found) for s in SEVERITIES}


def summary(rig: Rig) -> dict[str, object]:
    """What identifies a rig in an answer."""
    return {"title": rig.title, "file": rig.file, "stage": rig.stage}


def title(on: Console, rig: Rig) -> None:
    """The rig's title, its file and its stage."""
    on.print(Text(clean(rig.title), style="bold"))
    note(on, f"{rig.file}, {rig.stage}, {rig.ambient_c:g} \u00b0C ambient")


def count_line(on: Console, found: Sequence[Finding]) -> Text:
    """``2 Stop, 3 Fix, 1 Know`` with signs."""
    return Text("   ").join(sign(s, on, n) for s, n in ((s, counts(found)[s]) for s in SEVERITIES))


def show(on: Console, found: Sequence[Finding]) -> None:
    """Every finding, like ones under one heading: sign, code and title; then where, evidence, remedy; source last."""
    on.print()
    on.print(count_line(on, found))
    for _, alike in groupby(found, key=lambda f: (f.severity, f.code, f.title)):
        group = list(alike)
        first = group[0]
        head = sign(first.severity, on).append(f"  {clean(first.code)}  ", style="not bold default")
        head.append(clean(first.title), style="bold default")
        if len(group) > 1:
            head.append(f"  ({len(group)} places)", style="not bold default")
        on.print()
        on.print(head)
        lines = Table.grid(padding=(0, 1))
        lines.add_column(no_wrap=True, style="dim")
        lines.add_column(overflow="fold")
        for k, f in enumerate(group):
            lines.add_row("where", cell(", ".join(f.where) or "the whole rig", "bold" if len(group) > 1 else ""))
            lines.add_row("evidence", cell(f.evidence))
            lines.add_row("remedy", cell(f.remedy, "bold"))
            if k + 1 == len(group) or authority(f) != authority(group[k + 1]):
                lines.add_row("source", cell(authority(f), "dim"))
            if k + 1 < len(group):
                lines.add_row("", "")
        put(on, Padding(lines, (0, 0, 0, 2)))


def authority(finding: Finding) -> str:
    """On whose authority a finding stands: its source and mark, and whether it rests on provisional figures."""
    mark = f" ({finding.mark})" if finding.mark not in finding.source else ""
    return finding.source + mark + ("; provisional figures" if finding.provisional else "")


def next_step(on: Console, found: Sequence[Finding], file: str) -> None:
    """One line on what to do next."""
    have = counts(found)
    if have["Stop"]:
        words = "Do not power up. Mend the Stop findings from the top, then run this again."
    elif have["Fix"]:
        words = "It may be powered up for tests. Mend the Fix findings before hand-over, then run this again."
    else:
        words = f"Nothing to mend. Next: loomwright faults {file}, then prove the volts with a meter."
    on.print()
    copyable(on, words, "bold")
    if found:
        note(on, f"More on any of these: loomwright explain {found[0].code}")
