"""Lists at random: each ends with a rig that passes, or with demands that cannot be met together.

Every fourth of a hundred runs here; ``python -m bench lists`` runs them all.
"""

from __future__ import annotations

import pytest

from loomwright.draft import equipment, speakers
from loomwright.draft.conflicts import conflict
from loomwright.draft.solving import Tried, quiet, solve
from loomwright.findings.run import check
from loomwright.rig.file import parse
from loomwright.study import Study
from tests.draft.lists import random_list


@pytest.mark.parametrize("seed", range(0, 100, 4))
def test_a_rig_that_passes_or_a_minimal_set(seed: int) -> None:
    given = equipment.parse(random_list(seed), f"list_{seed}.toml")
    try:
        tried = solve(given, first=True)
    except speakers.TooMany as error:
        tried = Tried(None, None, (str(error),))
    if tried.solved is not None:
        rig = parse(tried.solved.checked.text, "drafted.toml")
        assert {f.severity for f in check(Study(rig))} <= {"Know"}
        assert {w.id for w in rig.wires} >= {w.id for w in given.rig.wires}
        return
    found = conflict(given, tried, quiet)
    assert found.demands
    assert found.reasons
    assert all(d.words for d in found.demands)
