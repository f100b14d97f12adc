"""Long work: told how far it is, stopped when asked, never in the way of the rest."""

from __future__ import annotations

import asyncio
import json
import os
import re
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest

from loomwright import demo
from loomwright.errors import InputError
from loomwright.web.pages.events import changes
from loomwright.web.work.pieces import Kept, Pack, PackPart, Rig, SingleLine, Studied
from loomwright.web.work.tasks import Standing, Tasks, WorkFailed, WorkStopped
from loomwright.web.worked import Shelf
from tests.web.errands import Errand, Voyage

LONG = (60.0,) * 3


@pytest.fixture
def tasks() -> Iterator[Tasks]:
    made = Tasks(grace_s=0.2)
    yield made
    made.close()


def until(holds: Callable[[], bool], what: str) -> None:
    for _ in range(1200):
        if holds():
            return
        time.sleep(0.05)
    raise AssertionError(what)


def runs(tasks: Tasks, errand: Errand) -> Any:
    task = tasks.ask(errand, "job/planned")
    until(lambda: bool(task.stage), "it began")
    return task


def test_the_same_work_is_done_once_and_in_another_process(tasks: Tasks) -> None:
    first, second = tasks.ask(Errand("a"), "one/planned"), tasks.ask(Errand("a"), "two/planned")
    assert first is second
    assert tasks.wait(first).startswith("a by ")
    assert not tasks.wait(first).endswith(f" {os.getpid()}")
    assert tasks.ask(Errand("a")) is first
    assert tasks.ask(Errand("b")) is not first


def test_what_takes_minutes_does_not_hold_up_the_rest_and_its_process_ends_with_it() -> None:
    tasks = Tasks(grace_s=0.2, slow=(Voyage,))
    try:
        heard: list[str] = []
        tasks.listen(heard.append)
        long = tasks.ask(Voyage("long", LONG), "job/planned")
        until(lambda: bool(long.stage), "it began")
        assert tasks.wait(tasks.ask(Errand("short"), "job/planned")).startswith("short by ")
        assert long.state == "running"
        assert tasks.find(long.key) is long
        assert [s.state for s in tasks.of("job/")] == ["done", "running"]
        assert tasks.stop(long.key) is long
        assert long.state == "stopped"
        brief = tasks.ask(Voyage("brief"), "job/planned")
        pid = int(tasks.wait(brief).rpartition(" ")[2])
        until(lambda: not os.path.exists(f"/proc/{pid}"), "its process ended")
        assert "job/planned" in heard
    finally:
        tasks.close()


def test_a_stopped_task_frees_the_worker_even_in_the_middle_of_a_stage(tasks: Tasks) -> None:
    long = runs(tasks, Errand("long", LONG))
    assert long.standing == Standing(long.key, "An errand", "running", "Step 1", 0, 3)
    tasks.stop(long.key)
    with pytest.raises(WorkStopped):
        tasks.wait(long)
    assert tasks.wait(tasks.ask(Errand("next"))).startswith("next")
    assert tasks.ask(Errand("long", LONG)) is long
    assert tasks.ask(Errand("long", LONG), again=True) is not long


def test_between_stages_a_task_is_left_and_its_process_stays(tasks: Tasks) -> None:
    before = tasks.wait(tasks.ask(Errand("who"))).rpartition(" ")[2]
    short = Tasks.ask(tasks, Errand("short", (0.05,) * 200))
    until(lambda: bool(short.stage), "it began")
    tasks.stop(short.key)
    assert tasks.wait(tasks.ask(Errand("who else"))).rpartition(" ")[2] == before


def test_a_task_that_waits_for_its_turn_is_dropped(tasks: Tasks) -> None:
    long = runs(tasks, Errand("long", LONG))
    waiting = tasks.ask(Errand("waiting"))
    assert waiting.state == "queued"
    tasks.stop(waiting.key)
    tasks.stop(long.key)
    assert tasks.wait(tasks.ask(Errand("next"))).startswith("next")
    assert waiting.state == "stopped"
    with pytest.raises(WorkStopped):
        waiting.value()


def test_what_somebody_waits_for_goes_first(tasks: Tasks) -> None:
    long = runs(tasks, Errand("long", LONG))
    ahead, asked = tasks.ask(Errand("ahead", (60.0,))), tasks.ask(Errand("asked"), asked=True)
    tasks.stop(long.key)
    assert tasks.wait(asked).startswith("asked")
    assert ahead.live


def test_what_is_looked_at_goes_before_what_was_looked_at_long_ago(tasks: Tasks) -> None:
    long = runs(tasks, Errand("long", LONG))
    first, second = tasks.ask(Errand("first")), tasks.ask(Errand("second", (60.0,)))
    tasks.ask(Errand("first"))
    tasks.stop(long.key)
    assert first.finished.wait(60)
    assert second.live


@pytest.mark.parametrize(
    ("end", "error", "words"),
    [("refused", InputError, "Add one"), ("fault", WorkFailed, "ZeroDivisionError: a fault"),
     ("killed", WorkFailed, "ended")],
)  # fmt: skip
def test_work_that_cannot_be_done_says_why_and_the_next_is_done(
    tasks: Tasks, end: str, error: type[Exception], words: str
) -> None:
    task = tasks.ask(Errand("bad", (0.0,), end))
    with pytest.raises(error, match=words):
        tasks.wait(task)
    assert task.state == "failed"
    assert tasks.wait(tasks.ask(Errand("next"))).startswith("next")


def test_a_newer_edit_drops_work_for_the_text_it_replaced(tasks: Tasks) -> None:
    long = runs(tasks, Errand("long", LONG))
    old, shared = tasks.ask(Studied("old", "planned"), "job/planned"), tasks.ask(Studied("both", "x"), "job/planned")
    tasks.ask(Studied("both", "x"), "other/planned")
    tasks.replaced("job/planned", "new")
    assert old.state == "stopped"
    assert tasks.find(old.key) is None
    assert shared.live
    assert long.live, "what was asked for by name stays"


def test_closing_lets_everybody_go(tasks: Tasks) -> None:
    long = runs(tasks, Errand("long", LONG))
    ended: list[BaseException] = []

    def wait() -> None:
        try:
            tasks.wait(long)
        except WorkStopped as error:
            ended.append(error)

    waiter = threading.Thread(target=wait)
    waiter.start()
    tasks.close()
    waiter.join()
    assert len(ended) == 1
    assert tasks.ask(Errand("late")).state == "stopped"


def test_a_rig_is_worked_out_as_by_hand(shelf: Shelf, small: str) -> None:
    from loomwright.findings.run import check
    from loomwright.rig.file import parse
    from loomwright.study import Study

    study = Study(parse(small, "planned"))
    worked = shelf.worked(small, "planned")
    assert worked.findings == check(study)
    assert worked.study is not None
    assert worked.study.protection.drill == study.protection.drill
    assert worked.diagram("idle", "loud") != worked.diagram("off", "idle")


def _unlike(small: str, n: int) -> str:
    return small.replace("ambient_c = ", f"# {n}\nambient_c = ", 1)


def test_a_stopped_study_stays_stopped_until_somebody_asks(browser: Any, small: str) -> None:
    url = browser.job(_unlike(small, time.time_ns()))
    busy = browser.bench.tasks.ask(Errand(f"busy {time.time_ns()}", LONG), asked=True)
    page = browser.client.get(f"{url}/findings", headers={"accept": "text/html"}).text
    key = re.search(r'data-task="(\w+)"', page)
    assert key
    assert browser.data(f"{url}/tasks/{key[1]}.json")["data"]["task"]["state"] == "queued"
    shown = browser.client.get(f"{url}/tasks/{key[1]}", headers={"accept": "text/html"}).text
    assert '<noscript><meta http-equiv="refresh"' in shown
    assert "Waits for its turn" in shown
    where = browser.send(f"{url}/tasks/{key[1]}/stop")
    assert "Work it out again" in browser.client.get(where, headers={"accept": "text/html"}).text
    page = browser.client.get(f"{url}/findings", headers={"accept": "text/html"}).text
    assert "Stopped before it was worked out" in page
    assert "data-pending" not in page
    browser.bench.tasks.stop(busy.key)
    browser.send(f"{url}/tasks/{key[1]}/again")
    assert browser.data(f"{url}/findings.json")["data"]["findings"]
    assert browser.data(f"{url}/tasks/{key[1]}.json")["data"]["task"]["state"] == "done"


def test_a_paper_is_made_off_the_request_path(browser: Any, small: str) -> None:
    url = browser.job(_unlike(small, time.time_ns()))
    page = {"accept": "text/html"}
    first = browser.client.get(f"{url}/papers/summary.pdf?download=true", headers=page, follow_redirects=False)
    assert first.status_code == 303
    where, _, query = first.headers["location"].partition("?")
    assert query == "download=true"
    made = browser.client.get(f"{where}/file?download=true")
    assert made.content.startswith(b"%PDF")
    assert made.headers["content-disposition"] == 'attachment; filename="summary.pdf"'
    assert browser.data(f"{where}.json")["data"]["file"] == f"{where}/file"
    assert f'href="{where}/file?download=true"' in browser.client.get(f"{where}?download=true", headers=page).text
    again = browser.client.get(f"{url}/papers/summary.pdf", headers=page, follow_redirects=False)
    assert again.content == made.content


def test_an_edit_in_the_middle_of_a_study_drops_it(browser: Any) -> None:
    text = demo.text("canal_launch") + f"\n# {time.time_ns()}\n"
    url = browser.job(text, "planned")
    browser.client.get(f"{url}/rig")
    old = browser.bench.shelf.worked(text, "planned").ask()
    wire = browser.bench.shelf.worked(text, "planned").draft.wires[-1]
    browser.send(f"{url}/wire", {"wire": wire.id, "size": "8 AWG", "based_on": 1})
    assert old is not None
    assert old.state in ("stopped", "done")
    assert browser.data(f"{url}/findings.json")["ok"]


def test_work_that_nobody_knows_of(browser: Any, small: str) -> None:
    url = browser.job(small)
    assert browser.client.get(f"{url}/tasks/{'0' * 40}", headers={"accept": "text/html"}).status_code == 404
    browser.send(f"{url}/tasks/none/stop", status=404)


def test_a_page_that_follows_a_job_is_told_of_changes_and_of_work(browser: Any, small: str) -> None:
    bench = browser.bench
    url = browser.job(_unlike(small, time.time_ns()))
    job = url.split("/")[2]

    async def follow() -> list[str]:
        async def gone() -> bool:
            return len(heard) > 400

        heard: list[str] = []
        begun = False
        async for said in changes(bench, job, bench.store.revision(job), gone):
            heard.append(said)
            if not begun:
                begun = True
                bench.opened(job, "planned")
                bench.store.rename(job, "Another title")
            if any('"state": "done"' in h for h in heard) and any("event: changed" in h for h in heard):
                break
        return heard

    with ThreadPoolExecutor(1) as apart:  # a thread of its own: the tests in a browser leave a loop running in this one
        heard = apart.submit(asyncio.run, follow()).result()
    now = bench.store.revision(job)
    assert f"id: {now}\nevent: changed\ndata: {now}\n\n" in heard
    told = [json.loads(h.split("data: ")[1]) for h in heard if "event: task" in h]
    assert told[-1]["state"] == "done"
    assert {t["title"] for t in told} == {"Study"}


def test_every_piece_counts_its_stages_one_by_one() -> None:
    text, kept = demo.text("canal_launch"), Kept()
    for piece in (
        PackPart(Rig(text, "a", "a4"), "gain_card"), Pack(Rig(text, "b", "a4")), SingleLine(text, "c", "svg"),
        Studied(text, "d"), PackPart(Rig(text, "f", "a4", before=text, before_name="e"), "before_and_after"),
    ):  # fmt: skip
        told = list(piece.stages(kept))
        assert [(s.done, s.total) for s in told] == [(k, len(told)) for k in range(len(told))], piece.title
