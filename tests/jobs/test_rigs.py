"""Rigs and notes: nothing that was typed is lost, whoever types at the same time."""

from __future__ import annotations

import pytest

from loomwright.errors import InputError, UnknownName
from loomwright.jobs.errors import Conflict, Deleted
from loomwright.jobs.store import Store


def test_a_saved_rig_is_there_after_a_restart(store: Store, new_store) -> None:
    job = store.create_job("Carnival trike")
    saved = store.save_rig(job.id, "as found", "format = 1\r\n# größe – 8 mm²\n", 0, note="first look", by="Bench 2")
    store.close()
    found = new_store().rig_text(job.id, "as found")
    assert found == saved
    assert (found.text, found.note, found.by) == ("format = 1\r\n# größe – 8 mm²\n", "first look", "Bench 2")


def test_a_stage_without_a_rig_is_empty_and_is_saved_on_zero(store: Store) -> None:
    job = store.create_job("x")
    empty = store.rig_text(job.id, "planned")
    assert (empty.number, empty.text, empty.can_undo, empty.can_redo) == (0, "", False, False)
    assert store.save_rig(job.id, "planned", "a", empty.number).number > 0
    assert store.rig_text(job.id, "as built").text == ""


def test_second_of_two_writers_is_shown_both_texts_and_loses_nothing(store: Store, new_store) -> None:
    job = store.create_job("x")
    base = store.save_rig(job.id, "planned", "size = 8\nfuse = 40\n", 0)
    theirs = new_store().save_rig(job.id, "planned", "size = 6\nfuse = 40\n", base.number)
    with pytest.raises(Conflict) as caught:
        store.save_rig(job.id, "planned", "size = 4\nfuse = 40\n", base.number, by="Bench 1")
    conflict = caught.value
    assert (conflict.base.text, conflict.theirs.text) == (base.text, theirs.text)
    assert conflict.mine.text == "size = 4\nfuse = 40\n"
    assert "-size = 6\n+size = 4\n" in conflict.diff
    assert store.rig_text(job.id, "planned").text == theirs.text
    kept = store.rig_revision(job.id, "planned", conflict.mine.number)
    assert (kept.text, kept.side, kept.by, kept.parent) == ("size = 4\nfuse = 40\n", True, "Bench 1", base.number)
    settled = store.save_rig(job.id, "planned", "size = 4\nfuse = 60\n", conflict.theirs.number)
    assert store.undo(job.id, "planned").text == theirs.text
    assert store.redo(job.id, "planned").number == settled.number


def test_two_writers_of_the_same_text_do_not_conflict(store: Store) -> None:
    job = store.create_job("x")
    first = store.save_rig(job.id, "planned", "same", 0)
    n = store.last_change()
    assert store.save_rig(job.id, "planned", "same", 0) == first
    assert store.last_change() == n


@pytest.mark.parametrize("based_on", [999, -1, 2**80])
def test_an_edit_based_on_an_unknown_revision_is_kept_at_the_side(store: Store, based_on: int) -> None:
    job = store.create_job("x")
    store.save_rig(job.id, "planned", "head", 0)
    with pytest.raises(Conflict) as caught:
        store.save_rig(job.id, "planned", "typed all evening", based_on)
    assert caught.value.base.number == 0
    assert "typed all evening" in {r.text for r in store.history(job.id, "planned")}


def test_undo_goes_back_to_empty_and_redo_to_the_newest(store: Store) -> None:
    job = store.create_job("x")
    number = 0
    for text in ("one", "two", "three"):
        number = store.save_rig(job.id, "planned", text, number).number
    assert [store.undo(job.id, "planned").text for _ in range(4)] == ["two", "one", "", ""]
    assert store.rig_text(job.id, "planned").can_redo
    assert [store.redo(job.id, "planned").text for _ in range(4)] == ["one", "two", "three", "three"]
    head = store.rig_text(job.id, "planned")
    assert (head.can_undo, head.can_redo) == (True, False)


def test_a_save_after_an_undo_leaves_what_was_undone_in_the_history(store: Store) -> None:
    job = store.create_job("x")
    one = store.save_rig(job.id, "planned", "one", 0)
    store.save_rig(job.id, "planned", "two", one.number)
    store.undo(job.id, "planned")
    three = store.save_rig(job.id, "planned", "three", one.number)
    assert not three.can_redo
    assert store.redo(job.id, "planned").text == "three"
    assert [r.text for r in store.history(job.id, "planned")] == ["three", "two", "one"]
    assert [r.current for r in store.history(job.id, "planned")] == [True, False, False]
    assert store.undo(job.id, "planned").text == "one"
    assert [r.text for r in store.history(job.id, "planned", most=1)] == ["three"]


def test_a_note_has_the_same_history_as_a_rig(store: Store) -> None:
    job = store.create_job("x")
    first = store.save_note(job.id, " left  case ", "Water got in\nthrough the grommet", 0)
    assert store.note(job.id, "left case").text == "Water got in\nthrough the grommet"
    with pytest.raises(Conflict):
        store.save_note(job.id, "left case", "Dry", 0)
    store.save_note(job.id, "left case", "", first.number)
    assert store.notes(job.id) == ()
    assert store.undo_note(job.id, "left case").text == first.text
    assert [place for place, _ in store.notes(job.id)] == ["left case"]
    assert store.redo_note(job.id, "left case").text == ""


def test_stages_and_jobs_do_not_mix(store: Store) -> None:
    one, two = store.create_job("one"), store.create_job("two")
    store.save_rig(one.id, "planned", "of one", 0)
    store.save_rig(two.id, "planned", "of two", 0)
    store.save_rig(one.id, "as built", "built", 0)
    store.undo(one.id, "as built")
    assert store.rig_text(one.id, "planned").text == "of one"
    assert store.rig_text(two.id, "planned").text == "of two"
    assert {s.id: s.stages for s in store.jobs()} == {one.id: ("planned",), two.id: ("planned",)}


@pytest.mark.parametrize("text", ["nul \x00", "half \ud800 pair", "bell \x07"])
def test_what_is_no_text_is_refused_with_its_line(store: Store, text: str) -> None:
    job = store.create_job("x")
    with pytest.raises(InputError, match="line 2"):
        store.save_rig(job.id, "planned", "a\n" + text, 0)


def test_a_text_beyond_the_bound_is_refused(store: Store) -> None:
    job = store.create_job("x")
    with pytest.raises(InputError, match="at most 5 MB"):
        store.save_rig(job.id, "planned", "é" * 2_600_000, 0)


def test_names_that_lead_nowhere_are_named(store: Store) -> None:
    job = store.create_job("x")
    with pytest.raises(UnknownName, match='Did you mean "planned"'):
        store.rig_text(job.id, "planed")
    for bad in ("", "../../etc", "x" * 5000, "a\x00b", "\ud800", "2222222222", "' OR 1=1 --"):
        with pytest.raises(UnknownName):
            store.rig_text(bad, "planned")
    for number in (-1, 5, 2**70):
        with pytest.raises(UnknownName):
            store.rig_revision(job.id, "planned", number)


def test_a_deleted_job_is_kept_but_not_written_to(store: Store) -> None:
    job = store.create_job("x")
    store.save_rig(job.id, "planned", "text", 0)
    assert store.delete_job(job.id).deleted_at is not None
    assert store.jobs() == ()
    assert [s.id for s in store.jobs(deleted=True)] == [job.id]
    with pytest.raises(Deleted):
        store.save_rig(job.id, "planned", "more", 1)
    with pytest.raises(Deleted):
        store.undo(job.id, "planned")
    store.restore_job(job.id)
    assert store.rig_text(job.id, "planned").text == "text"
    assert [s.id for s in store.jobs()] == [job.id]
