"""Every figure can be found, carries its source, and says how far to trust it."""

from __future__ import annotations

import re

import pytest

from loomwright.errors import UnknownName
from loomwright.facts import figures, tables
from loomwright.facts.figures import all_figures, figure, figures_below

ALL = all_figures()


def test_every_figure_has_a_mark_and_a_source():
    assert [f.key for f in ALL if f.mark not in tables.MARKS] == []
    assert [f.key for f in ALL if not f.source.strip()] == []


def test_names_are_unique_and_lead_back_to_the_figure():
    keys = [f.key for f in ALL]
    assert len(set(keys)) == len(keys)
    assert all(figure(k).key == k for k in keys)


def test_every_data_file_is_read():
    import pathlib

    here = pathlib.Path(tables.__file__).parent / "data"
    assert sorted(p.stem for p in here.glob("*.toml")) == sorted(tables.FILES)


def test_sources_hold_no_addresses_and_no_machine_paths():
    text = " ".join(f"{f.source} {f.note}" for f in ALL)
    assert re.findall(r"https?:|www\.|(?<!\S)(?:~?/|[A-Z]:\\)\w+\S*", text) == []


@pytest.mark.parametrize(
    ("key", "value", "unit"),
    [
        ("conductor.awg.4/0.area_mm2", 107.219, "mm2"),
        ("ampacity.boat.8.105", 80.0, "A"),
        ("fuse.gate.C.1.35.max_s", 600.0, "s"),
        ("fuse.cold.F.7.5", 10.85, "mOhm"),
        ("joint.ring lug.ok", "yes", ""),
        ("battery.chemistry.agm.charge_max_v", 14.8, "V"),
        ("programme.music.fraction", 0.125, ""),
        ("charging.base_load.fan.high_w", 80.0, "W"),
        ("conductor.alpha20", 0.00393, "1/K"),
    ],
)
def test_a_figure_by_name(key, value, unit):
    found = figure(key)
    assert (found.value, found.unit) == (value, unit)


def test_a_row_inherits_mark_and_source_from_its_table():
    assert figure("ampacity.boat.8.105").mark == "published"
    assert "33 CFR 183.425" in figure("ampacity.boat.8.105").source
    assert figure("conductor.sae.8.area_mm2").provisional
    assert not figure("conductor.sae.10.area_mm2").provisional


@pytest.mark.parametrize(
    ("wrong", "nearest"),
    [
        ("conductor.awg.8.area_mm", "conductor.awg.8.area_mm2"),
        ("Joint.Ring Lug.mohm", "joint.ring lug.mohm"),
        ("conductor.awg.8", "conductor.awg.8.area_mm2"),
    ],
)
def test_an_unknown_figure_names_the_nearest(wrong, nearest):
    with pytest.raises(UnknownName) as caught:
        figure(wrong)
    assert nearest in str(caught.value)


def test_a_whole_row_or_table():
    columns = {f.key.rpartition(".")[2] for f in figures_below("conductor.awg.8")}
    assert columns == {"solid_diameter_mm", "area_mm2", "cmil"}
    assert figures_below("nothing here") == ()


def test_a_unit_is_read_from_the_end_of_a_name():
    assert figures._unit("melting_a2s") == "A2s"
    assert figures._unit("class_5_mohm_per_m") == "mOhm/m"
    assert figures._unit("factor") == ""


def test_rows_with_dots_in_their_names():
    assert tables.rows("fuses", "fuse.gate.C")["1.35"].number("max_s") == 600
    with pytest.raises(KeyError):
        tables.rows("fuses", "fuse.gate.C.1.36")
