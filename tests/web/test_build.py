"""The build page and its writes: steps with their state, acts kept once, what is refused, the script for the phone."""

from __future__ import annotations

import html
import io
import re
from typing import Any

import pytest
from PIL import Image

from loomwright import demo
from tests.web.conftest import Browser

FIRST = "isolate:battery"


@pytest.fixture
def at(browser: Browser, small: str) -> str:
    return browser.job(small)


def send(browser: Browser, url: str, status: int = 200, **fields: Any) -> Any:
    """An act as the page's script sends it."""
    given = {"id": "phone-0001", "step": FIRST, "kind": "done", "by": "Ada", **fields}
    files = {"file": given.pop("file")} if "file" in given else None
    headers = {"x-write-token": browser.token, "accept": "application/json"}
    answer = browser.client.post(f"{url}/build/act", data=given, files=files, headers=headers)
    assert answer.status_code == status, answer.text[:1000]
    return answer.json()


def picture() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (64, 48), "#777").save(out, "JPEG")
    return out.getvalue()


def test_the_page_and_its_twin_show_the_same_steps(browser: Browser, at: str) -> None:
    page = browser.page(f"{at}/build")
    data = browser.data(f"{at}/build.json")["data"]
    steps = data["plan"]["steps"]
    assert re.findall(r'<article class="step" id="step-(\d+)"', page) == [str(s["number"]) for s in steps]
    assert data["progress"]["next"] == steps[0]["id"] == FIRST
    shown = re.findall(r'<article class="step"[^>]*>', page)
    assert sum(" hidden" not in s for s in shown) == 1
    assert f'href="{at}/build"' in browser.page(f"{at}/rig")


def test_a_tick_is_kept_once_and_moves_the_build_on(browser: Browser, at: str) -> None:
    first = send(browser, at)["data"]["act"]
    assert send(browser, at)["data"]["act"] == first
    data = browser.data(f"{at}/build.json")["data"]
    assert data["progress"]["done"] == [FIRST]
    assert data["progress"]["next"] == data["plan"]["steps"][1]["id"]
    later = browser.data(f"{at}/build/acts.json?since=0")["data"]
    assert [a["id"] for a in later["acts"]] == ["phone-0001"]
    assert later["last"] == 1
    assert later["key"] == data["key"]
    assert browser.data(f"{at}/build/acts.json?since=1")["data"]["acts"] == []


def test_without_a_script_a_form_ticks_and_takes_back(browser: Browser, at: str) -> None:
    page = browser.page(f"{at}/build")
    ids = re.findall(r'name="id" value="(\w+-done)"', page)
    where = browser.send(f"{at}/build/act", {"id": ids[0], "step": FIRST, "kind": "done", "by": "Ada"})
    assert where == f"{at}/build?step=isolate%3Abattery"
    assert "Done by <b>Ada</b>" in browser.page(where)
    browser.send(f"{at}/build/act", {"id": "form-0002", "step": FIRST, "kind": "undone", "of": ids[0]})
    assert "Done by <b>Ada</b>" not in browser.page(where)


def test_a_gate_wants_another_name(browser: Browser, at: str) -> None:
    gate = "isolate:dead"
    send(browser, at, step=gate)
    refused = send(browser, at, 422, id="phone-0002", step=gate, kind="signed", by="ADA")
    assert "Let somebody else" in refused["error"]["problems"][0]["remedy"]
    send(browser, at, id="phone-0003", step=gate, kind="signed", by="Ben")
    assert browser.data(f"{at}/build.json")["data"]["progress"]["signed"] == [gate]


def test_a_reading_is_judged_and_a_photograph_is_shown_where_it_belongs(browser: Browser, at: str) -> None:
    steps = browser.data(f"{at}/build.json")["data"]["plan"]["steps"]
    step = next(s for s in steps if s["id"].startswith("minus:"))
    about = {"step": step["id"], "kind": "reading", "measure": step["measures"][0]["id"], "unit": "V"}
    for n, value in enumerate(("12.7", "10,9")):
        send(browser, at, id=f"phone-000{n}", value=value, **about)
    page = browser.page(f"{at}/build")
    assert "as predicted" in page
    assert "too low" in page
    sent = send(browser, at, id="phone-0009", step=step["id"], kind="photo", place="seat", caption="The post",
                file=("a.jpg", picture(), "image/jpeg"))  # fmt: skip
    assert browser.client.get(f"/photos/{sent['data']['act']['photo_id']}").headers["content-type"] == "image/jpeg"
    assert "The post" in browser.page(f"{at}/survey?place=seat")


@pytest.mark.parametrize(
    "bad",
    [
        {"id": "x"}, {"kind": "eaten"}, {"by": ""}, {"at": "yesterday"}, {"at": "2026-01-01T00:00:00"},
        {"kind": "reading", "measure": "m", "value": "many"}, {"kind": "photo"}, {"step": ""},
        {"kind": "photo", "file": ("a.jpg", b"no picture", "image/jpeg")},
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_refused_in_words(browser: Browser, at: str, bad: dict[str, Any]) -> None:
    answer = send(browser, at, 422, **bad)
    assert answer["error"]["problems"][0]["remedy"]
    assert browser.data(f"{at}/build/acts.json")["data"]["acts"] == []


def test_a_write_needs_its_token(browser: Browser, at: str) -> None:
    form = {"id": "phone-0001", "step": FIRST, "kind": "done", "by": "Ada"}
    assert browser.client.post(f"{at}/build/act", data=form).status_code == 403


def test_markup_is_data(browser: Browser, at: str) -> None:
    send(browser, at, by="<b>Ada</b>")
    send(browser, at, id="phone-0002", kind="note", text="</script><script>alert(1)</script>")
    page = browser.page(f"{at}/build?step={FIRST}")
    assert "<script>alert" not in page
    assert "<b><b>Ada" not in page


def test_the_script_for_the_phone_reaches_one_page_and_names_files_that_are_there(browser: Browser, at: str) -> None:
    answer = browser.client.get(f"{at}/build/worker.js")
    assert answer.headers["service-worker-allowed"] == f"{at}/build"
    assert answer.headers["content-type"].startswith("text/javascript")
    files = re.findall(r'"(/static/\w+/[\w.]+)"', answer.text)
    page = browser.page(f"{at}/build")
    needed = set(re.findall(r'(?:href|src)="(/static/\w+/[\w.]+)"', page))
    assert needed <= set(files)
    for file in files:
        assert browser.client.get(file).status_code == 200, file
    scripts = [browser.client.get(f).text for f in files if f.endswith(".js") and "htmx" not in f]
    (folder,) = {f.rpartition("/")[0] for f in files}
    imported = {f"{folder}/{name}" for text in scripts for name in re.findall(r'from "\./([\w.]+)"', text)}
    assert imported <= set(files)


def test_sheets_are_fetched_by_themselves_and_hold_for_ever_under_their_mark(browser: Browser, at: str) -> None:
    page = browser.page(f"{at}/build")
    assert "data-ref=" not in page  # no drawing in it
    sheets = [html.unescape(s) for s in re.findall(r'data-from="([^"]+)"', page)]
    assert sheets
    for sheet in sheets:
        answer = browser.client.get(sheet)
        assert answer.status_code == 200
        assert answer.headers["content-type"].startswith("image/svg+xml")
        assert "immutable" in answer.headers["cache-control"]
        assert answer.text.lstrip().startswith("<svg")
    other = browser.client.get(re.sub(r"mark=\w+", "mark=another", sheets[0]))
    assert other.headers["cache-control"] == "no-store"
    assert browser.client.get(f"{at}/build/sheets/wiring_99.svg").status_code == 404


def test_with_a_rig_as_found_the_steps_say_what_comes_out(browser: Browser) -> None:
    at = browser.job(demo.text("carnival_trike_planned"))
    job = at.split("/")[2]
    browser.bench.store.save_rig(job, "as found", demo.text("carnival_trike_as_found"), 0)
    steps = browser.data(f"{at}/build.json")["data"]["plan"]["steps"]
    assert any(s["id"].startswith("take out:") for s in steps)


def test_a_rig_that_cannot_be_read_has_no_steps_yet(browser: Browser) -> None:
    at = browser.job("format = 1\ntitle = 'x'\n")
    assert browser.data(f"{at}/build.json")["data"]["plan"] is None
    assert "appear when the rig is whole" in browser.page(f"{at}/build")
