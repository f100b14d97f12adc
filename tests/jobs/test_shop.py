"""What belongs to the shop: settings, catalogue, stock; the same on either database, and in every backup."""

from __future__ import annotations

import dataclasses
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import create_engine

from loomwright.errors import InputError, UnknownName
from loomwright.jobs.engine import read_url, upgrade
from loomwright.jobs.errors import Conflict, Overtaken
from loomwright.jobs.ledger import now
from loomwright.jobs.model import Settings, StockLine
from loomwright.jobs.store import Store
from tests.jobs.test_carry import full_job

PART = """
[part.{id}]
family = "splice"  # remark of {id}
title = "{title}"
legs = 3
path_mohm = 0.2
rating_a = 30
"""
OWN = "format = 1\n" + PART.format(id="splice_own", title="Splice of our own")


def spool(**keys: Any) -> StockLine:
    given = {"kind": "wire", "size": "8 AWG", "metal": "copper", "length_mm": 12_000.0, "colour": "RD", **keys}
    return StockLine(id="", number=0, at=now(), **given)


def shop(store: Store) -> tuple[object, ...]:
    return (store.settings(), store.shop_history("settings"), store.shop_history("catalogue"), store.stock(),
            store.stock(removed=True))  # fmt: skip


def full_shop(store: Store) -> StockLine:
    store.save_settings(Settings(length_unit="in", sheet="letter"))
    store.save_catalogue(OWN, 0, by="M")
    store.save_catalogue(OWN.replace("30", "40"), 1)
    kept = store.add_stock(spool(note="shelf 3"), by="M")
    store.add_stock(StockLine("", "fuse", 0, now(), type="C", rating_a=7.5, count=20))
    board = {"material": "plywood", "thickness_mm": 12.0, "length_mm": 800.0, "width_mm": 600.0, "count": 2}
    store.add_stock(StockLine("", "sheet", 0, now(), **board))  # type: ignore[arg-type]
    store.remove_stock(store.add_stock(spool(size="2.5 mm2")).id)
    return kept


def test_settings_are_kept_and_the_usual_ones_count_before(store: Store, new_store) -> None:
    assert store.settings() == Settings()
    saved = store.save_settings(Settings(temperature_unit="F", wire_size="both"))
    assert new_store().settings() == saved == Settings(temperature_unit="F", wire_size="both", number=1)
    assert store.save_settings(saved) == saved
    with pytest.raises(InputError) as caught:
        store.save_settings(Settings(sheet="a5", number=1))  # type: ignore[arg-type]
    assert caught.value.problems[0].place == "sheet"


def test_the_second_to_save_conflicts_and_both_texts_are_kept(store: Store) -> None:
    store.save_catalogue(OWN, 0)
    mine = OWN.replace("30", "50")
    with pytest.raises(Conflict) as caught:
        store.save_catalogue(mine, 0)
    assert (caught.value.theirs.text, caught.value.mine.text) == (OWN, mine)
    assert "+rating_a = 50" in caught.value.diff
    assert store.shop_text("catalogue").text == OWN
    assert [(r.text, r.side) for r in store.shop_history("catalogue")] == [(mine, True), (OWN, False)]
    store.save_catalogue(mine, 1)
    assert store.undo_shop("catalogue", store.shop_text("catalogue").number).text == OWN
    assert store.undo_shop("catalogue", store.shop_text("catalogue").number).text == mine


def test_a_catalogue_that_cannot_be_used_changes_nothing(store: Store) -> None:
    store.save_catalogue(OWN, 0)
    for bad in (OWN.replace("legs", "leggs"), OWN.replace("= 3", "= = 3"), "part = 1", "\x00", OWN.replace("1", "2")):
        n = store.last_change()
        with pytest.raises(InputError):
            store.save_catalogue(bad, 1)
        assert (store.shop_text("catalogue").text, store.last_change()) == (OWN, n)
    assert store.save_catalogue("", 1).text == ""


def test_every_change_is_in_the_feed(store: Store) -> None:
    n = store.last_change()
    full_shop(store)
    seen = [(c.job_id, c.what) for c in store.changes_since(n)]
    assert seen == [("", "settings"), *[("", "catalogue")] * 2, *[("", "stock")] * 5]


def test_stock_is_kept_in_order_and_in_its_normal_form(store: Store, new_store) -> None:
    thick = store.add_stock(spool(size="1/0 awg", colour="rd-bk", insulation_c=105))
    thin = store.add_stock(spool(size="0.5 mm²"))
    fuse = store.add_stock(StockLine("", "fuse", 0, now(), type="F", rating_a=80, count=3, size="8 AWG"))
    assert (thick.size, thick.colour, thin.size, fuse.size) == ("1/0 AWG", "RDBK", "0.5 mm2", "")
    assert new_store().stock() == (thin, thick, fuse)
    used = store.save_stock(dataclasses.replace(thick, length_mm=9_000))
    assert (used.length_mm, used.number) == (9_000.0, thick.number + 1)
    with pytest.raises(Overtaken) as caught:
        store.save_stock(dataclasses.replace(thick, length_mm=1.0))
    assert caught.value.theirs == used == store.stock_line(thick.id)
    store.remove_stock(thin.id)
    assert store.stock() == (used, fuse)
    assert [s.id for s in store.stock(removed=True)] == [thin.id]
    assert store.restore_stock(thin.id).deleted_at is None


@pytest.mark.parametrize(
    ("keys", "place"),
    [
        ({"size": "bolted"}, "size"), ({"size": "8"}, "size"), ({"metal": "gold"}, "metal"),
        ({"colour": "R"}, "colour"), ({"length_mm": float("nan")}, "length_mm"),
        ({"length_mm": None}, "length_mm"), ({"length_mm": -1.0}, "length_mm"),
        ({"insulation_c": 104}, "insulation_c"), ({"kind": "gold"}, "kind"), ({"note": "x" * 201}, "note"),
        ({"kind": "fuse", "type": "Z", "rating_a": 5.0, "count": 1}, "type"),
        ({"kind": "fuse", "type": "C", "rating_a": 0.0, "count": 1}, "rating_a"),
        ({"kind": "fuse", "type": "C", "rating_a": 5.0, "count": 1.5}, "count"),
        ({"kind": "connector", "count": 3}, "part"), ({"kind": "other", "part": "x"}, "count"),
    ],
)  # fmt: skip
def test_a_line_that_cannot_be_is_refused_with_the_field_named(store: Store, keys: dict[str, Any], place: str) -> None:
    with pytest.raises(InputError) as caught:
        store.add_stock(spool(**keys))
    assert [(p.file, p.place) for p in caught.value.problems] == [("stock", place)]
    assert all(p.expected and p.received and p.remedy for p in caught.value.problems)
    assert store.stock() == ()


def test_a_line_that_is_not_there(store: Store) -> None:
    for name in ("abcdefghjk", "x", "../../x"):
        with pytest.raises(UnknownName):
            store.remove_stock(name)


def test_a_backup_takes_the_shop_along_to_another_database(store: Store, tmp_path: Path, server) -> None:
    full_job(store)
    full_shop(store)
    made = store.backup(tmp_path / "monday.zip")
    sqlite = store.url.get_backend_name() == "sqlite"
    target = server.new_database() if sqlite else str(tmp_path / "other" / "jobs.sqlite3")
    with Store(target, tmp_path / "other") as other:
        other.add_stock(spool(note="of the other shop"))
        done = other.restore(made.path)
        assert shop(other) == shop(store)
        assert done.before is not None
        other.restore(done.before)
        assert [s.note for s in other.stock()] == ["of the other shop"]


@pytest.mark.parametrize("spoil", ["size", "number", "twice", "gone"])
def test_a_backup_with_a_spoilt_shop_changes_nothing(store: Store, tmp_path: Path, spoil: str) -> None:
    full_shop(store)
    path = store.backup(tmp_path / "b.zip").path
    before = shop(store)
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(tmp_path / "bad.zip", "w") as target:
        for name in source.namelist():
            data = source.read(name)
            if name == "shop.json":
                found = json.loads(data)
                if spoil == "size":
                    found["stock"][0]["size"] = "'; drop table stock"
                elif spoil == "number":
                    found["texts"][0]["number"] = -1
                elif spoil == "twice":
                    found["stock"].append(found["stock"][0])
                else:
                    continue
                data = json.dumps(found).encode()
            target.writestr(name, data)
    with pytest.raises(InputError):
        store.restore(tmp_path / "bad.zip")
    assert shop(store) == before


def test_a_job_takes_along_the_parts_that_it_uses(store: Store, tmp_path: Path) -> None:
    own = OWN + PART.format(id="splice_unused", title="Not in this job")
    store.save_catalogue(own, 0)
    job = store.create_job("Trike").id
    store.save_rig(job, "planned", 'format = 1\n[item.s]\npart = "splice_own"\nplace = "seat"\n', 0)
    data = store.export_job(job)
    with Store(tmp_path / "other" / "jobs.sqlite3") as other:
        other.import_job(data)
        text = other.shop_text("catalogue").text
        assert "splice_own" in text
        assert "remark of splice_own" in text
        assert "splice_unused" not in text
        other.import_job(data)
        assert other.shop_text("catalogue").number == 1
    with Store(tmp_path / "third" / "jobs.sqlite3") as third:
        theirs = "format = 1\n" + PART.format(id="splice_own", title="Another one")
        third.save_catalogue(theirs, 0)
        third.import_job(data)
        assert third.shop_text("catalogue").text == theirs
    assert store.export_job(job) == data


def test_a_job_with_a_catalogue_that_cannot_be_used_is_refused(store: Store, tmp_path: Path) -> None:
    store.save_catalogue(OWN, 0)
    job = store.create_job("Trike").id
    store.save_rig(job, "planned", '[item.s]\npart = "splice_own"\n', 0)
    (tmp_path / "a.zip").write_bytes(store.export_job(job))
    with zipfile.ZipFile(tmp_path / "a.zip") as source, zipfile.ZipFile(tmp_path / "b.zip", "w") as target:
        for name in source.namelist():
            data = source.read(name)
            target.writestr(name, data.replace(b"legs", b"leggs") if name == "catalogue.toml" else data)
    jobs = store.jobs()
    with pytest.raises(InputError):
        store.import_job((tmp_path / "b.zip").read_bytes())
    assert store.jobs() == jobs


def test_a_store_of_the_first_version_gets_the_new_tables_and_keeps_its_jobs(blank_url: str, tmp_path: Path) -> None:
    engine = create_engine(read_url(blank_url))
    with engine.begin() as connection:
        upgrade(connection, "0001")
        job = "INSERT INTO job (id, title, created_at, changed_at, revision) VALUES ('abcdefghjk', 'Old', 1, 1, 0)"
        connection.exec_driver_sql(job)
    engine.dispose()
    with Store(blank_url, tmp_path) as store:
        assert [j.title for j in store.jobs()] == ["Old"]
        assert full_shop(store) in store.stock()
