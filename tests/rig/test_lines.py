"""The line of a key: told for every key of a file, whatever the file holds in its texts."""

from __future__ import annotations

import tomllib
from importlib.resources import files

import pytest

from loomwright.rig.lines import line_of, places

ODD = '''format = 1
title = "a # [wire] \\" = [["
notes = """
[[wire]]
id = "not a wire"
"""   # after
[item."odd.name"]
fuses_a = [
  5,   # ]
  "auto",
]
place = 'x'
[[wire]]
id = "P1"
from = "a"
[[wire]]
to = {a = "}"}
"size" = "8 AWG"
'''


@pytest.mark.parametrize(
    ("place", "line"),
    [
        ("title", 2), ("notes", 3), ("item.odd.name.fuses_a[2]", 8), ("item.odd.name.place", 12),
        ("item.odd.name.part", 7), ("wire[1] (P1).from", 15), ("wire[1] (P1).size", 13), ("wire[2].size", 18),
        ("wire[2].from", 16), ("vehicle.kind", None), ("wire[3].size", None),
    ],
)  # fmt: skip
def test_lines_of_a_file_with_odd_texts(place: str, line: int | None) -> None:
    assert line_of(place, places(ODD)) == line
    assert line_of(place, places(ODD.replace("\n", "\r\n"))) == line


def test_every_key_of_every_wire_stands_on_its_line() -> None:
    for file in sorted(f for f in files("loomwright.demo").iterdir() if f.name.endswith(".toml")):
        text = file.read_text(encoding="utf-8")
        lines, known = text.split("\n"), places(text)
        for n, wire in enumerate(tomllib.loads(text)["wire"], 1):
            for key in wire:
                assert lines[known[f"wire[{n}] ({wire['id']}).{key}"] - 1].startswith(key)


def test_text_that_is_not_toml_has_no_lines() -> None:
    assert places("a = \n[") == {}
