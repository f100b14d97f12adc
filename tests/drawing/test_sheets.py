"""All drawings of a rig: nothing in the way of anything, nothing missing, cross-references that lead both ways."""

import re
from collections import defaultdict
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import pytest

from loomwright.drawing import frame, layout, measure, sheets, svg
from loomwright.drawing.frame import Paper
from loomwright.drawing.marks import clean
from loomwright.drawing.sheets import Sheet
from loomwright.facts import colours
from loomwright.study import Study
from tests.drawing import demo, generated

SVG = "{http://www.w3.org/2000/svg}"
SEEDS = (1, 5, 8, 12)
PLANNED = "carnival_trike_planned"
each = pytest.mark.parametrize("name", demo.NAMES)
REFERENCE = re.compile(r"(\d+)/([A-Z])(\d+)")
Box = tuple[float, float, float, float]


@cache
def drawn(name: str, paper: Paper = "A3") -> tuple[Sheet, ...]:
    return sheets.sheets(demo.study(name), paper)


def root(sheet: Sheet) -> ElementTree.Element:
    return ElementTree.fromstring(svg.render(sheet.drawing))


def groups(sheet: Sheet, kind: str) -> list[ElementTree.Element]:
    return [g for g in root(sheet).iter(f"{SVG}g") if g.get("class") == kind]


def words(group: ElementTree.Element) -> list[str]:
    return [t.text or "" for t in group.iter(f"{SVG}text")]


def of(made: tuple[Sheet, ...], kind: str) -> list[tuple[int, Sheet]]:
    return [(k, s) for k, s in enumerate(made, 1) if s.id.startswith(kind)]


def check(study: Study, made: tuple[Sheet, ...]) -> None:
    seen: set[str] = set()
    for sheet in made:
        found = measure.measure(svg.render(sheet.drawing))
        assert found.through_boxes == (), sheet.title
        assert found.text_on_text == (), sheet.title
        assert found.text_on_line == (), sheet.title
        assert found.merged == (), sheet.title
        assert found.off_sheet == (), sheet.title
        assert found.smallest_mm >= 2.199, sheet.title
        if sheet.id.startswith("wiring"):
            seen |= found.wires
    assert seen == {clean(w.id) for w in study.rig.wires}


@each
def test_nothing_is_in_the_way_and_every_wire_is_there(name: str) -> None:
    check(demo.study(name), drawn(name))


@pytest.mark.parametrize("paper", ["A4", "Letter", "Tabloid"])
def test_it_is_so_on_other_paper(paper: Paper) -> None:
    made = drawn(PLANNED, paper)
    check(demo.study(PLANNED), made)
    assert {(s.drawing.width_mm, s.drawing.height_mm) for s in made} == {frame.SIZES_MM[paper]}


@pytest.mark.parametrize("seed", SEEDS)
def test_it_is_so_for_rigs_made_by_chance(seed: int) -> None:
    study = generated.study(seed)
    assert 20 <= len(study.rig.wires) <= 60
    check(study, sheets.sheets(study))


@pytest.mark.parametrize("name", ["hostile", "tiny"])
def test_it_is_so_for_ids_that_are_markup_and_for_the_least_rig(name: str) -> None:
    check(demo.study(name), drawn(name))
    assert [s.id for s in drawn(name)] == ["single_line", "wiring"]


@each
def test_the_drawings_of_a_rig_are_all_there_and_stay_on_a3(name: str) -> None:
    study = demo.study(name)
    kinds = dict.fromkeys(re.sub(r"_\d+$", "", s.id) for s in drawn(name))
    wanted = ["single_line", "wiring", "signal", *(["faces"] if study.loom.disconnects else []), "map"]
    assert list(kinds) == wanted
    assert len({s.id for s in drawn(name)}) == len(drawn(name))
    assert {(s.drawing.width_mm, s.drawing.height_mm) for s in drawn(name)} == {frame.SIZES_MM["A3"]}


@each
def test_every_wire_has_its_label_and_colour_at_both_ends_and_its_size_and_length(name: str) -> None:
    study = demo.study(name)
    said: dict[str, list[str]] = defaultdict(list)
    for _, sheet in of(drawn(name), "wiring"):
        for group in groups(sheet, "wire"):
            said[group.get("data-ref", "")] += words(group)
    for wire in study.loom.wires:
        texts = said[wire.id]
        assert texts.count(wire.id) >= 2
        assert sum(t == wire.colour for t in texts) >= 1
        assert sum(t.startswith(f"{wire.colour} {wire.size}") and t.endswith("m") for t in texts) >= 1


@each
def test_a_wire_that_leaves_a_sheet_names_the_place_where_its_other_end_is(name: str) -> None:
    """Each reference leads to a sheet and a zone that hold the item; the wire is drawn there too, and refers back."""
    made = drawn(name)
    wires = {k: {g.get("data-ref") for g in groups(s, "wire")} for k, s in of(made, "wiring")}
    leads: set[tuple[str, int, int]] = set()
    for k, sheet in of(made, "wiring"):
        for ghost in groups(sheet, "ghost"):
            item = ghost.get("data-ref", "")
            found = [REFERENCE.fullmatch(t) for t in words(ghost)]
            references = [m.groups() for m in found if m]
            assert references
            for number, letter, numeral in references:
                there = made[int(number) - 1]
                assert any(overlaps(hull(g), zone(there, letter, int(numeral))) for g in groups(there, "item")
                           if g.get("data-ref") == item)  # fmt: skip
                leads.add((item, k, int(number)))
                assert wires[k] & wires[int(number)]
    pairs = {(here, other) for _, here, other in leads}
    assert pairs == {(other, here) for here, other in pairs}


def hull(group: ElementTree.Element) -> Box:
    points: list[tuple[float, float]] = []
    for e in group.iter():
        numbers = [float(v) for v in re.findall(r"-?[\d.]+", e.get("points", ""))]
        points += zip(numbers[::2], numbers[1::2], strict=True)
        if e.tag == f"{SVG}text":
            points.append((float(e.get("x", "0")), float(e.get("y", "0"))))
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return (min(xs) - 50.0, min(ys) - 5.0, max(xs) + 50.0, max(ys) + 5.0)  # wires' stubs stand beside the box


def zone(sheet: Sheet, letter: str, numeral: int) -> Box:
    """The reference field, from the letters and numerals as they stand in the border."""
    border = groups(sheet, "frame")[0]
    texts = [(t.text, float(t.get("x", "0")), float(t.get("y", "0"))) for t in border.iter(f"{SVG}text")]
    x = next(x for text, x, y in texts if text == str(numeral) and y < 12.0)
    y = next(y for text, x, y in texts if text == letter and x < 20.0)
    return (x - 26.0, y - 27.0, x + 26.0, y + 26.0)


def overlaps(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def test_feeds_and_the_neighbourhood_of_each_amplifier_have_sheets_of_their_own() -> None:
    titles = [s.title for _, s in of(drawn(PLANNED), "wiring")]
    assert titles[0] == "Wiring diagram: feeds"
    for amplifier in demo.study(PLANNED).rig.family("amplifier"):
        assert sum(amplifier.id in t for t in titles) == 1


@pytest.mark.parametrize("name", ["carnival_trike_planned", "carnival_trike_as_found", "harvest_buggy"])
def test_faces_are_mirrored_as_a_hand_would_find_them(name: str) -> None:
    study = demo.study(name)
    cards = {g.get("data-ref"): g for _, s in of(drawn(name), "faces") for g in groups(s, "card")}
    for d in study.loom.disconnects:
        card = cards[d.id]
        a_wire, a_mating, b_mating, b_wire = faces(card)
        assert [list(r) for r in d.face] == a_mating
        assert a_wire == b_mating == [r[::-1] for r in a_mating]
        assert b_wire == a_mating
        said = words(card)
        for half, other in (("a", "b"), ("b", "a")):
            (head,) = (t for t in said if t.startswith(f"half {half}") and "parted" in t)
            assert ("LIVE" in head) == (half in d.live)
            if d.sockets:
                assert ("sockets" in head) == (d.sockets == half)
                assert ("pins" in head) == (d.sockets == other)
        assert said.count("spare") == 2 * d.spare
        for use in d.contacts:
            for wire, code in ((use.a_wire, use.a_colour), (use.b_wire, use.b_colour)):
                if wire is not None:
                    assert wire in said
                    assert not code or (code in said and colours.known(code))


def faces(card: ElementTree.Element) -> list[list[list[int]]]:
    """The numbers in the rings of each face, row by row, from left to right."""
    rings = {(float(c.get("cx", "0")), float(c.get("cy", "0"))) for c in card.iter(f"{SVG}circle")}
    at: dict[tuple[float, float], int] = {}
    for text in card.iter(f"{SVG}text"):
        x, y = float(text.get("x", "0")), float(text.get("y", "0"))
        if text.get("text-anchor") == "middle" and any(abs(x - a) < 0.01 and abs(y - b) < 2.0 for a, b in rings):
            at[x, y] = int(text.text or "")
    out: list[list[list[int]]] = []
    for box in card.iter(f"{SVG}polygon"):
        numbers = [float(v) for v in re.findall(r"-?[\d.]+", box.get("points", ""))]
        left, right, top, bottom = min(numbers[::2]), max(numbers[::2]), min(numbers[1::2]), max(numbers[1::2])
        inside = {p: n for p, n in at.items() if left < p[0] < right and top < p[1] < bottom}
        if inside and box.get("stroke"):
            rows = sorted({y for _, y in inside})
            out.append([[inside[p] for p in sorted(inside) if p[1] == y] for y in rows])
    return out


@each
def test_the_map_has_every_run_with_what_lies_in_it(name: str) -> None:
    study = demo.study(name)
    cards = {g.get("data-ref"): g for _, s in of(drawn(name), "map") for g in groups(s, "card")}
    assert len(cards) == len(study.rig.runs)
    for bundle in study.loom.bundles:
        card = cards[f"run {bundle.run}"]
        text = " ".join(words(card))
        assert f"{len(bundle.wires)} wire" in text
        assert f"bundle {bundle.diameter_mm:.1f}" in text
        assert all(h in text for h in study.rig.runs[bundle.run - 1].hazards)
        lit = [g.get("data-ref") for g in card.iter(f"{SVG}g") if g.get("class") == "wire"]
        assert sorted(map(str, lit)) == sorted(bundle.wires)
    (_, sheet), *_ = of(drawn(name), "map")
    assert any("no geometry" in w for w in words(groups(sheet, "notes")[0]))


@each
def test_the_signal_diagram_has_every_line_and_remote_lead(name: str) -> None:
    wanted = {w.id for w in demo.study(name).rig.wires if w.kind in ("line", "remote")}
    assert wanted <= {g.get("data-ref") for _, s in of(drawn(name), "signal") for g in groups(s, "wire")}


@each
def test_the_power_diagram_says_which_case_it_shows(name: str) -> None:
    engine = demo.study(name).rig.engine_states()[-1]
    for _, sheet in of(drawn(name), "single_line"):
        assert f"engine {engine}, music" in words(groups(sheet, "frame")[0])


def test_the_same_rig_gives_the_same_bytes() -> None:
    before = [svg.render(s.drawing) for s in drawn(PLANNED)]
    layout._placed.cache_clear()
    assert [svg.render(s.drawing) for s in sheets.sheets(demo.study(PLANNED))] == before


def test_each_drawing_is_written_as_svg_pdf_and_png(tmp_path: Path) -> None:
    made = tuple(s for s in drawn(PLANNED) if s.id == "map")
    files = sheets.write(made, tmp_path)
    assert [f.name for f in files] == ["map.svg", "map.pdf", "map.png"]
    assert files[0].read_bytes().startswith(b"<?xml")
    assert files[1].read_bytes().startswith(b"%PDF")
    assert files[2].read_bytes().startswith(b"\x89PNG")
