"""The rig page: what is edited in the side sheet stands in the file, comments and all; nobody's edit is lost."""

from __future__ import annotations

from typing import Any

import pytest

from loomwright.rig.file import parse


def number(browser: Any, url: str) -> int:
    return int(browser.data(f"{url}/rig.json")["data"]["rig"]["revision"])


def a_wire(small: str) -> str:
    return next(w.id for w in parse(small, "x").wires if w.kind == "power" and w.size and w.size.system == "AWG")


def test_the_page_shows_diagram_and_tables_of_the_same_rig(browser: Any, small: str) -> None:
    url = browser.job(small)
    page = browser.page(f"{url}/rig")
    rig = parse(small, "x")
    assert "<svg" in page
    for item in rig.items:
        assert f"?item={item}" in page
    data = browser.data(f"{url}/rig.json")["data"]
    assert [w["id"] for w in data["wires"]] == [w.id for w in rig.wires]


def test_a_wire_edit_changes_that_line_alone(browser: Any, small: str) -> None:
    url, wire = browser.job(small), a_wire(small)
    where = browser.send(f"{url}/wire", {"wire": wire, "size": "4 AWG", "length_mm": "777", "based_on": 1,
                                         "cover": ["grommet"]})  # fmt: skip
    assert where == f"{url}/rig?wire={wire}"
    after = browser.text(url)
    found = parse(after, "x").wire(wire)
    assert (found.size.label, found.length_mm, found.cover) == ("4 AWG", 777.0, ("grommet",))
    assert [c for c in small.splitlines() if c.startswith("#")] == [c for c in after.splitlines() if c.startswith("#")]
    changed = set(after.splitlines()) ^ set(small.splitlines())
    assert len(changed) <= 6


def test_saving_without_a_change_saves_nothing(browser: Any, small: str) -> None:
    url, wire = browser.job(small), parse(small, "x").wire(a_wire(small))
    given = {"wire": wire.id, "size": wire.size.label, "based_on": 1, "metal": wire.metal,
             "insulation_c": str(wire.insulation_c), "cover": list(wire.cover)}  # fmt: skip
    if wire.length_given:
        given["length_mm"] = f"{wire.length_mm:g}"
    browser.send(f"{url}/wire", given)
    assert browser.text(url) == small
    assert number(browser, url) == 1


def test_what_cannot_be_is_refused_and_stays_typed(browser: Any, small: str) -> None:
    url, wire = browser.job(small), a_wire(small)
    page = browser.send(f"{url}/wire", {"wire": wire, "size": "8 AWG", "length_mm": "12 ells", "based_on": 1}, 422)
    assert "Not saved" in page
    assert 'value="12 ells"' in page
    assert browser.text(url) == small


def test_undo_and_redo(browser: Any, small: str) -> None:
    url, wire = browser.job(small), a_wire(small)
    browser.send(f"{url}/wire", {"wire": wire, "size": "2 AWG", "based_on": 1})
    edited = browser.text(url)
    browser.send(f"{url}/undo")
    assert browser.text(url) == small
    browser.send(f"{url}/redo")
    assert browser.text(url) == edited


def test_the_second_of_two_is_shown_the_difference_and_both_are_kept(browser: Any, small: str) -> None:
    url, wire = browser.job(small), a_wire(small)
    browser.send(f"{url}/wire", {"wire": wire, "size": "2 AWG", "based_on": 1})
    first = browser.text(url)
    page = browser.send(f"{url}/wire", {"wire": wire, "size": "6 AWG", "based_on": 1}, status=409)
    assert "Saved elsewhere meanwhile" in page
    assert "2 AWG" in page
    assert "6 AWG" in page
    assert browser.text(url) == first
    job = url.split("/")[2]
    assert any("6 AWG" in r.text and r.side for r in browser.bench.store.history(job, "planned"))
    head = number(browser, url)
    browser.send(f"{url}/wire", {"wire": wire, "size": "6 AWG", "based_on": head})
    assert parse(browser.text(url), "x").wire(wire).size.label == "6 AWG"


def test_a_rig_is_built_from_nothing(browser: Any) -> None:
    url = browser.send("/jobs", {"title": "From nothing"}).removesuffix("/rig")
    for item, part in (
        ("battery", "agm_20ah"), ("block", "fused_block_4way_c"), ("bus", "bus_ground_6"),
        ("front", "amp_4x75_class_d"), ("rear", "amp_2x80_class_d"),
    ):  # fmt: skip
        fields = {"item": item, "part": part, "place": "seat", "based_on": number(browser, url)}
        assert browser.send(f"{url}/item/add", fields) == f"{url}/rig?item={item}"
    page = browser.page(f"{url}/rig")
    assert "still to do" in page
    for wire, start, to in (
        ("P1", "battery.plus", "block.in"), ("R1", "battery.minus", "bus.stud1"),
        ("P2", "block.out1", "front.supply+"), ("R2", "front.supply-", "bus.stud2"),
        ("P3", "block.out2", "rear.supply+"), ("R3", "rear.supply-", "bus.stud3"),
    ):  # fmt: skip
        offered = browser.page(f"{url}/rig?start={start}")
        assert f">{to}</option>" in offered
        fields = {"start": start, "to": to, "wire": wire, "size": "auto", "based_on": number(browser, url)}
        assert browser.send(f"{url}/wire/add", fields) == f"{url}/rig?wire={wire}"
    data = browser.data(f"{url}/rig.json")["data"]
    assert data["rig"]["problems"] == []
    assert "<svg" in browser.page(f"{url}/rig")
    assert browser.data(f"{url}/faults.json")["data"]["faults"]


def test_only_kinds_that_fit_are_offered(browser: Any, small: str) -> None:
    from loomwright.web import draft

    rig = parse(small, "x")
    d = draft.read(small)
    for item, terminal in draft.terminals(d):
        if terminal.kind != "line" or item.part is None or item.part.family == "connector":
            continue
        for end in draft.fitting(d, f"{item.id}.{terminal.name}"):
            fixed = rig.items[end.partition(".")[0]].part.family not in ("connector", "splice", "switch")
            assert not fixed or rig.terminal(end).kind == "line"


def test_a_fit_is_what_the_rig_file_would_take(browser: Any) -> None:
    """Every terminal that is offered can be saved; a terminal of another item with room that is not offered cannot."""
    from loomwright import demo
    from loomwright.errors import InputError
    from loomwright.rig import edit
    from loomwright.web import draft

    text = demo.text("canal_launch")
    d = draft.read(text)
    known = [f"{i.id}.{t.name}" for i, t in draft.terminals(d)]
    for start in known[::19]:
        fits = draft.fitting(d, start)
        for end in known[::7]:
            if end.partition(".")[0] == start.partition(".")[0]:
                continue
            size = "auto" if fits.get(end) in ("power", "ground") else "18 AWG"
            try:
                rig = parse(edit.add_wire(text, "new", start, end, size, length_mm=300), "x")
            except InputError as error:
                unlike = [p for p in error.problems if "of one kind" in p.expected or p.expected.startswith("at most")]
                assert (end in fits) == (not unlike), (start, end)
            else:
                assert rig.wire("new").kind == fits[end]


def test_a_wire_that_is_begun_offers_a_size_of_its_kind(browser: Any) -> None:
    from loomwright import demo

    url = browser.job(demo.text("harvest_buggy"))
    page = browser.page(f"{url}/rig?start=no.such")
    assert "takes no more wires" in page
    rig = parse(demo.text("harvest_buggy"), "x")
    tag = next(f"{i.id}.+" for i in rig.family("driver"))
    page = browser.page(f"{url}/rig?start={tag.replace('+', '%2B')}")
    assert 'data-size="16 AWG" data-kind="speaker"' in page


def test_the_diagram_shows_the_view_of_what_is_chosen(browser: Any) -> None:
    from loomwright import demo

    text = demo.text("harvest_buggy")
    url, rig = browser.job(text), parse(text, "x")
    speaker = next(w.id for w in rig.wires if w.kind == "speaker")
    power = next(w.id for w in rig.wires if w.kind == "power")
    for wire, view in ((speaker, "signals"), (power, "power")):
        assert browser.data(f"{url}/rig.json?wire={wire}")["data"]["view"] == view
        assert f'data-ref="{wire}" class="wire"' in browser.page(f"{url}/rig?wire={wire}")
    assert browser.data(f"{url}/rig.json?wire={power}&view=signals")["data"]["view"] == "signals"
    assert browser.client.get(f"{url}/rig?view=sideways").status_code == 422


def test_what_is_not_a_whole_rig_yet_is_drawn_as_far_as_it_goes(browser: Any) -> None:
    url = browser.send("/jobs", {"title": "Begun"}).removesuffix("/rig")
    for item, part in (("battery", "agm_20ah"), ("amp", "amp_4x75_class_d")):
        fields = {"item": item, "part": part, "place": "seat", "based_on": number(browser, url)}
        browser.send(f"{url}/item/add", fields)
    page = browser.page(f"{url}/rig")
    assert 'data-ref="battery.plus"' in page
    assert 'data-ref="amp.supply+"' in page
    assert 'data-ref="amp.ch1+"' in browser.page(f"{url}/rig?view=signals")


@pytest.mark.parametrize(
    "text", ["", "item = 3", '[[wire]]\nid = "a"\nfrom = 3\nto = "x.y"', '[item.a]\npart = "none"']
)
def test_a_draft_of_anything_can_be_sketched(text: str) -> None:
    from loomwright.web import draft, picture

    for view in ("power", "signals"):
        assert picture.sketched(draft.read(text), view) == ""  # type: ignore[arg-type]


@pytest.mark.parametrize("words", ["class d 4", "60 a", "battery agm"])
def test_the_catalogue_is_searched_by_words_and_ratings(words: str) -> None:
    from loomwright.web.tables import find_parts

    found = find_parts(words)
    assert found
    for part in found:
        text = f"{part.title} {part.id} {part.family}".replace("_", " ").casefold()
        assert all(w in text for w in words.split())


def test_an_item_taken_out_takes_its_wires_along(browser: Any, small: str) -> None:
    url = browser.job(small)
    amp = parse(small, "x").family("amplifier")[0].id
    browser.send(f"{url}/item/remove", {"item": amp, "based_on": 1})
    after = browser.text(url)
    assert f"[item.{amp}]" not in after
    assert f'"{amp}.' not in after
    browser.send(f"{url}/undo")
    assert browser.text(url) == small


def test_a_stage_begins_with_a_copy_of_another(browser: Any, small: str) -> None:
    url = browser.job(small)
    built = url.replace("/planned", "/as-built")
    assert "No rig as built yet" in browser.page(f"{built}/rig")
    browser.send(f"{built}/begin", {"source": "planned"})
    assert parse(browser.text(built), "x").stage == "as built"
    assert browser.text(url) == small


def test_a_place_is_added_without_touching_the_rest(browser: Any, small: str) -> None:
    url = browser.job(small)
    browser.send(f"{url}/survey/place", {"name": "roof box", "based_on": 1})
    after = browser.text(url)
    assert "roof box" in parse(after, "x").places
    assert [line for line in after.splitlines() if line not in small.splitlines()] == ['[place."roof box"]']
    browser.send(f"{url}/survey/place", {"name": "roof box", "based_on": 2}, status=422)
