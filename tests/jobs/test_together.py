"""Many technicians at once, from several threads and several stores over one database."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor

from loomwright.jobs.errors import Conflict
from loomwright.jobs.store import Store

PEOPLE = 20


def test_twenty_technicians_on_twenty_jobs_lose_no_edit(store: Store, new_store) -> None:
    stores = [store, new_store()]
    jobs = [store.create_job(f"job {i}").id for i in range(PEOPLE)]
    edits = 8

    def work(i: int) -> None:
        own, number = stores[i % 2], 0
        for k in range(edits):
            number = own.save_rig(jobs[i], "planned", f"{i}:{k}\n", number).number
            assert own.rig_text(jobs[i], "planned").text == f"{i}:{k}\n"

    with ThreadPoolExecutor(PEOPLE) as pool:
        list(pool.map(work, range(PEOPLE)))
    for i, job in enumerate(jobs):
        assert [r.text for r in reversed(store.history(job, "planned"))] == [f"{i}:{k}\n" for k in range(edits)]


def test_everybody_on_one_rig_gets_every_edit_in(store: Store, new_store) -> None:
    """Each adds a line of its own; who loses a conflict takes the other's text and adds the line again."""
    stores = [store, new_store()]
    job = store.create_job("shared").id
    store.save_rig(job, "planned", "start\n", 0)

    def work(i: int) -> int:
        own, lost = stores[i % 2], 0
        head = own.rig_text(job, "planned")
        while True:
            try:
                own.save_rig(job, "planned", f"{head.text}line {i}\n", head.number)
                return lost
            except Conflict as conflict:
                lost += 1
                head = conflict.theirs

    with ThreadPoolExecutor(8) as pool:
        lost = sum(pool.map(work, range(8)))
    final = store.rig_text(job, "planned").text.splitlines()
    assert sorted(final) == sorted(["start", *(f"line {i}" for i in range(8))])
    assert sum(r.side for r in store.history(job, "planned")) == lost


def test_the_change_feed_never_skips_a_change_that_comes_later(store: Store, new_store) -> None:
    """A reader who follows the feed while others write sees every number once, in order."""
    stores = [store, new_store()]
    jobs = [store.create_job(f"job {i}").id for i in range(6)]
    seen: list[int] = []
    done = threading.Event()

    def follow() -> None:
        while True:
            last_round = done.is_set()
            seen.extend(c.n for c in store.changes_since(seen[-1] if seen else 0))
            if last_round:
                return

    reader = threading.Thread(target=follow)
    reader.start()
    with ThreadPoolExecutor(6) as pool:
        for k in range(5):
            list(pool.map(lambda i, k=k: stores[i % 2].save_note(jobs[i], f"place {k}", "x", 0), range(6)))
    done.set()
    reader.join()
    assert seen == list(range(1, store.last_change() + 1))


def test_a_listener_hears_of_each_change_once_it_is_kept(store: Store) -> None:
    heard: list[tuple[int, int]] = []
    stop = store.listen(lambda n, _job: heard.append((n, store.last_change())))
    job = store.create_job("x")
    store.rename(job.id, "y")
    store.rename(job.id, "y")
    stop()
    store.rename(job.id, "z")
    assert heard == [(1, 1), (2, 2)]
    assert store.revision(job.id) == 3
    assert [(c.what, c.job_id) for c in store.changes_since(1)] == [("renamed", job.id)] * 2


def test_two_stores_made_at_the_same_moment_make_the_tables_once(blank_url: str, tmp_path) -> None:
    def make(_: int) -> str:
        with Store(blank_url, tmp_path) as own:
            return own.create_job("x").id

    with ThreadPoolExecutor(4) as pool:
        made = set(pool.map(make, range(4)))
    with Store(blank_url, tmp_path) as own:
        assert {s.id for s in own.jobs()} == made
