"""Backup and restore of everything, on either database and from one to the other."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest

from loomwright.errors import InputError
from loomwright.jobs.errors import StoreError
from loomwright.jobs.store import Store
from tests.jobs.test_carry import content, full_job


def test_a_backup_moves_a_shop_to_another_database(store: Store, tmp_path: Path, server) -> None:
    jobs = [full_job(store), store.create_job("empty").id, store.create_job("deleted").id]
    store.delete_job(jobs[2])
    made = store.backup(tmp_path / "copies" / "monday.zip")
    assert (made.jobs, made.missing, made.size_bytes) == (3, (), made.path.stat().st_size)
    sqlite = store.url.get_backend_name() == "sqlite"
    target = server.new_database() if sqlite else str(tmp_path / "other" / "jobs.sqlite3")
    with Store(target, tmp_path / "other") as other:
        done = other.restore(made.path)
        assert (done.jobs, done.before) == (3, None)
        for job in jobs:
            assert content(other, job) == content(store, job)
        assert [s.id for s in other.jobs(deleted=True)] == [jobs[2]]
        # What was deleted before the backup can still be brought back after it.
        assert other.export_job(jobs[0]) == store.export_job(jobs[0])
        other.backup(tmp_path / "again.zip")
        assert other.restore_job(jobs[2]).title == "deleted"


def test_a_restore_can_be_undone(store: Store, tmp_path: Path) -> None:
    job = full_job(store)
    store.backup(tmp_path / "old.zip")
    number = store.rig_text(job, "planned").number
    late = store.save_rig(job, "planned", "typed after the backup", number)
    other = store.create_job("made after the backup").id
    n, revision = store.last_change(), store.revision(job)
    done = store.restore(tmp_path / "old.zip")
    assert store.rig_text(job, "planned").text == 'title = "planned"\n'
    assert [s.id for s in store.jobs()] == [job]
    # Pages that are open somewhere notice: the numbers go on rising.
    assert store.revision(job) > revision
    assert [c.job_id for c in store.changes_since(n)] == [job]
    assert done.before is not None
    store.restore(done.before)
    assert store.rig_text(job, "planned") == late
    assert {s.id for s in store.jobs()} == {job, other}


def test_a_damaged_backup_changes_nothing(store: Store, tmp_path: Path) -> None:
    job = full_job(store)
    other = store.create_job("second").id
    path = store.backup(tmp_path / "b.zip").path
    whole = path.read_bytes()
    before = content(store, job)
    for cut in (0, 100, len(whole) // 2, len(whole) - 1):
        path.write_bytes(whole[:cut])
        with pytest.raises(InputError):
            store.restore(path)
    second = bytearray(whole)
    at = whole.index(f"jobs/{other}.zip".encode()) + 200
    second[at : at + 20] = bytes(20)
    path.write_bytes(bytes(second))
    with pytest.raises(InputError):
        store.restore(path)
    path.write_bytes(store.export_job(job))  # a job is no backup
    with pytest.raises(InputError):
        store.restore(path)
    assert content(store, job) == before
    assert {s.id for s in store.jobs()} == {job, other}


def test_a_backup_that_cannot_be_written_leaves_the_old_one(store: Store, tmp_path: Path) -> None:
    store.create_job("x")
    old = store.backup(tmp_path / "b.zip").path.read_bytes()
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError, match="cannot be written"):
        store.backup(tmp_path / "file" / "b.zip")
    with pytest.raises(StoreError, match="cannot be read"):
        store.restore(tmp_path / "none.zip")
    assert (tmp_path / "b.zip").read_bytes() == old
    assert not list(tmp_path.glob(".*.part"))


def test_a_backup_goes_on_past_a_missing_photograph_and_names_it(store: Store, tmp_path: Path) -> None:
    job = full_job(store)
    sums = {p.sha256 for p in store.photos(job) if p.media_type == "image/png"}
    for file in (store.folder / "photos").rglob("*.png"):
        file.unlink()
    made = store.backup(tmp_path / "b.zip")
    assert set(made.missing) == sums
    store.restore(made.path)
    assert {p.media_type for p in store.photos(job)} == {"image/jpeg"}


def test_only_the_owner_may_read_a_backup_and_the_store(store: Store, tmp_path: Path) -> None:
    job = full_job(store)
    made = store.backup(tmp_path / "b.zip").path
    assert stat.S_IMODE(made.stat().st_mode) == 0o600
    assert store.photos(job)
    assert stat.S_IMODE((store.folder / "photos").stat().st_mode) & 0o077 == 0
    if store.url.get_backend_name() == "sqlite":
        assert stat.S_IMODE(Path(str(store.url.database)).stat().st_mode) == 0o600
