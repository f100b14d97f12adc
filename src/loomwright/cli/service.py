"""What the commands ask for. Everything here is a call into the rooms below; nothing is worked out twice."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from loomwright.cli.terminal import waiting

if TYPE_CHECKING:
    from loomwright.findings.model import Finding
    from loomwright.papers.report import PaperSize
    from loomwright.remedies.model import Remedy
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


def remedies(study: Study, found: tuple[Finding, ...], path: Path) -> tuple[tuple[Finding, Remedy], ...]:
    """Every remedy that is a definite edit, with its finding; parts may come from the catalogues beside the file."""
    from loomwright.remedies.run import Remedies
    from loomwright.rig.catalogue import beside

    with waiting("Looking for remedies"):
        made = Remedies(study, beside(path))
        return tuple((f, r) for f in found for r in made.of(f))


def mended(
    text: str, path: Path, found: tuple[Finding, ...], finding: Finding, remedy: Remedy
) -> tuple[str, tuple[Finding, ...]]:
    """The text with a remedy made, and what is found then. Raises InputError where it does not help."""
    from loomwright.remedies.run import must_help
    from loomwright.rig.catalogue import beside
    from loomwright.rig.changes import apply
    from loomwright.rig.file import parse
    from loomwright.study import Study

    after = apply(text, remedy.changes)
    left = findings(Study(parse(after, str(path), beside(path))))
    must_help(remedy, finding, found, left)
    return after, left


def papers(study: Study, found: tuple[Finding, ...], folder: Path, sheet: PaperSize = "a4") -> tuple[Path, ...]:
    """Print the documents of a study into ``folder`` and return the files, in reading order."""
    from loomwright.papers import gain_card, report

    with waiting("Drawing and printing"):
        first, *rest = report.build(study, found, folder, sheet)
        card = gain_card.build(study, found, folder, sheet)
        return (first, *((card,) if card is not None else ()), *rest)


def comparison_paper(
    before: Study, after: Study, found_before: tuple[Finding, ...], found_after: tuple[Finding, ...], folder: Path
) -> Path:
    """Print before and after on one page into ``folder`` and return the file."""
    from loomwright.papers.compare import build

    with waiting("Printing the comparison"):
        return build(before, after, found_before, found_after, folder)
