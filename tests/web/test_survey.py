"""The survey: what is seen and measured is kept, and what is taken away comes back."""

from __future__ import annotations

import io
from typing import Any

from PIL import Image

from loomwright.rig.file import parse


def photo(kind: str = "JPEG") -> bytes:
    out = io.BytesIO()
    made = Image.new("RGB", (64, 48), "grey")
    made.getexif()[0x010E] = "secret place"
    made.save(out, kind, exif=made.getexif())
    return out.getvalue()


def upload(browser: Any, url: str, content: bytes, name: str = "a.jpg") -> int:
    fields = {"write_token": browser.token, "place": "seat", "caption": "Under the seat"}
    files = {"file": (name, content, "image/jpeg")}
    return int(browser.client.post(f"{url}/survey/photo", data=fields, files=files, follow_redirects=False).status_code)


def test_a_photograph_is_kept_marked_and_brought_back(browser: Any, small: str) -> None:
    url = browser.job(small)
    assert upload(browser, url, photo()) == 303
    kept = browser.data(f"{url}/survey.json?place=seat")["data"]["photos"][0]
    got = browser.client.get(f"/photos/{kept['id']}")
    assert got.headers["content-type"] == "image/jpeg"
    assert b"secret place" not in got.content
    spot = {"photo": kept["id"], "x_pct": "25", "y_pct": "75.5", "text": "chafed", "place": "seat"}
    browser.send(f"{url}/survey/mark", spot)
    marked = browser.data(f"{url}/survey.json?place=seat")["data"]["photos"][0]["marks"][0]
    assert (marked["x_pct"], marked["y_pct"], marked["text"]) == (25, 75.5, "chafed")
    after = browser.send(f"{url}/survey/remove", {"kind": "photo", "ref": kept["id"], "place": "seat"})
    assert "Bring it back" in browser.page(after)
    assert browser.data(f"{url}/survey.json?place=seat")["data"]["photos"] == []
    browser.send(f"{url}/survey/restore", {"kind": "photo", "ref": kept["id"], "place": "seat"})
    assert browser.data(f"{url}/survey.json?place=seat")["data"]["photos"][0]["marks"][0]["text"] == "chafed"


def test_what_is_no_photograph_is_refused_by_its_content(browser: Any, small: str) -> None:
    url = browser.job(small)
    for content in (b"", b"<svg onload='x()'/>", b"GIF89a" + b"0" * 50, b"\x89PNG\r\n\x1a\n" + b"\0" * 20):
        assert upload(browser, url, content, "photo.jpg") == 422


def test_readings_and_notes(browser: Any, small: str) -> None:
    url = browser.job(small)
    place = parse(small, "x").items["battery"].place
    browser.send(f"{url}/survey/reading", {"where": "battery", "quantity": "volts", "value": "12,6", "place": place})
    assert "Type the number alone" in browser.send(
        f"{url}/survey/reading", {"where": "battery", "quantity": "volts", "value": "much", "place": place}, 422
    )
    data = browser.data(f"{url}/survey.json?place={place}")["data"]
    assert [(r["where"], r["value"], r["unit"]) for r in data["readings"]] == [("battery", 12.6, "V")]
    browser.send(f"{url}/survey/note", {"place": place, "based_on": 0, "text": "Clamp is green."})
    assert browser.data(f"{url}/survey.json?place={place}")["data"]["note"]["text"] == "Clamp is green."


def test_findings_of_the_place_appear(browser: Any) -> None:
    from loomwright import demo

    url = browser.job(demo.text("carnival_trike_as_found"), "as found")
    rig = parse(demo.text("carnival_trike_as_found"), "x")
    place = rig.items["splice"].place
    found = browser.data(f"{url}/survey.json?place={place}")["data"]["findings"]
    ids = {place, *(i.id for i in rig.items.values() if i.place == place)}
    assert found
    assert all(ids & set(f["where"]) for f in found)
    every = browser.data(f"{url}/findings.json")["data"]["findings"]
    number = every.index(found[0]) + 1
    assert f'href="{url}/findings?n={number}"' in browser.page(f"{url}/survey?place={place}")


def test_the_second_of_two_who_write_a_note_chooses_and_loses_nothing(browser: Any, small: str) -> None:
    url = browser.job(small)
    browser.send(f"{url}/survey/note", {"place": "seat", "based_on": 0, "text": "Clamp is green."})
    mine = {"place": "seat", "based_on": 0, "text": "Clamp is <loose>.\r\n-- Two turns.\r\n++"}
    page = browser.send(f"{url}/survey/note", mine, status=409)
    assert "Saved elsewhere meanwhile" in page
    assert "Theirs: Clamp is green." in page
    for line in ("Clamp is &lt;loose&gt;.", "-- Two turns.", "++"):
        assert f"Yours:  {line}\n" in page
    assert ">Clamp is &lt;loose&gt;.\n-- Two turns.\n++</textarea>" in page
    assert 'name="based_on" value="1"' in page
    assert browser.data(f"{url}/survey.json?place=seat")["data"]["note"]["text"] == "Clamp is green."
    head = browser.data(f"{url}/survey.json?place=seat")["data"]["note"]["number"]
    browser.send(f"{url}/survey/note", {"place": "seat", "based_on": head, "text": "Clamp is green and loose."})
    assert browser.data(f"{url}/survey.json?place=seat")["data"]["note"]["text"] == "Clamp is green and loose."


def test_a_script_is_told_of_a_conflict_in_its_own_tongue(browser: Any, small: str) -> None:
    url = browser.job(small)
    fields = {"write_token": browser.token, "place": "seat", "based_on": 0}
    for text, status in (("one", 303), ("two", 409)):
        answer = browser.client.post(f"{url}/survey/note", data={**fields, "text": text}, follow_redirects=False,
                                     headers={"accept": "application/json"})  # fmt: skip
        assert answer.status_code == status
    assert answer.json()["error"]["kind"] == "conflict"


def test_a_place_added_to_a_rig_that_was_saved_meanwhile_is_not_lost(browser: Any, small: str) -> None:
    url = browser.job(small)
    browser.send(f"{url}/survey/place", {"name": "roof box", "based_on": 1})
    page = browser.send(f"{url}/survey/place", {"name": "tail", "based_on": 1}, status=409)
    assert "Saved elsewhere meanwhile" in page
    assert 'value="tail"' in page
    browser.send(f"{url}/survey/place", {"name": "tail", "based_on": 2})
    assert {"roof box", "tail"} <= set(parse(browser.text(url), "x").places)


def test_a_reading_that_cannot_be_read_stays_typed(browser: Any, small: str) -> None:
    url = browser.job(small)
    fields = {"where": "battery", "quantity": "resistance", "value": "about 3", "place": "seat"}
    page = browser.send(f"{url}/survey/reading", fields, 422)
    assert 'value="about 3"' in page
    assert '<option value="resistance" selected>' in page
    assert "<option selected>battery</option>" in page


def test_a_phone_is_given_the_small_copy(browser: Any, small: str) -> None:
    url = browser.job(small)
    out = io.BytesIO()
    Image.effect_noise((1600, 1200), 60).save(out, "JPEG")
    assert upload(browser, url, out.getvalue()) == 303
    assert upload(browser, url, photo()) == 303
    large, tiny = browser.data(f"{url}/survey.json?place=seat")["data"]["photos"]
    page = browser.page(f"{url}/survey?place=seat")
    assert f'srcset="/photos/{large["id"]}/small 640w, /photos/{large["id"]} 1600w"' in page
    assert f"/photos/{tiny['id']} " not in page
    little, whole = (browser.client.get(f"/photos/{large['id']}{end}") for end in ("/small", ""))
    assert little.headers["content-type"] == whole.headers["content-type"] == "image/jpeg"
    assert Image.open(io.BytesIO(little.content)).size == (640, 480)
    assert len(little.content) < len(whole.content) / 2
    assert browser.client.get("/photos/0000000000/small").status_code == 404
