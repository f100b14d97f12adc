from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.drawing.marks import Circle, Path
from loomwright.facts.figures import all_figures
from loomwright.papers import cells, sources
from loomwright.papers.cautions import DEFER, cautions
from loomwright.papers.cells import Column
from loomwright.papers.signs import sign
from loomwright.rig.model import BatterySpec, Vehicle
from tests.drawing import demo, samples


@given(st.lists(st.one_of(st.floats(-1e5, 1e5), st.none(), st.just(float("inf"))), min_size=1, max_size=12))
def test_points_of_a_column_stand_in_one_line(values: list[float | None]) -> None:
    made = cells.table([Column("x", "V", number=True)], [[v] for v in values])
    tails = []
    for (cell,) in made["rows"]:
        whole = cell["text"] + cell["pad"]
        tails.append(len(whole) - whole.index(".") if "." in whole else 0)
    assert len(set(tails)) == 1


def test_isolation_comes_first_and_the_maker_and_the_law_always() -> None:
    for name in demo.ALL:
        found = cautions(demo.study(name).rig)
        assert found[0].head == "Isolate the battery first."
        heads = {c.head for c in found}
        assert {"Fuse near the source.", "Hearing.", "Hot and moving parts.", "Look behind before you drill.",
                "Road, water and noise law."} <= heads  # fmt: skip
    assert "local codes" in DEFER
    assert "licensed practice" in DEFER
    assert "makers" in DEFER


def test_lithium_and_acid_cautions_follow_the_batteries() -> None:
    rig = samples.tiny()
    spec = rig.items["battery"].part.spec
    assert isinstance(spec, BatterySpec)
    lithium = replace(
        rig.items["battery"], part=replace(rig.items["battery"].part, spec=replace(spec, chemistry="lfp"))
    )
    with_lithium = {c.head for c in cautions(replace(rig, items={**rig.items, "battery": lithium}))}
    assert "Lithium." in with_lithium
    assert "Acid and hydrogen." not in with_lithium
    assert "Acid and hydrogen." in {c.head for c in cautions(rig)}


def test_a_boat_has_its_own_caution() -> None:
    heads = {c.head for c in cautions(replace(samples.tiny(), vehicle=Vehicle("boat")))}
    assert "Petrol vapour in a boat." in heads


def test_signs_have_the_shapes_of_iso_3864() -> None:
    ring, bar = sign("Stop").marks
    assert isinstance(ring, Circle)
    assert ring.stroke is not None
    assert ring.stroke.role == "stop"
    assert isinstance(bar, Path)
    (first, last) = bar.points
    assert last[0] > first[0]
    assert last[1] > first[1]  # from upper left to lower right
    triangle = sign("Fix").marks[0]
    assert isinstance(triangle, Path)
    assert (len(triangle.points), triangle.fill) == (3, "fix")
    disc = sign("Know").marks[0]
    assert isinstance(disc, Circle)
    assert disc.fill == "know"


@pytest.mark.parametrize("name", demo.NAMES)
def test_every_source_used_is_printed_with_its_mark(name: str) -> None:
    rig = demo.study(name).rig
    used = sources.used(rig, {d.type for d in demo.study(name).protection.devices.values()})
    known = {f.key: f for f in all_figures()}
    assert used
    assert all(known[f.key] == f for f in used)
    rows = sources.by_source(used)
    assert {(m, s) for m, s, _ in rows} == {(f.mark, f.source) for f in used}
    for wire in rig.wires:
        if wire.size is not None and wire.size.system in ("AWG", "SAE"):
            gauge = wire.size.label.split()[0]
            assert any(f.key.startswith(f"conductor.{wire.size.system.lower()}.{gauge}.") for f in used)
    for item in rig.family("battery"):
        assert isinstance(item.part.spec, BatterySpec)
        assert any(f.key.startswith(f"battery.rest.{item.part.spec.rest_table}") for f in used)
    for device in demo.study(name).protection.devices.values():
        assert any(f.key.startswith(f"fuse.gate.{device.type}") for f in used)
