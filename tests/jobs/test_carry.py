"""A job as one file: all of it comes over, and nothing in a hostile file does harm."""

from __future__ import annotations

import contextlib
import io
import json
import random
import tomllib
import tracemalloc
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from loomwright.errors import InputError
from loomwright.jobs.errors import Conflict, StoreError
from loomwright.jobs.store import Store
from tests.jobs.pictures import PLACE, photograph, screenshot


def full_job(store: Store) -> str:
    """A job with something of everything in it, deleted things and a lost race among them."""
    job = store.create_job('Carnival "trike" <1> & größer').id
    one = store.save_rig(job, "as found", 'title = "as found"\n', 0, note="survey", by="Bench 1")
    store.save_rig(job, "as found", 'title = "as found, twice looked at"\n', one.number)
    with pytest.raises(Conflict):
        store.save_rig(job, "as found", 'title = "at the side"\n', one.number)
    number = store.save_rig(job, "planned", 'title = "planned"\n', 0).number
    store.save_rig(job, "planned", 'title = "planned, undone"\n', number)
    store.undo(job, "planned")
    store.save_note(job, "left case", "Water\ngot in", 0, by="Bench 2")
    store.save_note(job, "", "Belongs to the parade", 0)
    store.save_equipment(job, 'title = "list"\n', store.save_equipment(job, 'title = "first list"\n', 0).number)
    photo = store.add_photo(job, "seat", photograph(), "Behind the seat", by="Bench 1")
    store.add_mark(photo.id, 12.5, 50, "chafed")
    store.delete_mark(store.add_mark(photo.id, 1, 1, "mistake").id)
    store.add_photo(job, "nose", screenshot())
    store.delete_photo(store.add_photo(job, "nose", photograph(100, 80)).id)
    store.add_reading(job, "battery", "at rest", 12.62, "V", by="Bench 2")
    store.delete_reading(store.add_reading(job, "battery", "mistake", 99, "V").id)
    store.add_act(job, "planned", "act-00001", "isolate:battery", "done", "Ada")
    store.add_act(job, "planned", "act-00002", "isolate:battery", "photo", "Ada", picture=photograph(90, 60))
    store.add_act(job, "planned", "act-00003", "isolate:battery", "reading", measure="volts", value=0.1, unit="V")
    store.add_act(job, "planned", "act-00004", "isolate:battery", "signed", "Ben")
    store.add_act(job, "as built", "act-00005", "isolate:battery", "done", "Ada")
    store.add_act(job, "as built", "act-00006", "isolate:battery", "undone", "Ada", of="act-00005")
    return job


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """An export of a job with something of everything."""
    with Store(tmp_path_factory.mktemp("shop") / "jobs.sqlite3") as store:
        return store.export_job(full_job(store))


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """A shop that nothing may come into, used by many tests."""
    with Store(tmp_path_factory.mktemp("other") / "data" / "jobs.sqlite3") as store:
        store.create_job("already here")
        yield store


def content(store: Store, job: str) -> Any:
    """All that a technician sees of a job, without the ids that an import gives anew."""
    return (
        store.job(job).title,
        store.job(job).created_at,
        {s: (store.rig_text(job, s), store.history(job, s)) for s in ("as found", "planned", "as built")},
        store.notes(job),
        store.equipment(job),
        [
            (p.place, p.caption, p.sha256, p.width_px, p.height_px, p.at, p.by, [(m.x_pct, m.text) for m in p.marks])
            for p in store.photos(job)
        ],
        [(r.where, r.quantity, r.value, r.unit, r.at, r.by) for r in store.readings(job)],
        [
            (a.id, a.n, a.stage, a.step, a.kind, a.measure, a.value, a.unit, a.text, a.of, a.at, a.came_at, a.by)
            + ((store.photo(a.photo_id).sha256,) if a.photo_id else ())
            for s in ("planned", "as built") for a in store.acts(job, s)
        ],
    )


def remade(data: bytes, change: Callable[[dict[str, bytes]], None], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """An export with its members changed."""
    with zipfile.ZipFile(io.BytesIO(data)) as source:
        members = {name: source.read(name) for name in source.namelist()}
    change(members)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as target:
        for name, member in members.items():
            target.writestr(name, member)
    return out.getvalue()


def with_json(data: bytes, change: Callable[[dict[str, Any]], object]) -> bytes:
    """An export with ``job.json`` changed."""

    def write(members: dict[str, bytes]) -> None:
        document = json.loads(members["job.json"])
        change(document)
        members["job.json"] = json.dumps(document).encode()

    return remade(data, write)


def test_a_job_comes_over_whole(store: Store, tmp_path: Path) -> None:
    job = full_job(store)
    data = store.export_job(job)
    with Store(tmp_path / "other" / "jobs.sqlite3") as other:
        came = other.import_job(data, by="Bench 9")
        assert content(other, came.id) == content(store, job)
        assert came == other.job(came.id)
        assert other.redo(came.id, "planned").text == 'title = "planned, undone"\n'
        assert next(c.what for c in other.changes_since(0)) == "imported"
    again = store.import_job(data)
    assert again.id != job
    assert store.export_job(again.id) == data == store.export_job(job)


def test_an_export_can_be_read_without_this_program(store: Store) -> None:
    job = full_job(store)
    with zipfile.ZipFile(io.BytesIO(store.export_job(job))) as file:
        names = file.namelist()
        assert tomllib.loads(file.read("rigs/as_found.toml").decode())["title"] == "as found, twice looked at"
        assert tomllib.loads(file.read("rigs/planned.toml").decode())["title"] == "planned"
        document = json.loads(file.read("job.json"))
    assert {n.split("/")[0] for n in names} == {"job.json", "rigs", "photos"}
    assert document["readings"][0]["value"] == 12.62
    assert [r["quantity"] for r in document["readings"]] == ["at rest"]
    assert [m["text"] for p in document["photos"] for m in p["marks"]] == ["chafed"]


def test_a_job_zipped_anew_by_hand_comes_in(store: Store) -> None:
    job = full_job(store)

    def pack_again(members: dict[str, bytes]) -> None:
        members["rigs/"] = b""
        members["photos/"] = b""
        members["rigs/planned.toml"] = b'title = "edited by hand"\r\n'

    came = store.import_job(remade(store.export_job(job), pack_again))
    assert store.rig_text(came.id, "planned").text == 'title = "edited by hand"\r\n'


def test_a_photograph_in_an_import_loses_its_place_too(store: Store) -> None:
    job = store.create_job("x").id
    store.add_photo(job, "seat", photograph())

    def swap(members: dict[str, bytes]) -> None:
        (name,) = (n for n in members if n.startswith("photos/"))
        members[name] = photograph()

    came = store.import_job(remade(store.export_job(job), swap))
    assert PLACE not in store.photo_bytes(store.photos(came.id)[0].id)


HOSTILE_NAMES = (
    "../evil.toml", "/etc/cron.d/evil", "rigs/../../evil.toml", "C:\\evil.toml", "rigs\\planned.toml",
    "photos/evil.svg", "photos/" + "a" * 63 + ".jpg", "rigs/planned.toml/", "rigs/planned.TOML", "job.json/../x",
    "rigs/other.toml", "rigs/planned.0.toml", "photos/" + "A" * 64 + ".jpg", "job.json\n",
)  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE_NAMES)
def test_a_member_of_another_name_is_refused(shop: Store, exported: bytes, name: str) -> None:
    data = remade(exported, lambda members: members.update({name: b"x"}))
    before = set(shop.folder.parent.rglob("*"))
    with pytest.raises(InputError, match="received"):
        shop.import_job(data)
    assert set(shop.folder.parent.rglob("*")) == before
    assert len(shop.jobs()) == 1


def test_a_bomb_is_refused_before_it_is_unpacked(tmp_path: Path) -> None:
    with Store(tmp_path / "jobs.sqlite3") as store:
        small = store.export_job(store.create_job("x").id)
        one_large = remade(small, lambda m: m.update({"rigs/planned.toml": bytes(40_000_000)}))
        many = remade(small, lambda m: m.update({f"rigs/planned.{i}.toml": bytes(4_000_000) for i in range(1, 40)}))
        tracemalloc.start()
        try:
            with pytest.raises(InputError, match="at most 5 MB"):
                store.import_job(one_large)
            with pytest.raises(InputError, match="at most 100 MB"):
                store.import_job(many)
            _, peak_bytes = tracemalloc.get_traced_memory()
        finally:
            tracemalloc.stop()
        assert peak_bytes < 5_000_000


def test_a_member_that_holds_more_than_it_says_is_refused(tmp_path: Path) -> None:
    with Store(tmp_path / "jobs.sqlite3") as store:
        data = bytearray(remade(store.export_job(store.create_job("x").id), lambda m: None))
        size_at = data.index(b"PK\x01\x02") + 24  # "uncompressed size" of the central directory: APPNOTE 4.3.12
        data[size_at : size_at + 4] = (10).to_bytes(4, "little")
        with pytest.raises(InputError):
            store.import_job(bytes(data))


def test_a_file_cut_off_anywhere_is_refused_and_leaves_nothing(shop: Store, exported: bytes) -> None:
    for cut in [0, 1, 30, *random.Random(5).sample(range(len(exported)), 25), len(exported) - 1]:
        with pytest.raises(InputError):
            shop.import_job(exported[:cut])
    assert len(shop.jobs()) == 1


def test_bytes_changed_at_random_are_refused_or_harmless(tmp_path: Path, exported: bytes) -> None:
    chance = random.Random(7)
    with Store(tmp_path / "jobs.sqlite3") as store:
        for _ in range(60):
            changed = bytearray(exported)
            for _ in range(chance.randint(1, 4)):
                changed[chance.randrange(len(changed))] = chance.randrange(256)
            with contextlib.suppress(InputError):
                store.import_job(bytes(changed))
        for job in store.jobs():
            assert content(store, job.id)[0]


def test_encrypted_doubled_and_oddly_pressed_members_are_refused(tmp_path: Path) -> None:
    with Store(tmp_path / "jobs.sqlite3") as store:
        data = store.export_job(store.create_job("x").id)
        with pytest.raises(InputError, match="stored or deflated"):
            store.import_job(remade(data, lambda m: None, zipfile.ZIP_LZMA))
        locked = bytearray(data)
        locked[data.index(b"PK\x01\x02") + 8] |= 1  # "encrypted", bit 0 of the flags: APPNOTE 4.4.4
        with pytest.raises(InputError, match="password"):
            store.import_job(bytes(locked))
        out = io.BytesIO(data)
        with zipfile.ZipFile(out, "a") as target, pytest.warns(UserWarning, match="Duplicate"):
            target.writestr("job.json", b"{}")
        with pytest.raises(InputError, match="each once"):
            store.import_job(out.getvalue())


def _first(document: dict[str, Any], what: str) -> Any:
    return document[what][0]


WRONG = {
    "format": lambda d: d.update(format=2),
    "kind": lambda d: d.update(kind="something else"),
    "unknown key": lambda d: d.update(extra=1),
    "no title": lambda d: d.update(title="  "),
    "title too long": lambda d: d.update(title="x" * 201),
    "title not text": lambda d: d.update(title=5),
    "no time zone": lambda d: d.update(created_at="2026-01-01T00:00:00"),
    "year 1": lambda d: d.update(created_at="0001-01-01T00:00:00+14:00"),
    "rig not there": lambda d: _first(_first(d, "rigs"), "revisions").update(file="rigs/as_built.toml"),
    "rig elsewhere": lambda d: _first(_first(d, "rigs"), "revisions").update(file="../../etc/passwd"),
    "rig of another stage": lambda d: _first(_first(d, "rigs"), "revisions").update(file="rigs/planned.toml"),
    "stage": lambda d: _first(d, "rigs").update(key="as wished"),
    "stage twice": lambda d: d["rigs"].append(d["rigs"][0]),
    "head nowhere": lambda d: _first(d, "rigs").update(head=77),
    "head at the side": lambda d: _first(d, "rigs").update(head=3, tip=3),
    "head not below tip": lambda d: _first(d, "rigs").update(head=2, tip=1),
    "parent of itself": lambda d: _first(_first(d, "rigs"), "revisions").update(parent=1),
    "number 0": lambda d: _first(_first(d, "rigs"), "revisions").update(number=0),
    "number twice": lambda d: _first(_first(d, "rigs"), "revisions").update(number=2),
    "number beyond": lambda d: _first(_first(d, "rigs"), "revisions").update(number=2**70),
    "place with blanks": lambda d: _first(d, "notes").update(key=" seat "),
    "place too long": lambda d: _first(d, "notes").update(key="x" * 81),
    "nul in a note": lambda d: _first(_first(d, "notes"), "revisions").update(text="\x00"),
    "half a pair": lambda d: _first(_first(d, "notes"), "revisions").update(text="\ud800"),
    "value not finite": lambda d: _first(d, "readings").update(value=float("nan")),
    "value not a number": lambda d: _first(d, "readings").update(value="12.6"),
    "photo not there": lambda d: _first(d, "photos").update(file="photos/" + "0" * 64 + ".jpg"),
    "photo is a rig": lambda d: _first(d, "photos").update(file="rigs/as_found.toml"),
    "mark outside": lambda d: _first(_first(d, "photos"), "marks").update(x_pct=101),
    "no list": lambda d: d.update(photos={}),
    "missing": lambda d: d.pop("readings"),
}


@pytest.mark.parametrize("what", WRONG)
def test_a_field_that_cannot_be_used_is_named_and_nothing_is_kept(shop: Store, exported: bytes, what: str) -> None:
    with pytest.raises(InputError) as caught:
        shop.import_job(with_json(exported, WRONG[what]))
    assert all(p.expected and p.remedy for p in caught.value.problems)
    assert len(shop.jobs()) == 1


@pytest.mark.parametrize("text", [b"", b"[]", b"\xff\xfe", b"[" * 100_000, b"{" + b'"a":{' * 50_000, b"null", b"NaN"])
def test_a_head_that_is_no_head_is_refused(shop: Store, exported: bytes, text: bytes) -> None:
    with pytest.raises(InputError):
        shop.import_job(remade(exported, lambda m: m.update({"job.json": text})))


def test_an_export_says_which_photograph_is_missing(store: Store) -> None:
    job = full_job(store)
    for file in (store.folder / "photos").rglob("*.jpg"):
        file.unlink()
    with pytest.raises(StoreError, match="missing"):
        store.export_job(job)
