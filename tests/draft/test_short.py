"""Rows of a list: what, how many, where. They become items and places, or it is said what is wrong with each."""

from __future__ import annotations

import pytest

from loomwright.draft import equipment, short
from loomwright.errors import InputError
from loomwright.rig.catalogue import builtin

HEAD = 'format = 1\ntitle = "Rows"\nambient_c = 30\n'
BASE = (("agm_30ah", 1, "box"), ("stator_45a", 1, "engine"), ("amp_2x80_class_d", 1, "rear"))


def text(*rows: tuple[str, int, str]) -> str:
    each = (f'\n[[equipment]]\nwhat = "{w}"\nmany = {m}\nwhere = "{p}"\n' for w, m, p in (*BASE, *rows))
    return HEAD + "".join(each)


def items(*rows: tuple[str, int, str]) -> dict[str, tuple[str, str]]:
    rig = equipment.parse(text(*rows), "list.toml").rig
    return {i.id: (i.part.id, i.place) for i in rig.items.values()}


def test_a_row_becomes_as_many_items_and_its_place() -> None:
    found = items(("driver_6_5in", 2, "fairing"), ("driver_8in", 3, "rear"))
    assert found["amp"] == ("amp_2x80_class_d", "rear")
    assert found["fairing_speaker_left"] == found["fairing_speaker_right"] == ("driver_6_5in", "fairing")
    assert [k for k in found if k.startswith("rear_speaker")] == [f"rear_speaker_{n}" for n in (1, 2, 3)]


def test_names_stay_apart_whatever_the_rows_hold() -> None:
    rows = [("tweeter_25mm", 2, "rear"), ("tweeter_25mm", 2, "rear"), ("amp_1x150_class_d", 4, "rear")]
    found = items(*rows)
    assert len(found) == len(BASE) + 8


def test_words_that_fit_one_part_are_its_name() -> None:
    assert [p.id for p in short.matching(builtin(), "tweeter 25")] == ["tweeter_25mm"]
    assert [p.id for p in short.matching(builtin(), "Driver, 8 in, 4 ohm, 150 W")] == ["driver_8in"]
    assert [p.id for p in short.matching(builtin(), "driver 6.5 in 80 W")] == ["driver_6_5in"]
    assert short.matching(builtin(), "") == ()
    assert all(p.terminals for p in short.matching(builtin(), "wire"))


@pytest.mark.parametrize(
    ("row", "place", "said"),
    [
        (("class d 2", 1, "rear"), "equipment[4].what", "amp_2x80_class_d"),
        (("amp_2x81_class_d", 1, "rear"), "equipment[4].what", 'Did you mean "amp_2x80_class_d"'),
        (("driver_8in", 0, "rear"), "equipment[4].many", "1"),
        (("driver_8in", 1, "a.b"), "equipment[4].where", "full stop"),
    ],
)
def test_a_slip_in_a_row_is_named_with_its_remedy(row: tuple[str, int, str], place: str, said: str) -> None:
    with pytest.raises(InputError) as raised:
        equipment.parse(text(row), "list.toml")
    assert place in str(raised.value)
    assert said in str(raised.value)


def test_every_row_that_is_wrong_is_told_at_once() -> None:
    with pytest.raises(InputError) as raised:
        equipment.parse(text(("nothing", 1, "rear"), ("class d", 1, "rear")), "list.toml")
    assert {p.place for p in raised.value.problems} == {"equipment[4].what", "equipment[5].what"}


def test_rows_and_items_stand_in_one_list() -> None:
    more = '\n[item.amp]\npart = "amp_1x250_class_d"\nplace = "box"\n'
    found = equipment.parse(text() + more, "list.toml").rig.items
    assert found["amp"].part.id == "amp_1x250_class_d"
    assert found["rear_amp"].part.id == "amp_2x80_class_d"


def test_a_list_laid_over_a_rig_keeps_its_wires_and_remarks() -> None:
    from loomwright.cli import samples

    rig = samples.text(samples.BLANK)
    laid = short.onto(HEAD + '\n[wishes]\nmin_amp_v = 12\n\n[[equipment]]\nwhat = "driver_8in"\nwhere = "seat"\n', rig)
    found = equipment.parse(laid, "list.toml")
    before = equipment.parse(rig, "rig.toml").rig
    assert {w.id for w in found.rig.wires} == {w.id for w in before.wires}
    assert found.wishes.min_amp_v == 12
    assert set(found.rig.items) - set(before.items) == {"speaker"}
    assert rig.splitlines()[0] in laid
