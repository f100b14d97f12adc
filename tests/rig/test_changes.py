"""Changes to a rig file as values: what is told is what is done, and nothing else."""

from __future__ import annotations

import tomllib

import pytest

from loomwright.errors import UnknownName
from loomwright.rig import edit
from loomwright.rig.changes import Fuse, ItemKey, NewWire, RunKey, WireKey, apply, told

TEXT = """# head
format = 1

[[run]]                       # along the sill
between = ["a", "b"]
length_mm = 100
cover = ["grommet"]           # keep

[item.block]
part = "fused_block_4way_c"   # left one
place = "a"
fuses_a = [10, 20, 0, "auto"] # amperes

[[wire]]
id = "P1"
from = "block.out1"
to = "amp.supply+"
size = "8 AWG"                # from the reel
"""
INLINE = """wire = [
  { id = "P1", from = "a.x", to = "b.y", size = "8 AWG" }, # first
]
run = [ { between = ["a", "b"], length_mm = 100 } ]
"""
CHANGES = (
    (WireKey("P1", "size", "4 AWG"), "P1: size 8 AWG \u2192 4 AWG"),
    (WireKey("P1", "metal", "tinned copper"), "P1: metal copper \u2192 tinned copper"),
    (WireKey("P1", "to_joint", "ring lug"), "P1: joint at its end the usual one \u2192 ring lug"),
    (WireKey("P1", "insulation_c", 125), "P1: insulation 105 \u00b0C \u2192 125 \u00b0C"),
    (RunKey(1, "cover", ["grommet", "conduit"]), "run 1: cover grommet \u2192 grommet and conduit"),
    (ItemKey("block", "part", "fused_block_6way_c"), "block: part fused_block_4way_c \u2192 fused_block_6way_c"),
    (Fuse("block", 2, 15.0), "block: fuse in way 2 20 A \u2192 15 A"),
    (NewWire("P2", "block.out2", "amp.remote", "18 AWG", (("length_mm", 300.0),)),
     "P2: a new wire, 18 AWG, from block.out2 to amp.remote"),
)  # fmt: skip


@pytest.mark.parametrize(("change", "words"), CHANGES, ids=[w for _, w in CHANGES])
def test_a_change_is_told_and_made(change: object, words: str) -> None:
    assert told(TEXT, [change]) == (words,)  # type: ignore[list-item]
    after = apply(TEXT, [change])  # type: ignore[list-item]
    assert [part.partition("#")[2] for part in TEXT.splitlines() if "#" in part] == [
        part.partition("#")[2] for part in after.splitlines() if "#" in part
    ]
    assert tomllib.loads(after) != tomllib.loads(TEXT)
    gone = set(TEXT.splitlines()) - set(after.splitlines())
    assert len(gone) <= 1


def test_rows_of_a_list_take_changes_too() -> None:
    after = apply(INLINE, [RunKey(1, "cover", ["grommet"]), NewWire("P2", "a.x", "c.z", "10 AWG")])
    data = tomllib.loads(after)
    assert data["run"][0]["cover"] == ["grommet"]
    assert [w["id"] for w in data["wire"]] == ["P1", "P2"]
    assert "# first" in after
    assert [w["id"] for w in tomllib.loads(edit.add_wire("wire = []\n", "P1", "a.x", "b.y", "8 AWG"))["wire"]] == ["P1"]


def test_a_run_that_is_not_there_is_named() -> None:
    with pytest.raises(UnknownName, match="run 2"):
        apply(TEXT, [RunKey(2, "cover", [])])
    with pytest.raises(UnknownName, match="run 0"):
        edit.set_run(TEXT, 0, cover=[])


def test_an_unreadable_file_still_tells_what_is_wanted() -> None:
    assert told("not = [toml", [Fuse("block", 1, 5.0)]) == ("block: fuse none \u2192 5 A",)
