"""The program's own files: kept by a browser for as long as the program is the same, and no longer."""

from __future__ import annotations

import re

import pytest

from loomwright.web import files
from tests.web.conftest import Browser


def test_a_page_names_files_that_a_browser_may_keep(browser: Browser) -> None:
    named = re.findall(r'(?:href|src)="(/static/[^"]+)"', browser.page("/jobs"))
    assert len(named) > 5
    for address in named:
        answer = browser.client.get(address)
        assert answer.status_code == 200
        assert "immutable" in answer.headers["cache-control"]


def test_a_page_of_another_version_gets_the_file_of_today_and_does_not_keep_it(browser: Browser) -> None:
    (address,) = set(re.findall(r'src="(/static/\w+/page.js)"', browser.page("/jobs")))
    old = browser.client.get("/static/0123456789abcdef/page.js")
    assert old.content == browser.client.get(address).content
    assert old.headers["cache-control"] == "no-store"


def test_the_address_changes_with_any_file(monkeypatch: pytest.MonkeyPatch) -> None:
    before = files.version()
    found = files.own()
    for name in ("page.js", "look.css", "bold.woff"):
        monkeypatch.setattr(files, "own", lambda name=name: {**found, name: found[name] + b" "})
        assert files.version.__wrapped__() != before


def test_a_page_names_every_module_that_its_script_brings_along(browser: Browser) -> None:
    page = browser.page("/jobs")
    named = {m.rpartition("/")[2] for m in re.findall(r'rel="modulepreload" href="([^"]+)"', page)}
    loaded, waiting = set(), ["page.js"]
    while waiting:
        text = files.own()[waiting.pop()].decode()
        for name in set(re.findall(r'from "\./([\w.]+)"', text)) - loaded:
            loaded.add(name)
            waiting.append(name)
    assert named == loaded
