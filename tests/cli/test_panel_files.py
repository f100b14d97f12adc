"""``panel --template`` and ``panel --sheets``: what is written, what is said, what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from ezdxf import recover

from loomwright import demo
from tests.conftest import Run


@pytest.fixture
def rig(tmp_path: Path) -> Path:
    path = tmp_path / "launch.toml"
    path.write_text(demo.text("canal_launch"), encoding="utf-8")
    return path


def test_templates_of_every_kind_are_written(loomwright: Run, rig: Path, tmp_path: Path) -> None:
    ran = loomwright("panel", rig, "--template", tmp_path / "t", "--paper", "letter", "--mirrored")
    assert ran.code == 0, ran.err
    names = sorted(p.name for p in (tmp_path / "t").iterdir())
    assert names == [
        "template_fore_back.dxf", "template_fore_back.svg", "template_fore_back_letter.pdf",
        "template_fore_back_one_page.pdf",
    ]  # fmt: skip
    assert all(p.read_bytes().startswith(b"%PDF") for p in (tmp_path / "t").glob("*.pdf"))
    _, audit = recover.readfile(tmp_path / "t" / "template_fore_back.dxf")
    assert not audit.errors


def test_sheets_with_their_cuts_as_text_and_as_json(loomwright: Run, rig: Path, tmp_path: Path) -> None:
    (tmp_path / "stock.toml").write_text(
        'format = 1\n[[sheet]]\nid = "half"\nmaterial = "plywood"\nthickness_mm = 12\nwidth_mm = 1220\n'
        "height_mm = 1220\nprice = 34\n", encoding="utf-8",
    )  # fmt: skip
    ran = loomwright("panel", rig, "--sheets", tmp_path / "s", "--piece", "lid=690x510")
    assert ran.code == 0, ran.err
    assert "half" in ran.out
    assert "The sheets cost 34" in ran.out
    again = loomwright("panel", rig, "--sheets", tmp_path / "s", "--piece", "lid=690x510", "--json")
    found = again.document["data"]["sheets"][0]
    assert found["material"] == "plywood"
    assert found["price"] == 34.0
    assert {p["piece"] for s in found["sheets"] for p in s["laid"]} == {"fore", "lid"}
    assert found["cuts"][0]["cuts"][0]["fence_mm"] > 0.0
    assert sorted(p.name for p in (tmp_path / "s").iterdir()) == ["sheet_1.pdf", "sheet_1.svg"]


def test_boards_come_from_the_sheets_of_the_stock_in_the_browser(loomwright: Run, rig: Path, tmp_path: Path) -> None:
    from loomwright.jobs.ledger import now
    from loomwright.jobs.model import StockLine
    from loomwright.jobs.store import Store, url_in

    with Store(url_in(tmp_path / "shop")) as store:
        store.add_stock(StockLine("1", "sheet", 0, now(), material="plywood", thickness_mm=12.0, length_mm=900.0,
                                  width_mm=600.0, count=2, note="offcut of the van"))  # fmt: skip
    args = ("--sheets", tmp_path / "s", "--stock", "shop", "--data", tmp_path / "shop")
    ran = loomwright("panel", rig, *args, "--json")
    assert ran.code == 0, ran.err
    assert [s["stock"]["id"] for s in ran.document["data"]["sheets"][0]["sheets"]] == ["offcut of the van"]
    none = loomwright("panel", rig, "--sheets", tmp_path / "s", "--stock", "shop", "--data", tmp_path / "nowhere")
    assert none.code == 2


@pytest.mark.parametrize(
    "words", [("--mirrored",), ("--piece", "lid=300x200"), ("--kerf-mm", "-1"), ("--data", "x"), ("--kerf-mm", "nan")]
)
def test_what_goes_with_nothing_is_refused(loomwright: Run, rig: Path, words: tuple[str, ...]) -> None:
    assert loomwright("panel", rig, *words).code == 2


def test_an_allowance_that_eats_the_board_is_refused(loomwright: Run, rig: Path, tmp_path: Path) -> None:
    ran = loomwright("panel", rig, "--template", tmp_path / "t", "--covering-mm", "300")
    assert ran.code == 2
    assert "covering_mm" in ran.err
