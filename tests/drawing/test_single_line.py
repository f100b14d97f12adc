import itertools
from functools import cache
from xml.etree import ElementTree

import pytest

from loomwright.drawing import captions, figures, flow, fonts, recorder, single_line, svg
from loomwright.drawing.frame import SIZES_MM
from loomwright.drawing.marks import Group, Mark, Path, Sheet, flat
from tests.drawing import demo

each = pytest.mark.parametrize("name", demo.ALL)


@cache
def drawn(name: str) -> Sheet:
    return single_line.draw(demo.study(name))


def groups(sheet: Sheet, kind: str) -> list[Group]:
    def walk(marks: tuple[Mark, ...]) -> list[Group]:
        found = []
        for mark in marks:
            if isinstance(mark, Group):
                found += [mark] if mark.kind == kind else walk(mark.marks)
        return found

    return walk(sheet.marks)


@each
def test_no_words_on_words_no_line_through_words_nothing_off_the_sheet(name: str) -> None:
    record = recorder.record(drawn(name))
    assert record.text_overlaps() == ()
    assert record.crossed_texts() == ()
    assert record.outside() == ()


@each
def test_returns_are_broken_and_feeds_full_from_end_to_end(name: str) -> None:
    rig = demo.study(name).rig
    for group in groups(drawn(name), "wire"):
        dashes = {m.stroke.dash for m in flat(group.marks) if isinstance(m, Path) and m.stroke}
        assert dashes == ({"solid"} if rig.wire(group.ref).kind == "power" else {"long"})


def test_the_lead_at_a_battery_is_broken_on_the_side_of_its_return() -> None:
    rig = demo.study("trike").rig
    (box,) = (g for g in groups(drawn("trike"), "item") if rig.items[g.ref].part.family == "battery")
    leads = [
        (m.points[0][1], m.stroke.dash)
        for m in flat(box.marks)
        if isinstance(m, Path) and m.stroke and len(m.points) == 2 and m.points[0][1] == m.points[1][1]
        and abs(m.points[0][0] - m.points[1][0]) > 5.0
    ]  # fmt: skip
    full = [y for y, dash in leads if dash == "solid"]
    broken = [y for y, dash in leads if dash == "long"]
    assert full
    assert broken
    assert min(broken) > min(full)


@each
def test_no_two_wires_cross_without_a_bow(name: str) -> None:
    """Straight level and upright pieces of two wires never cross."""
    level, upright = [], []
    for group in groups(drawn(name), "wire"):
        for path in (m for m in flat(group.marks) if isinstance(m, Path)):
            for a, b in itertools.pairwise(path.points):
                if abs(a[1] - b[1]) < 1e-6:
                    level.append((group.ref, a[1], *sorted((a[0], b[0]))))
                elif abs(a[0] - b[0]) < 1e-6:
                    upright.append((group.ref, a[0], *sorted((a[1], b[1]))))
    for wire, y, left, right in level:
        for other, x, top, low in upright:
            assert wire == other or not (left + 0.5 < x < right - 0.5 and top < y < low)


@each
def test_no_wire_runs_through_a_box(name: str) -> None:
    sheet = drawn(name)
    boxes = [
        (
            min(x for x, _ in m.points),
            min(y for _, y in m.points),
            max(x for x, _ in m.points),
            max(y for _, y in m.points),
        )
        for g in groups(sheet, "item")
        for m in flat(g.marks)
        if isinstance(m, Path) and m.closed and len(m.points) == 4
    ]
    assert boxes
    for group in groups(sheet, "wire"):
        for mark in flat(group.marks):
            if isinstance(mark, Path):
                for p, q in itertools.pairwise(mark.points):
                    for left, top, right, bottom in boxes:
                        inside_x = min(max(p[0], q[0]), right) - max(min(p[0], q[0]), left)
                        inside_y = min(max(p[1], q[1]), bottom) - max(min(p[1], q[1]), top)
                        assert min(inside_x, inside_y) < 0.05 or max(inside_x, inside_y) < 0.05


@each
def test_every_power_wire_is_named_at_both_ends_and_sized_once(name: str) -> None:
    study, sheet = demo.study(name), drawn(name)
    words = recorder.record(sheet).words()
    wires = flow.power_wires(study.rig)
    assert {g.ref for g in groups(sheet, "wire")} == {w.id for w in wires}
    for wire in wires:
        assert words.count(fonts.named(wire.id, 30.0, 2.5, "semibold")) >= 2
    for group in groups(sheet, "wire"):
        wire = study.rig.wire(group.ref)
        texts = [t.text for t in recorder.record(Sheet(1e3, 1e3, group.marks)).texts]
        if wire.size is not None and wire.size.system != "bolted":
            assert sum(wire.size.label in t for t in texts) == 1
            assert figures.length(wire.length_mm) in texts


@each
def test_every_device_stands_with_type_and_rating(name: str) -> None:
    study = demo.study(name)
    words = " | ".join(recorder.record(drawn(name)).words())
    power_items = {ref.partition(".")[0] for w in flow.power_wires(study.rig) for ref in (w.start, w.end)}
    for device in study.protection.devices.values():
        if device.item in power_items:
            assert captions.device_words(device.type, device.rating_a) in words


@each
def test_the_state_of_the_case_is_on_it(name: str) -> None:
    study = demo.study(name)
    words = recorder.record(drawn(name)).words()
    assert "engine cruise, music" in words
    case = study.power.case("cruise", "music")
    for item in study.rig.family("amplifier"):
        assert any(figures.volts(case.items[item.id].volts_v) in w for w in words)


@pytest.mark.parametrize("name", ["carnival_trike_planned"])
def test_another_case_gives_other_volts(name: str) -> None:
    sheet = single_line.draw(demo.study(name), "idle", "loud")
    words = recorder.record(sheet).words()
    case = demo.study(name).power.case("idle", "loud")
    assert "engine idle, loud" in words
    for item in demo.study(name).rig.family("amplifier"):
        assert any(figures.volts(case.items[item.id].volts_v) in w for w in words)


@each
def test_feed_lies_over_return_at_every_load(name: str) -> None:
    study = demo.study(name)
    sheet = drawn(name)
    ends = {}
    for group in groups(sheet, "wire"):
        paths = [m.points for m in flat(group.marks) if isinstance(m, Path)]
        ends[group.ref] = (paths[0][0][1], paths[-1][-1][1])
    for d in flow.drawn_wires(study.rig)[0]:
        item = study.rig.item_of(d.right)
        if d.right.endswith(".supply+"):
            returns = [r for r in flow.drawn_wires(study.rig)[0] if r.right == f"{item.id}.supply-"]
            for other in returns:
                assert ends[d.wire.id][1] < ends[other.wire.id][1]


@each
def test_sources_are_drawn_left_of_loads(name: str) -> None:
    rig = demo.study(name).rig
    wires, level = flow.drawn_wires(rig)
    for d in wires:
        left, right = (rig.item_of(r).part.family for r in (d.left, d.right))
        assert left not in ("amplifier", "accessory") or right in ("amplifier", "accessory", "processor", "source")
        assert right != "charger"
    assert all(-1e-6 <= v <= 1.03 for v in level.values())


@each
def test_the_sheet_is_of_a_standard_size_and_the_demo_rigs_stay_on_a3(name: str) -> None:
    sheet = drawn(name)
    sizes = dict(SIZES_MM.items())
    assert (sheet.width_mm, sheet.height_mm) in sizes.values()
    if name in demo.NAMES:
        assert (sheet.width_mm, sheet.height_mm) == sizes["A3"]


@pytest.mark.parametrize("name", ["trike", "hostile", "harvest_buggy"])
def test_the_same_study_gives_the_same_bytes(name: str) -> None:
    assert svg.render(drawn(name)) == svg.render(single_line.draw(demo.study(name)))


def test_hostile_ids_are_shown_as_they_are() -> None:
    root = ElementTree.fromstring(svg.render(drawn("hostile")))
    shown = {e.text for e in root.iter("{http://www.w3.org/2000/svg}text")}
    assert {"<b>&\"'</b>", "$x^2$ `r`", "../../etc", "*bold* _it_ @ref", "#panic() </title> $title$"} <= shown
    assert not [e for e in root.iter() if e.tag.endswith("}b")]


def test_every_item_and_wire_has_words_for_a_reader_who_listens() -> None:
    root = ElementTree.fromstring(svg.render(drawn("trike")))
    titles = [e.text or "" for e in root.iter("{http://www.w3.org/2000/svg}title")]
    assert "P3: block.out1 to rear_amp.supply+, 8 AWG, 450\u2009mm" in titles
    assert "battery: AGM battery, front" in titles


def test_too_many_items_are_refused_in_words() -> None:
    from tests.drawing import samples

    items = {"battery": samples.battery()} | {f"a{k}": samples.amplifier() for k in range(single_line.MOST_BOXES)}
    wires = [(f"P{k}", "battery.plus", f"a{k}.supply+", "8 AWG", 500.0) for k in range(single_line.MOST_BOXES)]
    from loomwright.study import Study

    with pytest.raises(single_line.TooLarge, match="151"):
        single_line.draw(Study(samples.rig("much", items, wires)))
