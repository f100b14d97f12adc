"""The guided first job: the page says the steps that the walk does."""

from __future__ import annotations

from scripts import make_first_job


def test_the_page_holds_the_steps_that_are_walked() -> None:
    stale = make_first_job.PAGE.read_text("utf-8") != make_first_job.text()
    assert not stale, "docs/first-job.md is stale. Type: make docs"
