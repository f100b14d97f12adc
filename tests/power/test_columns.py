"""States held as columns of numbers are the states that a mapping of them would hold."""

from __future__ import annotations

import pickle

import numpy as np
import pytest

from loomwright.power.columns import Columns
from loomwright.power.results import JointState

ROWS = np.array([[1.0, 2.0, 0.002, 2.0], [-4.0, -2.0, 0.008, 0.5]])


def columns() -> Columns[JointState]:
    return Columns(JointState, {"P1@a.plus": 0, "P1@b.in": 1}, ROWS)


def test_a_state_by_its_name() -> None:
    assert columns()["P1@b.in"] == JointState(-4.0, -2.0, 0.008, 0.5)
    assert columns() == {"P1@a.plus": JointState(*ROWS[0]), "P1@b.in": JointState(*ROWS[1])}


def test_a_name_that_is_not_there() -> None:
    assert "P2@a.plus" not in columns()
    assert columns().get("P2@a.plus") is None
    with pytest.raises(KeyError):
        columns()["P2@a.plus"]


def test_it_travels() -> None:
    sent = columns()
    assert sent["P1@a.plus"].amps_a == 1.0
    assert pickle.loads(pickle.dumps(sent)) == sent
