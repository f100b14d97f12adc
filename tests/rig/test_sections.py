"""An edit of one table's lines gives what an edit of the whole text gives, and knows when it must not."""

from __future__ import annotations

import pytest
import tomlkit

from loomwright import demo
from loomwright.rig import edit, sections
from loomwright.rig.read import tables

TEXTS = [demo.text(name) for name in ("carnival_trike_planned", "harvest_buggy", "canal_launch")]
IN_A_NOTE = '''format = 1
notes = """
[[wire]]
id = "P1"
[item.amp]
"""

[item.amp]
part = "amp"
place = "seat"

[[wire]]
id = "P1"
size = "8 AWG"

[[wire]]
id = "P2"
size = "8 AWG"
'''


@pytest.mark.parametrize("text", TEXTS)
def test_every_table_is_changed_as_in_the_whole_text(text: str) -> None:
    data = tables(text)
    for wire in data["wire"][::7]:
        whole = tomlkit.parse(text)
        next(w for w in whole["wire"] if w["id"] == wire["id"])["length_mm"] = 321  # type: ignore[union-attr, index]
        assert sections.find(text, "wire", wire["id"]) is not None
        assert edit.set_wire(text, wire["id"], length_mm=321) == tomlkit.dumps(whole)
    for name in list(data["item"])[::5]:
        whole = tomlkit.parse(text)
        whole["item"][name]["place"] = "elsewhere"  # type: ignore[index]
        assert sections.find(text, "item", name) is not None
        assert edit.set_item(text, name, place="elsewhere") == tomlkit.dumps(whole)


def test_a_heading_in_a_note_is_no_table() -> None:
    for kind, name, key, value in (("wire", "P1", "size", "6 AWG"), ("item", "amp", "place", "tail")):
        set_it = edit.set_wire if kind == "wire" else edit.set_item
        edited = set_it(IN_A_NOTE, name, **{key: value})
        before, after = tables(IN_A_NOTE), tables(edited)
        assert after["notes"] == before["notes"]
        changed = after["wire"][0] if kind == "wire" else after["item"]["amp"]
        assert changed[key] == value
    assert tables(edit.remove_wire(IN_A_NOTE, "P1"))["wire"] == [{"id": "P2", "size": "8 AWG"}]
    assert "item" not in tables(edit.remove_item(IN_A_NOTE, "amp"))
