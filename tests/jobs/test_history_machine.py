"""Saves, undos, redos and lost races in any order, against a plain model of what a technician expects."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from loomwright.jobs.errors import Conflict
from loomwright.jobs.store import Store
from tests.jobs.postgres import Server

TEXTS = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=12)


class History(RuleBasedStateMachine):
    """The model: a stack of what stands, a stack of what was undone, and every text ever typed."""

    store: Store

    def __init__(self) -> None:
        super().__init__()
        self.job = self.store.create_job("x").id
        self.done = [(0, "")]
        self.undone: list[tuple[int, str]] = []
        self.typed: set[str] = set()
        self.seen = [0]
        self.revision = self.store.revision(self.job)

    @rule(text=TEXTS)
    def save(self, text: str) -> None:
        number, current = self.done[-1]
        saved = self.store.save_rig(self.job, "planned", text, number)
        self.typed.add(text)
        if number and text == current:
            assert saved.number == number
            return
        assert saved.number > max(self.seen)
        self.done.append((saved.number, text))
        self.undone.clear()
        self.seen.append(saved.number)

    @rule(text=TEXTS, data=st.data())
    def save_on_an_old_one(self, text: str, data: st.DataObject) -> None:
        number, current = self.done[-1]
        based_on = data.draw(st.sampled_from(self.seen))
        if based_on == number or (number and text == current):
            return
        with pytest.raises(Conflict) as caught:
            self.store.save_rig(self.job, "planned", text, based_on)
        conflict = caught.value
        assert (conflict.theirs.number, conflict.theirs.text) == (number, current)
        assert (conflict.mine.text, conflict.base.number) == (text, based_on)
        self.typed.add(text)
        self.seen.append(conflict.mine.number)

    @rule()
    def undo(self) -> None:
        if len(self.done) > 1:
            self.undone.append(self.done.pop())
        assert self.store.undo(self.job, "planned").number == self.done[-1][0]

    @rule()
    def redo(self) -> None:
        if self.undone:
            self.done.append(self.undone.pop())
        assert self.store.redo(self.job, "planned").number == self.done[-1][0]

    @rule()
    def carry(self) -> None:
        """The job goes to another shop: its history goes along."""
        other = self.store.import_job(self.store.export_job(self.job))
        assert self.store.history(other.id, "planned") == self.store.history(self.job, "planned")
        assert self.store.rig_text(other.id, "planned").can_redo == bool(self.undone)

    @invariant()
    def stands(self) -> None:
        head = self.store.rig_text(self.job, "planned")
        assert (head.number, head.text) == self.done[-1]
        assert (head.can_undo, head.can_redo) == (len(self.done) > 1, bool(self.undone))
        assert {r.text for r in self.store.history(self.job, "planned")} == self.typed
        revision = self.store.revision(self.job)
        assert revision >= self.revision
        self.revision = revision


@pytest.mark.parametrize(("backend", "examples"), [("sqlite", 8), ("postgresql", 5)])
def test_history_is_what_a_technician_expects(backend: str, examples: int, request: pytest.FixtureRequest) -> None:
    with tempfile.TemporaryDirectory() as folder:
        server: Server | None = request.getfixturevalue("server") if backend == "postgresql" else None
        url = server.new_database() if server else str(Path(folder) / "jobs.sqlite3")
        with Store(url, folder) as store:
            machine = type("History", (History,), {"store": store})
            run_state_machine_as_test(machine, settings=settings(max_examples=examples, stateful_step_count=14))
