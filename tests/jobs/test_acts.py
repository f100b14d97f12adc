"""The ledger of a build: each act once, in the order in which it came, whatever is sent again."""

from __future__ import annotations

import threading
from datetime import UTC, datetime

import pytest

from loomwright.errors import InputError, UnknownName
from loomwright.jobs.acts import standings
from loomwright.jobs.errors import Deleted
from loomwright.jobs.store import Store
from tests.jobs.conftest import NewStore
from tests.jobs.pictures import photograph

STEP = "make:seat~deck:power"


def test_what_is_sent_again_is_kept_once_and_the_order_stays(store: Store) -> None:
    job = store.create_job("x").id
    names = [f"phone-{n:04}" for n in range(30)]
    for name in names:
        store.add_act(job, "planned", name, STEP, "done", "Ada")
    before = store.last_change()
    for name in names:
        store.add_act(job, "planned", name, STEP, "done", "Ada")
    assert store.last_change() == before
    acts = store.acts(job, "planned")
    assert [a.id for a in acts] == names
    assert [a.n for a in acts] == list(range(1, 31))
    assert [a.id for a in store.acts(job, "planned", since=28)] == names[28:]
    assert store.acts(job, "as built") == ()


def test_two_processes_send_the_same_queue_at_once(new_store: NewStore) -> None:
    stores = [new_store(), new_store()]
    job = stores[0].create_job("x").id
    names = [f"phone-{n:04}" for n in range(12)]

    def send(store: Store) -> None:
        for name in names:
            store.add_act(job, "planned", name, STEP, "done", "Ada")

    threads = [threading.Thread(target=send, args=(s,)) for s in stores]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert [a.id for a in stores[0].acts(job, "planned")] == names


def test_a_photograph_that_comes_again_is_one_photograph(store: Store) -> None:
    job = store.create_job("x").id
    first = store.add_act(job, "planned", "phone-0001", STEP, "photo", "Ada", picture=photograph(), place="deck")
    assert store.add_act(job, "planned", "phone-0001", STEP, "photo", "Ada", picture=photograph()) == first
    assert [(p.id, p.place, p.by) for p in store.photos(job)] == [(first.photo_id, "deck", "Ada")]


def test_an_id_is_for_one_act(store: Store) -> None:
    job = store.create_job("x").id
    store.add_act(job, "planned", "phone-0001", STEP, "done", "Ada")
    with pytest.raises(InputError, match="already used"):
        store.add_act(job, "planned", "phone-0001", "another", "done", "Ada")
    assert len(store.acts(job, "planned")) == 1


def test_who_signs_is_somebody_else(store: Store) -> None:
    job = store.create_job("x").id
    store.add_act(job, "planned", "phone-0001", STEP, "done", "Ada Lind")
    with pytest.raises(InputError, match="another name"):
        store.add_act(job, "planned", "phone-0002", STEP, "signed", "  ada   LIND ")
    store.add_act(job, "planned", "phone-0003", STEP, "signed", "Ben")
    assert standings(store.acts(job, "planned"))[STEP].signed[0].by == "Ben"
    # The signature came before the tick, from another phone: kept, and it counts only where the names differ.
    store.add_act(job, "planned", "phone-0004", "other", "signed", "Ada Lind")
    assert standings(store.acts(job, "planned"))["other"].signed == ()
    store.add_act(job, "planned", "phone-0005", "other", "done", "Ada Lind")
    assert standings(store.acts(job, "planned"))["other"].signed == ()


def test_two_phones_tick_the_same_step_and_one_takes_its_tick_back(store: Store) -> None:
    job = store.create_job("x").id
    store.add_act(job, "planned", "phone-a-01", STEP, "done", "Ada")
    store.add_act(job, "planned", "phone-b-01", STEP, "done", "Ben")
    both = standings(store.acts(job, "planned"))[STEP]
    assert both.twice
    assert [d.by for d in both.done] == ["Ada", "Ben"]
    store.add_act(job, "planned", "phone-b-02", STEP, "undone", "Ben", of="phone-b-01")
    one = standings(store.acts(job, "planned"))[STEP]
    assert not one.twice
    assert [d.by for d in one.done] == ["Ada"]
    assert len(store.acts(job, "planned")) == 3


@pytest.mark.parametrize(
    "given",
    [
        {"act_id": "short"}, {"act_id": "../../etc/passwd"}, {"kind": "eaten"}, {"step": ""}, {"by": ""},
        {"kind": "reading"}, {"kind": "reading", "value": float("nan"), "measure": "m"}, {"value": 1.0},
        {"kind": "undone"}, {"of": "phone-0009"}, {"kind": "photo"}, {"picture": b"no picture"},
        {"kind": "photo", "picture": b"no picture"}, {"by": "a\x00b"}, {"at": datetime(2026, 1, 1)},
        {"at": datetime(2300, 1, 1, tzinfo=UTC)},
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_refused(store: Store, given: dict[str, object]) -> None:
    job = store.create_job("x").id
    usual = {"act_id": "phone-0001", "step": STEP, "kind": "done", "by": "Ada"}
    with pytest.raises(InputError):
        store.add_act(job, "planned", **(usual | given))
    assert store.acts(job, "planned") == ()
    assert store.photos(job) == ()


def test_a_job_that_is_not_there_or_was_deleted(store: Store) -> None:
    with pytest.raises(UnknownName):
        store.add_act("2222222222", "planned", "phone-0001", STEP, "done", "Ada")
    job = store.create_job("x").id
    with pytest.raises(UnknownName):
        store.add_act(job, "eaten", "phone-0001", STEP, "done", "Ada")
    store.delete_job(job)
    with pytest.raises(Deleted):
        store.add_act(job, "planned", "phone-0001", STEP, "done", "Ada")


def test_an_export_without_a_build_still_comes_in(store: Store) -> None:
    import io
    import json
    import zipfile

    data = store.export_job(store.create_job("old").id)
    with zipfile.ZipFile(io.BytesIO(data)) as source:
        head = json.loads(source.read("job.json"))
    del head["build"]
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as target:
        target.writestr("job.json", json.dumps(head))
    job = store.import_job(out.getvalue())
    assert store.acts(job.id, "planned") == ()
