"""What must not get in: foreign pages, foreign names, scripts in ids, unpaired phones, too many bytes."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Any
from urllib.parse import quote

import pytest
from fastapi.testclient import TestClient
from PIL import Image

from loomwright.rig import edit
from loomwright.rig.file import parse
from loomwright.web import tokens
from loomwright.web.app import create_app
from loomwright.web.config import Config, secret_of
from loomwright.web.guard import MOST_BYTES

HOSTILE = "<script>x()</script>\"'><img src=x onerror=y()>{{7*7}}"
PAGES = ("list", "survey", "rig", "findings", "faults", "power", "advice", "advice/amplifiers", "compare", "papers")


def writes(app: Any) -> list[str]:
    found = app.openapi()["paths"]
    return [path for path, methods in found.items() if "post" in methods]


def test_every_write_needs_its_token(browser: Any, small: str) -> None:
    job = browser.job(small).split("/")[2]
    paths = writes(browser.client.app)
    assert len(paths) > 10
    for path in paths:
        url = path.replace("{job_id}", job).replace("{stage}", "planned")
        names = "wire item title code theme sheet size place part start to name kind ref photo text where quantity"
        fields = {**dict.fromkeys(names.split(), "x"), "theme": "auto", "sheet": "a4", "value": "1", "based_on": "1",
                  "x_pct": "1", "y_pct": "1"}  # fmt: skip
        for extra in ({}, {"write_token": "0" * 64}):
            answer = browser.client.post(url, data={**fields, **extra})
            assert answer.status_code in (403, 422), (url, answer.status_code)
    assert browser.text(f"/jobs/{job}/planned") == small


def test_a_token_of_another_session_is_refused(browser: Any) -> None:
    other = tokens.write_token(b"s" * 32, tokens.new_session(b"s" * 32, paired=False))
    browser.page("/jobs")
    assert browser.client.post("/jobs", data={"title": "x", "write_token": other}).status_code == 403
    assert browser.client.post("/jobs", data={"title": "x"}, headers={"x-write-token": browser.token},
                               follow_redirects=False).status_code == 303  # fmt: skip


def test_a_write_from_another_origin_is_refused(browser: Any) -> None:
    fields = {"title": "x", "write_token": browser.token}
    for origin in ("http://evil.example", "null", "http://localhost:1"):
        assert browser.client.post("/jobs", data=fields, headers={"origin": origin}).status_code == 403


@pytest.mark.parametrize("host", ["evil.example", "localhost.evil.example", "", "127.0.0.1@evil.example"])
def test_a_foreign_host_name_is_refused(browser: Any, host: str) -> None:
    assert browser.client.get("/jobs", headers={"host": host}).status_code == 421


def test_headers_stand_on_every_answer(browser: Any) -> None:
    for url in ("/jobs", "/jobs.json", "/static/now/look.css", "/static/now/htmx.js", "/nowhere", "/openapi.json"):
        headers = browser.client.get(url).headers
        policy = headers["content-security-policy"]
        assert "unsafe" not in policy
        assert "default-src 'none'" in policy
        assert headers["x-content-type-options"] == "nosniff"
    assert browser.client.get("/docs").status_code == 404


def test_the_cookie_is_out_of_reach_of_scripts(browser: Any) -> None:
    line = browser.client.get("/jobs").headers["set-cookie"].lower()
    assert "httponly" in line
    assert "samesite=lax" in line


def test_files_outside_the_list_are_not_served(browser: Any) -> None:
    for name in ("..%2fapp.py", "%2e%2e/app.py", "stamp.json", "look.css%00", "regular.ttf"):
        assert browser.client.get(f"/static/now/{name}").status_code == 404


def test_too_much_at_once_is_refused(browser: Any) -> None:
    answer = browser.client.post("/jobs", content=b"x", headers={"content-length": str(MOST_BYTES + 1)})
    assert answer.status_code == 413


class Reader(HTMLParser):
    """Collects what a browser would run."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "script" and "src" not in given:
            self.found.append("script")
        if tag in ("style", "iframe", "object", "embed", "base"):
            self.found.append(tag)
        for name, value in attrs:
            if name.startswith("on") or name == "style" or (value or "").strip().lower().startswith("javascript:"):
                self.found.append(f"{tag} {name}")
        if tag == "img" and given.get("src") == "x":
            self.found.append("img")


def hostile_rig(small: str) -> str:
    rig = parse(small, "x")
    amp = rig.family("amplifier")[0].id
    wire = next(w.id for w in rig.wires if w.kind == "power")
    name = HOSTILE[:60].replace(".", "")
    text = small.replace(f"[item.{amp}]", f"[item.{_quoted(name)}]")
    text = re.sub(rf'"{re.escape(amp)}\.', lambda m: '"' + _quoted(name)[1:-1] + ".", text)
    text = text.replace(f'id = "{wire}"', f"id = {_quoted('W' + name[:50])}")
    return re.sub(r'^title = ".*"$', lambda m: f"title = {_quoted(HOSTILE)}", text, count=1, flags=re.M)


def png() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (40, 30), "grey").save(out, "PNG")
    return out.getvalue()


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def test_markup_in_any_field_is_data_on_every_page(browser: Any, small: str) -> None:
    text = hostile_rig(small)
    rig = parse(text, "x")
    amp, wire = rig.family("amplifier")[0].id, next(w.id for w in rig.wires if w.id.startswith("W<"))
    url = browser.job(text, title=HOSTILE)
    urls = ["/jobs", *(f"{url}/{p}" for p in PAGES)]
    urls += [f"{url}/rig?wire={quote(wire, safe='')}", f"{url}/rig?item={quote(amp, safe='')}"]
    urls += [f"{url}/rig?start={quote(amp, safe='')}.ch1%2B", f"{url}/rig?add=item&find={quote(HOSTILE)}"]
    urls += [f"{url}/faults?where={quote(wire, safe='')}", f"{url}/findings?n=1"]
    drill = browser.data(f"{url}/faults.json")["data"]["faults"]
    fault = next(f["id"] for f in drill if wire in f["where"] or amp in f["where"])
    urls.append(f"{url}/faults?fault={quote(fault, safe='')}")
    job = url.split("/")[2]
    store = browser.bench.store
    photo = store.add_photo(job, rig.items[amp].place, png(), HOSTILE)
    store.add_mark(photo.id, 10, 20, HOSTILE)
    store.save_note(job, rig.items[amp].place, "</textarea>" + HOSTILE, 0)
    store.add_reading(job, amp, "volts", 12.1, "V")
    urls.append(f"{url}/survey?place={quote(rig.items[amp].place)}&undo={quote(HOSTILE)}")
    pages = [browser.page(u) for u in urls]
    pages.append(browser.page(f"{url}/rig?wire={quote(HOSTILE)}", 404))
    pages.append(browser.page(f"/jobs/{quote('<b>')}/planned/rig", 404))
    pages.append(browser.send(f"{url}/wire", {"wire": wire, "size": HOSTILE, "length_mm": HOSTILE, "based_on": 1}, 422))
    browser.send(f"{url}/wire", {"wire": wire, "size": "2 AWG", "based_on": 1})
    pages.append(browser.send(f"{url}/wire", {"wire": wire, "size": "4 AWG", "based_on": 1}, 409))
    for page in pages:
        reader = Reader()
        reader.feed(page)
        assert reader.found == [], page[:500]
        assert "49" not in re.findall(r"onerror=y\(\)&gt;(\d+)", page)
    assert browser.client.get(f"{url}/papers/summary.pdf").content.startswith(b"%PDF")
    drawing = browser.client.get(f"{url}/papers/single_line.svg")
    assert b"<script" not in drawing.content
    assert "attachment" in drawing.headers["content-disposition"]


class Lan:
    """A server on the network, and browsers that are not on its own machine."""

    def __init__(self, app: Any) -> None:
        self.app = app
        self.bench = app.state.bench

    def phone(self) -> TestClient:
        return TestClient(self.app, base_url="http://bench.local", client=("192.0.2.7", 5000))

    def pair(self, phone: TestClient, code: str) -> int:
        page = phone.get("/pair", headers={"accept": "text/html"}).text
        found = re.search(r'name="write-token" content="(\w+)"', page)
        assert found
        fields = {"code": code, "write_token": found[1]}
        return phone.post("/pair", data=fields, follow_redirects=False).status_code


@pytest.fixture
def lan(config: Config) -> Iterator[Lan]:
    app = create_app(Config(config.store_url, config.secret, ("bench.local",), lan=True))
    yield Lan(app)
    app.state.bench.close()


def test_a_phone_sees_nothing_before_it_is_paired(lan: Lan) -> None:
    phone = lan.phone()
    assert phone.get("/jobs.json").status_code == 401
    assert phone.get("/openapi.json").status_code == 401
    asked = phone.get("/jobs", headers={"accept": "text/html"}, follow_redirects=False)
    assert (asked.status_code, asked.headers["location"]) == (303, "/pair")
    code = lan.bench.pairing.token
    assert lan.pair(phone, code) == 303
    assert phone.get("/jobs.json").status_code == 200


def test_a_code_works_once(lan: Lan) -> None:
    said: list[str] = []
    lan.bench.paired = lambda: said.append(lan.bench.pairing.token)
    code = lan.bench.pairing.token
    assert lan.pair(lan.phone(), code) == 303
    assert said == [lan.bench.pairing.token]
    other = lan.phone()
    assert lan.pair(other, code) == 403
    assert other.get("/jobs.json").status_code == 401


def test_guessing_is_slowed_down(lan: Lan) -> None:
    code = lan.bench.pairing.token
    phone = lan.phone()
    codes = [lan.pair(phone, f"guess{n}") for n in range(tokens.MOST_TRIES)]
    assert codes == [403] * tokens.MOST_TRIES
    assert lan.pair(lan.phone(), code) == 429
    assert lan.bench.pairing.token != code


def test_a_forged_cookie_is_no_pairing(lan: Lan) -> None:
    phone = lan.phone()
    for forged in ("x.paired.y", tokens.new_session(b"t" * 32, paired=True)):
        phone.cookies.set("loomwright", forged)
        assert phone.get("/jobs.json").status_code == 401


def test_the_secret_is_kept_and_is_private(tmp_path: Any) -> None:
    first = secret_of(tmp_path)
    assert len(first) >= 32
    assert secret_of(tmp_path) == first
    assert (tmp_path / "server.key").stat().st_mode & 0o077 == 0


def test_ids_may_hold_anything(small: str) -> None:
    assert edit.add_item(small, HOSTILE[:60].replace(".", ""), "agm_20ah", "seat")
