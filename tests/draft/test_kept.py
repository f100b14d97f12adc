"""A rig that is there already: what it has stays, and only what is wanting is drafted."""

from __future__ import annotations

from loomwright.cli import samples
from loomwright.draft import engine, equipment
from loomwright.rig import edit
from loomwright.rig.file import parse


def test_a_rig_that_wants_only_loudspeakers_gets_no_second_block() -> None:
    text = samples.text(samples.BLANK)
    for wire in ("S1", "S2", "S3", "S4"):
        text = edit.remove_wire(text, wire)
    given = equipment.parse(text, "rig.toml")
    assert "auto" in given.rig.items["block"].fuses_a
    result = engine.draft(given, 1)
    assert result.best is not None
    before, after = parse(text, "rig.toml"), parse(result.best.text, "rig.toml")
    assert set(after.items) == set(before.items)
    assert {w.id for w in after.wires} - {w.id for w in before.wires} == {"S1", "S2", "S3", "S4"}
    assert all(after.wire(w.id) == w for w in before.wires)
