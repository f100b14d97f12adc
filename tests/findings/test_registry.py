"""The list of checks, and what every finding must hold."""

from __future__ import annotations

import re

import pytest

from loomwright.errors import UnknownName
from loomwright.findings.model import SEVERITIES, Finding
from loomwright.findings.registry import SUBJECTS, Check, all_checks, check, check_of
from loomwright.findings.run import check as run
from loomwright.rig.file import parse
from loomwright.study import Study
from tests.findings.bases import BUGGY, LAUNCH, TRIKE, findings, spoiled, study
from tests.findings.edits import PLAIN, TIED, WEAK_MAIN

RIGS = (TRIKE, BUGGY, LAUNCH, spoiled(TRIKE, *PLAIN), spoiled(BUGGY, *TIED), spoiled(TRIKE, *WEAK_MAIN))
ALL = [(text, f) for text in RIGS for f in findings(text)]


def test_there_are_more_than_forty() -> None:
    assert len(all_checks()) >= 40


@pytest.mark.parametrize("one", all_checks(), ids=lambda c: c.code)
def test_check_is_documented(one: Check) -> None:
    assert re.fullmatch(r"E[1-9]\d\d", one.code)
    assert one.severity in SEVERITIES
    for text in (one.why, one.remedy):
        assert text.endswith(".")
        assert text[0].isupper()
        assert len(text) > 20
    assert one.title
    assert not one.title.endswith(".")
    assert one.source
    assert one.mark in ("published", "calculated", "common practice", "from memory")
    assert one.subject in dict(SUBJECTS)
    assert one.look.__doc__


def test_codes_are_unique_and_in_order() -> None:
    codes = [c.code for c in all_checks()]
    assert codes == sorted(set(codes))
    assert len({c.title for c in all_checks()}) == len(codes)


def test_code_cannot_be_taken_twice() -> None:
    first = all_checks()[0]
    enter = check(first.code, "x", "Know", why="", remedy="", source="", mark="calculated")
    with pytest.raises(ValueError, match=first.code):
        enter(first.look)


def test_unknown_code_names_the_nearest() -> None:
    assert check_of("e101").code == "E101"
    with pytest.raises(UnknownName, match="E10"):
        check_of("E10l")


@pytest.mark.parametrize(("text", "finding"), ALL, ids=[f"{f.code}-{k}" for k, (_, f) in enumerate(ALL)])
def test_finding_says_what_where_and_how_much(text: str, finding: Finding) -> None:
    assert re.search(r"\d", finding.evidence), finding.evidence
    assert finding.evidence.endswith(".")
    assert finding.remedy.endswith(".")
    assert finding.remedy[0].isupper()
    assert "!" not in finding.evidence + finding.remedy
    assert finding.title == check_of(finding.code).title
    assert finding.source
    assert "nan" not in finding.evidence
    assert "unknown" not in finding.evidence
    rig = study(text).rig
    known = {*rig.items, *rig.places, *(w.id for w in rig.wires), *study(text).protection.devices}
    known |= {f"{i.id}.{t.name}" for i in rig.items.values() for t in i.part.terminals}
    known |= {f"run {k + 1}" for k in range(len(rig.runs))}
    known |= {f"wire {w.id}" for w in rig.wires}
    assert finding.where
    assert set(finding.where) <= known, set(finding.where) - known


def test_stop_comes_first_and_the_order_is_always_the_same() -> None:
    text = spoiled(TRIKE, *PLAIN)
    once = findings(text)
    ranks = [SEVERITIES.index(f.severity) for f in once]
    assert ranks == sorted(ranks)
    assert once == run(Study(parse(text, "test.toml")))
