"""What cannot be had: each said in the reader's words, with numbers."""

from __future__ import annotations

import pytest

from loomwright.demo import list_path
from loomwright.draft import engine, equipment
from loomwright.draft.conflicts import demands, feasible
from loomwright.draft.equipment import EquipmentList
from loomwright.draft.results import Conflict
from loomwright.errors import InputError

TRIKE = list_path("carnival_trike").read_text(encoding="utf-8")


def problems(text: str) -> str:
    with pytest.raises(InputError) as raised:
        equipment.parse(text, "list.toml")
    return str(raised.value)


def test_equipment_without_a_place_is_named() -> None:
    said = problems(TRIKE.replace('part = "driver_10in"\nplace = "top_case"', 'part = "driver_10in"'))
    assert "item.bass.place" in said
    assert "Add the key" in said


@pytest.mark.parametrize(
    ("wish", "place", "near"),
    [
        ("min_amp_vv = 12", "wishes.min_amp_vv", "min_amp_v"),
        ('stock = ["8"]', "wishes.stock[1]", "AWG"),
        ('comes_off = ["left_cass"]', "wishes.comes_off[1]", "left_case"),
        ('block_places = ["deck"]', "wishes.block_places[1]", "rear_deck"),
        ('drives = { rear_amp = ["case_lef"] }', "wishes.drives.rear_amp[1]", "case_left"),
        ('keep = ["P1"]', "wishes.keep[1]", "P1"),
        ("budget = 50", "wishes.budget", "price"),
    ],
)
def test_a_slip_in_a_wish_is_named_with_its_remedy(wish: str, place: str, near: str) -> None:
    said = problems(TRIKE.replace("[wishes]\n", f"[wishes]\n{wish}\n"))
    assert place in said
    assert near in said


def test_every_problem_is_told_at_once() -> None:
    said = problems(TRIKE.replace("[wishes]\n", '[wishes]\nstock = ["8"]\n').replace('"driver_10in"', '"driver_1in"'))
    assert "wishes.stock[1]" in said or "item.bass.part" in said


def test_no_amplifier_and_no_battery_are_asked_for() -> None:
    said = problems('format = 1\ntitle = "Nothing"\nambient_c = 30\n')
    assert "battery" in said
    assert "amplifier" in said


def minimal(given: EquipmentList) -> Conflict:
    """The conflict of a list, held to being one: without any one of its demands the others can be met."""
    result = engine.draft(given, 1)
    assert result.best is None
    assert result.conflict is not None
    keys = {d.key for d in result.conflict.demands}
    wanted = {w.demand.key: w for w in demands(given)}
    others = [w for k, w in wanted.items() if k not in keys]
    assert not feasible(given, others)
    for key in keys:
        assert feasible(given, [*others, wanted[key]])
    return result.conflict


def test_too_many_volts_are_told_with_what_is_possible() -> None:
    found = minimal(equipment.parse(TRIKE.replace("min_amp_v = 12.0", "min_amp_v = 12.45"), "list.toml"))
    assert "wishes.min_amp_v" in {d.key for d in found.demands}
    assert any("12.45" in r and " V " in r for r in found.reasons)


def test_a_stock_that_lacks_a_size_is_a_demand() -> None:
    found = minimal(equipment.parse(TRIKE.replace("[wishes]\n", '[wishes]\nstock = ["18 AWG"]\n'), "list.toml"))
    assert [d.key for d in found.demands] == ["wishes.stock"]
    assert any("stock" in r for r in found.reasons)


SMALL = """
format = 1
title = "One channel"
ambient_c = 30
[place.box]
[item.battery]
part = "agm_60ah"
place = "box"
[item.amp]
part = "amp_1x150_class_d"
place = "box"
[item.bass]
part = "driver_10in"
place = "box"
[item.bass2]
part = "driver_10in"
place = "box"
[item.tweeter]
part = "tweeter_25mm"
place = "box"
"""


def test_more_loudspeakers_than_the_channels_carry() -> None:
    found = minimal(equipment.parse(SMALL, "list.toml"))
    assert {d.key for d in found.demands} in ({"item.bass", "item.tweeter"}, {"item.bass2", "item.tweeter"})
    assert any("3 loudspeakers of 2 kinds" in r and "1 free channels" in r for r in found.reasons)


def test_an_amplifier_larger_than_the_charging_system_is_told_with_its_arithmetic() -> None:
    text = TRIKE.replace("amp_1x250_class_d", "amp_1x1000_class_d").replace("stator_45a", "stator_20a")
    result = engine.draft(equipment.parse(text, "list.toml"), 1)
    assert any("bass_amp" in n and "1000 W" in n and "20 A" in n for n in result.notes)
    assert result.conflict is not None
    assert any("short" in r or "empty" in r for r in result.conflict.reasons)
