"""What the commands ask for. Everything here is a call into the rooms below; nothing is worked out twice."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from loomwright.cli.terminal import waiting

if TYPE_CHECKING:
    from loomwright.findings.model import Finding
    from loomwright.papers.report import PaperSize
    from loomwright.study import Study


def open_study(path: Path) -> Study:
    """The study of a rig file.

    Raises
    ------
    InputError
        With every problem of the file.
    """
    from loomwright.rig.file import load
    from loomwright.study import Study

    with waiting(f"Reading {path.name}"):
        return Study(load(path))


def findings(study: Study) -> tuple[Finding, ...]:
    """All findings of a study, in order of urgency."""
    from loomwright.findings.run import check

    with waiting("Working out volts and faults"):
        return check(study)


def papers(study: Study, found: tuple[Finding, ...], folder: Path, sheet: PaperSize = "a4") -> tuple[Path, ...]:
    """Print the documents of a study into ``folder`` and return the files, in reading order."""
    from loomwright.papers.report import build

    with waiting("Drawing and printing"):
        return build(study, found, folder, sheet)


def comparison_paper(
    before: Study, after: Study, found_before: tuple[Finding, ...], found_after: tuple[Finding, ...], folder: Path
) -> Path:
    """Print before and after on one page into ``folder`` and return the file."""
    from loomwright.papers.compare import build

    with waiting("Printing the comparison"):
        return build(before, after, found_before, found_after, folder)
