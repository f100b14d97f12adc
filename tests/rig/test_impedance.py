"""Measured curves: what the reader takes as it comes, what it says, and what it refuses with the line."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.errors import InputError, Problem
from loomwright.rig.file import load
from loomwright.rig.impedance import parse
from loomwright.rig.model import Impedance
from loomwright.rig.report import Report
from tests.rig.rigs import SMALL, changed, problems

GOOD = "20 5.1 10\n40 20.5 -5\n80 6 -20\n160 4.2 0\n"


def read(text: str) -> Impedance:
    report = Report("curve.txt")
    found = parse(text, report)
    assert not report.problems
    assert found is not None
    return found


def refused(text: str) -> Problem:
    report = Report("curve.txt")
    assert parse(text, report) is None
    assert report.problems
    for part in ("expected", "received", "remedy"):
        assert getattr(report.problems[0], part)
    return report.problems[0]


@pytest.mark.parametrize(
    "text",
    [
        GOOD,
        "Frequency Impedance Phase\n" + GOOD,
        "* made by hand\n# Hz, ohm, degrees\n\n" + GOOD,
        GOOD.replace(" ", "\t"),
        GOOD.replace(" ", ";"),
        GOOD.replace(" ", ","),
        GOOD.replace(" ", ", "),
        GOOD.replace("\n", "  more 1\n"),
        GOOD.replace("\n", "\r\n"),
        "20 5.1 10\n20 5.1 10\n" + GOOD[len("20 5.1 10\n") :],
    ],
    ids=["spaces", "heading", "remarks", "tabs", "semicolons", "commas", "both", "more columns", "line ends", "twice"],
)
def test_columns_as_they_come(text: str) -> None:
    found = read(text)
    assert found.frequency_hz == (20, 40, 80, 160)
    assert found.ohm == (5.1, 20.5, 6, 4.2)
    assert found.degrees == (10, -5, -20, 0)


@pytest.mark.parametrize("between", [" ", "\t", ";", "; "])
def test_decimal_commas(between: str) -> None:
    found = read(GOOD.replace(".", ",").replace(" ", between))
    assert found.ohm == (5.1, 20.5, 6, 4.2)
    assert found.notes == ("decimal commas read as points",)


@pytest.mark.parametrize(
    "text",
    [
        "kHz ohm deg\n0.02 5.1 10\n0.04 20.5 -5\n0.08 6 -20\n0.16 4.2 0\n",
        "0.02 5.1 10\n0.04 20.5 -5\n0.08 6 0\n0.16 4 0",
    ],
    ids=["said", "seen"],
)
def test_kilohertz(text: str) -> None:
    found = read(text)
    assert found.frequency_hz == pytest.approx((20, 40, 80, 160))
    assert found.notes == ("frequencies read as kilohertz",)


def test_marks_between_thousands() -> None:
    assert read("500 5.5 0\n1,000 6.5 0\n2,000 7.5 0\n").frequency_hz == (500, 1000, 2000)


def test_rows_out_of_order_are_put_in_order_and_said() -> None:
    found = read("160 4.2 0\n20 5.1 10\n80 6 -20\n40 20.5 -5\n")
    assert found.frequency_hz == (20, 40, 80, 160)
    assert found.notes == ("rows put in order of frequency",)


@pytest.mark.parametrize(
    ("text", "place", "received"),
    [
        ("20 5 0\n40 5 0\n160 5 0\n", "line 3", "nothing between 40 Hz and 160 Hz"),
        ("20 5 0\n40 0\n80 5 0\n160 5 0\n", "line 2", "2 of them"),
        ("20 5 0\n40  0\n80 5 0\n160 5 0\n", "line 2", "2 of them"),
        ("20 5 0\n40 -5 0\n80 5 0\n160 5 0\n", "line 2", "-5"),
        ("20 5 0\n40 5 120\n80 5 0\n160 5 0\n", "line 2", "120"),
        ("20 5 0\n40 5 x\n80 5 0\n160 5 0\n", "line 2", '"x"'),
        ("20 5 0\n40 nan 0\n80 5 0\n160 5 0\n", "line 2", '"nan"'),
        ("20 5 0\n20 6 0\n40 6 0\n80 5 0\n160 5 0\n", "line 2", "20 Hz twice"),
        ("100 5 0\n200 5 0\n", "file", "2"),
        ("Hz ohm deg\n", "file", "no rows"),
        ("", "file", "no rows"),
        ("5 5 0\n10 5 0\n20 5 0\n", "file", "20 at most"),
        ("500;5;0\n1,000;5;0\n2,000;5;0\n", "file", "1,000"),
        ("-20 5 0\n400 5 0\n", "line 1", "-20"),
    ],
)
def test_what_cannot_be_used_is_named_with_its_line(text: str, place: str, received: str) -> None:
    problem = refused(text)
    assert problem.place == place
    assert received in problem.received


def rig_with(tmp_path: Path, keys: str, curve: str | bytes | None = GOOD) -> Path:
    if curve is not None:
        (tmp_path / "left.txt").write_bytes(curve if isinstance(curve, bytes) else curve.encode())
    path = tmp_path / "rig.toml"
    old = 'part = "driver_6_5in"\nplace = "case"'
    path.write_text(changed((old, f"{old}\n{keys}")))
    return path


def test_a_file_beside_the_rig_is_read(tmp_path: Path) -> None:
    rig = load(rig_with(tmp_path, 'impedance_file = "left.txt"'))
    found = rig.items["left"].impedance
    assert found is not None
    assert found.ohm == (5.1, 20.5, 6, 4.2)


def test_other_encodings_are_read(tmp_path: Path) -> None:
    text = "Hz ohm °\n" + GOOD
    for encoded in (text.encode("latin-1"), text.encode("utf-16"), text.encode("utf-8-sig")):
        assert load(rig_with(tmp_path, 'impedance_file = "left.txt"', encoded)).items["left"].impedance is not None


@pytest.mark.parametrize("name", ["../left.txt", "/etc/passwd", "a/b.txt", "..", "a\\\\b.txt"])
def test_only_a_file_beside_the_rig_is_read(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError) as caught:
        load(rig_with(tmp_path, f'impedance_file = "{name}"'))
    assert [p.place for p in caught.value.problems] == ["item.left.impedance_file"]
    assert "beside the rig" in caught.value.problems[0].expected


def test_a_missing_file_and_a_bad_row_name_the_file(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        load(rig_with(tmp_path, 'impedance_file = "left.txt"', None))
    assert caught.value.problems[0].place == "item.left.impedance_file"
    with pytest.raises(InputError) as caught:
        load(rig_with(tmp_path, 'impedance_file = "left.txt"', GOOD + "320 x 0\n"))
    (problem,) = caught.value.problems
    assert (problem.file, problem.place) == (str(tmp_path / "left.txt"), "line 5")


def said(keys: str) -> list[str]:
    """Places of the problems of the small rig with further keys on its driver."""
    old = 'part = "driver_6_5in"\nplace = "case"'
    return [p.place for p in problems(changed((old, f"{old}\n{keys}")))]


def test_a_rig_that_is_text_alone_holds_its_curve_itself() -> None:
    assert said('impedance_file = "left.txt"') == ["item.left.impedance_file"]
    assert said("impedance = [[20, 5, 0], [40, 6, 0], [80, 5, 0]]") == []
    assert said("impedance = [[20, 5, 0], [40, 6, 0], [400, 5, 0]]") == ["item.left.impedance[3]"]
    assert said("impedance = [[20, 5, 0], [40, 6, 0]]") == ["item.left.impedance"]
    assert said('impedance_file = "a.txt"\nimpedance = [[20, 5, 0], [40, 6, 0], [80, 5, 0]]') == [
        "item.left.impedance_file"
    ]


@pytest.mark.parametrize(
    ("keys", "place"),
    [
        ('mounting = "sealed"', "item.left.box_l"),
        ('mounting = "vented"\nbox_l = 20', "item.left.port_hz"),
        ("box_l = 20", "item.left.box_l"),
        ('mounting = "sealed"\nbox_l = 20\nport_hz = 40', "item.left.port_hz"),
        ('mounting = "shut"', "item.left.mounting"),
        ('mounting = "sealed"\nbox_l = 0', "item.left.box_l"),
    ],
)
def test_a_box_needs_what_belongs_to_it(keys: str, place: str) -> None:
    assert said(keys) == [place]


def test_boxes_are_for_drivers() -> None:
    old = 'part = "amp_4x50_class_d"\nplace = "case"'
    found = problems(SMALL.replace(old, f'{old}\nmounting = "sealed"\nbox_l = 20'))
    assert [p.place for p in found] == ["item.amp.mounting", "item.amp.box_l"]
