"""The list of checks: each a small named function with a code, a reason, a remedy and a source."""

from __future__ import annotations

import difflib
import importlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from loomwright.errors import UnknownName
from loomwright.findings.model import Finding, Mark, Severity

if TYPE_CHECKING:
    from loomwright.study import Study

SUBJECTS: tuple[tuple[str, str], ...] = (
    ("feeds", "Feeds and the battery end"),
    ("devices", "Fuses and breakers"),
    ("breaking", "Breaking capacity"),
    ("selectivity", "Selectivity"),
    ("ratings", "Ratings"),
    ("drill", "What the fault drill showed"),
    ("safety", "Loads that must go on"),
    ("returns", "Returns"),
    ("conductors", "Wires"),
    ("routes", "Routes and covers"),
    ("harness", "Harness: lengths, bundles and holes"),
    ("marking", "Harness: labels, covers and ways"),
    ("joints", "Joints and connectors"),
    ("disconnects", "Harness: ends and disconnects"),
    ("contacts", "Harness: contacts and what a case takes with it"),
    ("batteries", "Batteries"),
    ("charging", "Charging and cranking"),
    ("volts", "Volts"),
    ("signals", "Remote wires and loudspeaker loads"),
    ("speakers", "Loudspeaker circuits"),
    ("channels", "Loudspeakers on their channels"),
    ("leads", "Speaker wire"),
    ("crossovers", "Crossovers and what they protect"),
    ("switching", "Switching on and off"),
    ("levels", "Levels and gains"),
    ("watts", "Watts, excursion and loudness"),
    ("boat", "Boats"),
    ("panels", "Panels"),
    ("boards", "Panels: the boards themselves"),
    ("laying", "Panels: leads in their lanes"),
    ("data", "Data under a verdict"),
)
"""Modules that hold checks, with the heading of each."""


@dataclass(frozen=True, slots=True)
class Say:
    """Makes the findings of one check. Called with where, evidence and remedy; the rest comes from the check."""

    template: Finding

    def __call__(
        self,
        where: Iterable[str],
        evidence: str,
        remedy: str,
        *,
        severity: Severity | None = None,
        provisional: bool = False,
        source: str | None = None,
        mark: Mark | None = None,
    ) -> Finding:
        return replace(
            self.template,
            severity=severity or self.template.severity,
            where=tuple(where),
            evidence=evidence,
            remedy=remedy,
            provisional=provisional,
            source=source or self.template.source,
            mark=mark or self.template.mark,
        )


Look = Callable[["Study", Say], Iterator[Finding]]


@dataclass(frozen=True, slots=True)
class Check:
    """One check.

    ``severity`` is the usual one; ``unless`` says in words where a check gives a milder or a harder one, and is empty
    where it never does. ``why`` gives the reason in the trade's words, ``remedy`` the cure in general; ``subject`` is
    a key of :data:`SUBJECTS`; ``say`` makes its findings.
    """

    code: str
    name: str
    title: str
    severity: Severity
    why: str
    remedy: str
    source: str
    mark: Mark
    subject: str
    look: Look
    say: Say
    unless: str = ""

    def __call__(self, study: Study) -> tuple[Finding, ...]:
        """The findings of this check on one study."""
        return tuple(self.look(study, self.say))


_CHECKS: dict[str, Check] = {}


def check(
    code: str, title: str, severity: Severity, *, why: str, remedy: str, source: str, mark: Mark, unless: str = ""
) -> Callable[[Look], Look]:
    """Put a function on the list of checks.

    Raises
    ------
    ValueError
        Where the code is taken already.
    """

    def enter(look: Look) -> Look:
        if code in _CHECKS:
            raise ValueError(f"two checks with the code {code}")
        subject = look.__module__.rpartition(".")[2]
        say = Say(Finding(code, severity, title, (), "", "", source, False, mark))
        _CHECKS[code] = Check(
            code, look.__name__, title, severity, why, remedy, source, mark, subject, look, say, unless
        )  # fmt: skip
        return look

    return enter


def all_checks() -> tuple[Check, ...]:
    """Every check, by code."""
    for module, _ in SUBJECTS:
        importlib.import_module(f"loomwright.findings.{module}")
    return tuple(_CHECKS[code] for code in sorted(_CHECKS))


def check_of(code: str) -> Check:
    """The check with this code.

    Raises
    ------
    UnknownName
        Where there is none; the message names the nearest.
    """
    found = {c.code: c for c in all_checks()}
    wanted = code.strip().upper()
    if wanted not in found:
        near = difflib.get_close_matches(wanted, found, n=1, cutoff=0.5)
        hint = f" Nearest: {near[0]}." if near else ""
        raise UnknownName(f"no finding is called {code!r}.{hint} Codes run from {min(found)} to {max(found)}.")
    return found[wanted]
