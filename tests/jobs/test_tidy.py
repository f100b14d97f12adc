"""Housekeeping takes away what nobody can come back to, and nothing else: histories, undo and exports stay."""

from __future__ import annotations

import contextlib
import os
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loomwright.errors import UnknownName
from loomwright.jobs.errors import Conflict
from loomwright.jobs.ledger import now
from loomwright.jobs.store import Store
from loomwright.jobs.tidy import CHANGES_KEPT
from tests.jobs.conftest import NewStore
from tests.jobs.pictures import photograph, screenshot

LONG = timedelta(days=400)
PICTURES = (photograph(64, 48), photograph(48, 64), screenshot())
ACTS = ("save", "lose", "undo", "redo", "note", "photo", "same photo", "take photo", "mark", "reading", "take reading")


def files(store: Store) -> set[str]:
    """Files of photographs on the disk, by name."""
    folder = store.folder / "photos"
    return {p.name for p in folder.rglob("*") if p.is_file() and p.name != ".stores"} if folder.exists() else set()


def age(store: Store, days: float) -> None:
    """Make every file look so old."""
    then = now().timestamp() - days * 86_400
    for path in (store.folder / "photos").rglob("*"):
        os.utime(path, (then, then))


def act(store: Store, job: str, what: str, n: int) -> None:
    head = store.rig_text(job, "planned").number
    photos, readings = store.photos(job), store.readings(job)
    match what:
        case "save":
            store.save_rig(job, "planned", f"text {n}", head)
        case "lose":
            with contextlib.suppress(Conflict):
                store.save_rig(job, "planned", f"lost {n}", max(0, head - 1))
        case "undo":
            store.undo(job, "planned")
        case "redo":
            store.redo(job, "planned")
        case "note":
            store.save_note(job, "seat", f"note {n}", store.note(job, "seat").number)
        case "photo":
            store.add_photo(job, "seat", PICTURES[n % 3], f"{n}")
        case "same photo":
            store.add_photo(job, "seat", PICTURES[0], f"{n}")
        case "take photo" if photos:
            store.delete_photo(photos[n % len(photos)].id)
        case "mark" if photos:
            store.add_mark(photos[0].id, 10, 20, f"{n}")
        case "reading":
            store.add_reading(job, "seat", "volts", 12.0 + n, "V")
        case "take reading" if readings:
            store.delete_reading(readings[0].id)


def everything(store: Store, job: str, photos: list[str]) -> dict[str, Any]:
    """All that can be asked of a job: histories, what undo leads to, photographs taken away or not, its export."""
    return {
        "rigs": store.history(job, "planned"),
        "texts": [store.rig_revision(job, "planned", r.number) for r in store.history(job, "planned")],
        "head": store.rig_text(job, "planned"),
        "notes": store.notes(job),
        "photos": [(store.photo(p), store.photo_bytes(p), len(store.photo_small(p))) for p in photos],
        "readings": store.readings(job),
        "export": store.export_job(job),
    }


@pytest.fixture(scope="module")
def ground(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("tidy")


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(acts=st.lists(st.tuples(st.sampled_from(ACTS), st.integers(0, 5)), max_size=16), days=st.integers(0, 500))
def test_what_a_job_holds_is_the_same_after_it(ground: Path, acts: list[tuple[str, int]], days: int) -> None:
    with Store(str(ground / "jobs.sqlite3")) as store:
        job = store.create_job("x").id
        kept: list[str] = []
        for what, n in acts:
            before = {p.id for p in store.photos(job)}
            act(store, job, what, n)
            kept += [p.id for p in store.photos(job) if p.id not in before and p.id not in kept]
        if kept:
            age(store, days)
        was = everything(store, job, kept)
        store.tidy(now() + timedelta(days=days))
        assert everything(store, job, kept) == was
        for step in (store.undo, store.redo):
            while (moved := step(job, "planned")).number and (moved.can_undo if step == store.undo else moved.can_redo):
                assert moved.text == store.rig_revision(job, "planned", moved.number).text
        assert {r.text for r in store.history(job, "planned")} == {r.text for r in was["rigs"]}


def test_a_job_goes_ninety_days_after_it_was_taken_off_the_list(store: Store) -> None:
    stays, goes = store.create_job("stays").id, store.create_job("goes").id
    for job in (stays, goes):
        store.save_rig(job, "planned", "text", 0)
        store.save_note(job, "seat", "note", 0)
        store.add_reading(job, "seat", "volts", 12.5, "V")
        photo = store.add_photo(job, "seat", PICTURES[0] if job == stays else PICTURES[2])
        store.add_mark(photo.id, 1, 2, "here")
        store.photo_small(photo.id)
    store.delete_job(goes)
    age(store, 30)
    assert store.tidy(now() + timedelta(days=89)).jobs == 0
    store.restore_job(goes)
    assert store.tidy(now() + LONG).jobs == 0
    store.delete_job(goes)
    was = store.export_job(stays)
    found = store.tidy(now() + timedelta(days=91))
    assert (found.jobs, found.files) == (1, 2)
    with pytest.raises(UnknownName):
        store.job(goes)
    assert store.jobs(deleted=True) == ()
    assert store.export_job(stays) == was


def test_a_file_that_no_row_names_goes_and_one_that_a_row_names_stays(store: Store) -> None:
    job = store.create_job("x").id
    photo = store.add_photo(job, "seat", PICTURES[0])
    taken = store.add_photo(job, "seat", PICTURES[1])
    store.delete_photo(taken.id)
    store.photo_small(photo.id)
    named = files(store)
    stray = store.folder / "photos" / "ab" / f"ab{'0' * 62}.jpg"
    stray.parent.mkdir(exist_ok=True)
    for path in (stray, stray.with_suffix(".small"), stray.with_name(".12ab.part")):
        path.write_bytes(b"left behind")
    assert store.tidy().files == 0  # too young: its row may be on the way
    age(store, 2)
    assert store.tidy().files == 3
    assert files(store) == named
    assert store.restore_photo(taken.id)
    assert store.photo_bytes(taken.id)


def test_a_picture_that_is_kept_again_is_not_taken_from_under_the_writer(store: Store) -> None:
    job = store.create_job("x").id
    photo = store.add_photo(job, "seat", PICTURES[0])
    path = next((store.folder / "photos").rglob(f"{photo.sha256}.jpg"))
    age(store, 30)
    store.add_photo(job, "tail", PICTURES[0])
    assert path.stat().st_mtime > now().timestamp() - 60


def test_a_folder_that_two_stores_use_is_left_alone(store: Store, tmp_path: Path) -> None:
    job = store.create_job("x").id
    store.add_photo(job, "seat", PICTURES[0])
    with Store(str(tmp_path / "other.sqlite3"), store.folder) as other:
        theirs = other.add_photo(other.create_job("y").id, "seat", PICTURES[1])
        age(store, 30)
        assert store.tidy().files == 0
        assert other.tidy().files == 0
        assert other.photo_bytes(theirs.id)


def test_a_database_beside_it_is_reason_enough(store: Store) -> None:
    job = store.create_job("x").id
    store.add_photo(job, "seat", PICTURES[0])
    stray = store.folder / "photos" / "ab" / f"ab{'0' * 62}.jpg"
    stray.parent.mkdir(exist_ok=True)
    stray.write_bytes(b"somebody's")
    (store.folder / "old.sqlite3").write_bytes(b"")
    age(store, 30)
    assert store.tidy().files == 0
    assert stray.exists()


def test_old_changes_go_and_the_newest_stay(store: Store, new_store: NewStore) -> None:
    job = store.create_job("x").id
    for n in range(CHANGES_KEPT // 100):
        store.rename(job, f"title {n}")
    last = store.last_change()
    assert store.tidy(now() + LONG).changes == 0
    assert len(store.changes_since(0, 5000)) == last
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("loomwright.jobs.tidy.CHANGES_KEPT", 3)
        assert store.tidy(now()).changes == 0  # all of them are young
        assert store.tidy(now() + LONG).changes == last - 3
    assert [c.n for c in store.changes_since(0)] == [last - 2, last - 1, last]
    assert store.last_change() == last
    store.rename(job, "one more")
    assert new_store().last_change() == last + 1


def test_an_empty_store_is_tidy(store: Store) -> None:
    found = store.tidy(now() + LONG)
    assert (found.jobs, found.changes, found.files, found.files_bytes) == (0, 0, 0, 0)
