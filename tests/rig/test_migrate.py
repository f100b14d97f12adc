"""Files of older formats are brought up; newer ones are refused."""

from __future__ import annotations

import pytest

from loomwright.errors import InputError
from loomwright.rig.migrate import Tables, to_current


def rename(data: Tables) -> Tables:
    """An invented migration: a key called ``name`` became ``title``."""
    return {("title" if k == "name" else k): v for k, v in data.items()}


def count(data: Tables) -> Tables:
    return {**data, "steps": 1}


def test_migrations_run_in_order_and_leave_their_input_alone() -> None:
    old: Tables = {"format": 1, "name": "x"}
    assert to_current(old, "x.toml", {1: rename, 2: count}, 3) == {"format": 3, "title": "x", "steps": 1}
    assert old == {"format": 1, "name": "x"}


def test_the_current_format_needs_none() -> None:
    assert to_current({"format": 1, "title": "x"}, "x.toml") == {"format": 1, "title": "x"}


@pytest.mark.parametrize(
    ("found", "received"), [(9, "newer"), (None, "nothing"), ("1", '"1"'), (0, "0"), (-1, "-1"), (True, "true")]
)
def test_what_cannot_be_brought_up_is_refused(found: object, received: str) -> None:
    data: Tables = {} if found is None else {"format": found}
    with pytest.raises(InputError) as caught:
        to_current(data, "x.toml")
    (problem,) = caught.value.problems
    assert problem.place == "format"
    assert received in problem.received


def test_a_format_without_a_migration_is_too_old() -> None:
    with pytest.raises(InputError, match="too old"):
        to_current({"format": 1}, "x.toml", {2: count}, 3)
