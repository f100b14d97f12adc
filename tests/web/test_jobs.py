"""Jobs are made, opened, renamed, taken off the list and brought back."""

from __future__ import annotations

from typing import Any


def test_the_first_page_says_what_to_do(browser: Any) -> None:
    assert "No job yet" in browser.page("/jobs")


def test_a_job_is_made_and_opened(browser: Any) -> None:
    where = browser.send("/jobs", {"title": "Baker's trike"})
    assert where.endswith("/planned/rig")
    assert "Baker&#39;s trike" in browser.page(where)


def test_a_sample_has_both_stages(browser: Any) -> None:
    browser.send("/jobs", {"source": "carnival_trike"})
    job = browser.data("/jobs.json")["data"]["jobs"][0]
    assert job["stages"] == ["as found", "planned"]


def test_a_deleted_job_comes_back_as_it_was(browser: Any, small: str) -> None:
    url = browser.job(small, title="Kept")
    job = url.split("/")[2]
    after = browser.send(f"/jobs/{job}/delete")
    page = browser.page(after)
    assert "Bring it back" in page
    assert browser.data("/jobs.json")["data"]["jobs"] == []
    browser.send(f"/jobs/{job}/restore")
    assert browser.data("/jobs.json")["data"]["jobs"][0]["title"] == "Kept"
    assert browser.text(url) == small


def test_an_empty_title_is_refused_with_a_remedy(browser: Any) -> None:
    assert "Type them in" in browser.send("/jobs", {"title": "  "}, status=422)


def test_an_unknown_job_is_not_found(browser: Any) -> None:
    for url in ("/jobs/xxxxxxxxxx/planned/rig", "/jobs/..%2f..%2fetc/planned/rig", "/jobs/abc/sideways/rig"):
        assert browser.client.get(url).status_code == 404


def test_a_job_travels_as_one_file(browser: Any, small: str) -> None:
    url = browser.job(small, title="Travels")
    job = url.split("/")[2]
    packed = browser.client.get(f"/jobs/{job}/export.zip")
    assert packed.headers["content-type"] == "application/zip"
    fields, files = {"write_token": browser.token}, {"file": ("job.zip", packed.content, "application/zip")}
    answer = browser.client.post("/jobs/import", data=fields, files=files, follow_redirects=False)
    assert answer.status_code == 303
    assert browser.text(answer.headers["location"]) == small
    files = {"file": ("job.zip", b"not a zip", "application/zip")}
    assert browser.client.post("/jobs/import", data=fields, files=files).status_code == 422


def test_a_rig_file_and_a_sample_are_opened_once(browser: Any, small: str) -> None:
    first = browser.bench.open_file(small)
    assert browser.bench.open_file(small) == first
    assert browser.bench.open_file(small + "\n# another\n") != first
    sample = browser.bench.open_sample("canal_launch")
    assert browser.bench.open_sample("canal_launch") == sample
