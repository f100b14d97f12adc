"""A vehicle that is not on 12 V: what the reader says of batteries in series, and the way that the docs name."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from loomwright.draft import equipment
from loomwright.errors import InputError
from loomwright.rig.file import parse

DOCS = Path(__file__).parents[2] / "docs" / "how-to" / "describe.md"
SERIES = """
format = 1
title = "Three in a row"
ambient_c = 30
[place.tray]
[item.one]
part = "flooded_110ah_deep"
place = "tray"
[item.two]
part = "flooded_110ah_deep"
place = "tray"
[[wire]]
id = "X1"
from = "one.minus"
to = "two.plus"
size = "6 AWG"
"""
LIST = """
format = 1
title = "Cart"
ambient_c = 30
[place.tray]
[[equipment]]
what = "agm_12ah"
where = "tray"
[[equipment]]
what = "{what}"
where = "tray"
[[equipment]]
what = "amp_2x80_class_d"
where = "tray"
[[equipment]]
what = "source_line_2out"
where = "tray"
[[equipment]]
what = "driver_6_5in"
many = 2
where = "tray"
"""


def test_batteries_in_series_are_sent_to_the_converter() -> None:
    with pytest.raises(InputError) as caught:
        parse(SERIES, "cart.toml")
    told = [p for p in caught.value.problems if "X1" in p.place]
    assert told
    assert "converter" in told[0].remedy


def test_a_converter_as_the_docs_write_it_feeds_a_drafted_rig(tmp_path: Path) -> None:
    block = next(b for b in re.findall(r"```toml\n(.*?)```", DOCS.read_text(), re.S) if "converter_36_to_12" in b)
    (tmp_path / "catalogue.toml").write_text(f"format = 1\n\n{block}")
    (tmp_path / "list.toml").write_text(LIST.format(what="converter_36_to_12"))
    given = equipment.load(tmp_path / "list.toml")
    assert given.rig.family("charger")


def test_a_charger_between_batteries_wants_two_of_them() -> None:
    with pytest.raises(InputError) as caught:
        equipment.parse(LIST.format(what="DC-DC charger 20 A"), "list.toml")
    (told,) = caught.value.problems
    assert "second battery" in told.expected
    assert "DC-DC charger 20 A" not in told.received  # the words fit one part: its title, without the comma
