"""What the tutorial says will be seen is what is seen."""

from __future__ import annotations

import re
from pathlib import Path

from tests.conftest import Run


def with_size(text: str, wire: str, size: str) -> str:
    changed, count = re.subn(rf'(id = "{wire}"\nfrom = .*\nto = .*\nsize = )"[^"]*"', rf'\1"{size}"', text)
    assert count == 1
    return changed


def test_the_tutorial_from_the_first_check_to_the_comparison(loomwright: Run, tmp_path: Path) -> None:
    assert loomwright("init", tmp_path).code == 0
    rig = tmp_path / "rig.toml"
    assert "Nothing to mend" in loomwright("check", rig).out

    good = rig.read_text("utf-8")
    bad = good.replace('fuses_a = ["auto", 5, 0, 0]', "fuses_a = [40, 5, 0, 0]")
    assert bad != good
    rig.write_text(with_size(with_size(bad, "P3", "16 AWG"), "R3", "16 AWG"), "utf-8")
    ran = loomwright("check", rig)
    assert ran.code == 1
    assert "E202" in ran.out

    faults = loomwright("faults", rig, "--json").document["data"]["faults"]
    assert faults[0]["where"] == "P3"

    rig.write_text(with_size(with_size(good, "P3", "auto"), "R3", "auto"), "utf-8")
    assert loomwright("check", rig).code == 0
    loomwright("init", tmp_path, "--name", "before")
    assert loomwright("compare", tmp_path / "before.toml", rig).code == 0
