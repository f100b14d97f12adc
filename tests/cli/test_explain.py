"""``explain``: a page for every finding, a row for every figure."""

from __future__ import annotations

from loomwright.cli import lookup
from loomwright.facts.figures import all_figures
from loomwright.findings.registry import all_checks
from tests.conftest import Run


def test_every_finding_has_a_page_with_why_remedy_and_source() -> None:
    for check in all_checks():
        page = lookup.page(check.code)
        assert check.title in page.title
        assert {label for label, words in page.lines if words} >= {"why", "what to do", "source"}


def test_every_figure_can_be_asked_for_by_its_key() -> None:
    for figure in all_figures():
        data = lookup.page(figure.key).data
        assert figure in data["figures"]  # type: ignore[operator]


def test_codes_may_be_typed_in_small_letters(loomwright: Run) -> None:
    code = all_checks()[0].code
    assert loomwright("explain", code.lower()).out == loomwright("explain", code).out


def test_a_figure_is_shown_with_its_mark_and_source(loomwright: Run) -> None:
    out = loomwright("explain", "conductor.awg.8.area_mm2").out
    assert "8.36" in out
    assert "mm2" in out
    assert "ASTM B258" in out
