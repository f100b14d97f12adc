"""``loom``: the harness in the terminal, as JSON and as files."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from loomwright import demo
from tests.conftest import Run


def test_every_wire_and_every_connector_is_said(loomwright: Run, rigs: dict[str, Path]) -> None:
    ran = loomwright("loom", rigs["trike"])
    assert ran.code == 0
    for words in ("73 wires to cut", "right_signal, at rear_deck", "live when parted: half a", "Ring-out"):
        assert words in ran.out
    assert "Isolate the battery" in ran.out


def test_the_answer_in_json(loomwright: Run, rigs: dict[str, Path]) -> None:
    data = loomwright("loom", rigs["trike"], "--stock", demo.stock_path(), "--json").document["data"]
    assert {w["id"] for w in data["loom"]["wires"]} >= {"P2", "R2", "S1", "L1", "M1"}
    assert data["cutting_plan"]["proven"] is True
    assert {p["wire"] for p in data["cutting_plan"]["missing"]} == {w for b in data["wire_to_buy"] for w in b["wires"]}
    assert data["loom"]["ring_out"]["joined"][0]["order"] == 1


def test_files(loomwright: Run, rigs: dict[str, Path], tmp_path: Path) -> None:
    ran = loomwright(
        "loom", rigs["trike"], "--stock", demo.stock_path(), "-o", tmp_path / "out", "--label", "63.5x38.1+2.5x0"
    )
    assert ran.code == 0
    names = {p.name for p in (tmp_path / "out").iterdir()}
    assert names == {
        "cut_list.csv", "bundles.csv", "pinouts.csv", "ring_out.csv", "labels.csv", "cutting_plan.csv", "shopping.csv",
        "labels.pdf",
    }  # fmt: skip
    rows = list(csv.reader((tmp_path / "out" / "cut_list.csv").read_text("utf-8-sig").splitlines()))
    assert len(rows) == 74
    assert (tmp_path / "out" / "labels.pdf").read_bytes().startswith(b"%PDF")


def test_drawings(loomwright: Run, rigs: dict[str, Path], tmp_path: Path) -> None:
    ran = loomwright("loom", rigs["trike"], "--drawings", tmp_path / "out", "--paper", "tabloid")
    assert ran.code == 0
    names = {p.name for p in (tmp_path / "out").iterdir()}
    assert {f"map.{ending}" for ending in ("svg", "pdf", "png")} <= names
    assert {n.partition(".")[0].partition("_")[0] for n in names} == {"single", "wiring", "signal", "faces", "map"}
    assert 'width="431.8mm" height="279.4mm"' in (tmp_path / "out" / "map.svg").read_text("utf-8")


def test_stock_beside_the_rig_is_found(loomwright: Run, rigs: dict[str, Path], tmp_path: Path) -> None:
    rig = tmp_path / "rig.toml"
    rig.write_bytes(rigs["trike"].read_bytes())
    assert loomwright("loom", rig, "--json").document["data"]["cutting_plan"] is None
    (tmp_path / "stock.toml").write_bytes(demo.stock_path().read_bytes())
    assert loomwright("loom", rig, "--json").document["data"]["cutting_plan"]["cuts"]


def test_the_stock_of_the_shop(loomwright: Run, rigs: dict[str, Path], tmp_path: Path) -> None:
    from loomwright.jobs.ledger import now
    from loomwright.jobs.model import StockLine
    from loomwright.jobs.store import Store, url_in

    with Store(url_in(tmp_path / "shop")) as store:
        for n, (size, colour) in enumerate((("6 AWG", "RD"), ("10 AWG", "BK"))):
            store.add_stock(StockLine(str(n), "wire", 0, now(), size=size, metal="copper", insulation_c=125,
                                      colour=colour, length_mm=50_000.0))  # fmt: skip
    ran = loomwright("loom", rigs["trike"], "--stock", "shop", "--data", tmp_path / "shop", "--json")
    plan = ran.document["data"]["cutting_plan"]
    assert {c["spool"] for c in plan["cuts"]} == {"6 AWG red", "10 AWG black"}
    args = ("--stock", "shop", "--data", tmp_path / "shop", "-o", tmp_path / "pack", "--json")
    assert loomwright("pack", rigs["trike"], *args).code in (0, 1)
    cuts = (tmp_path / "pack" / "parts" / "tables" / "cutting_plan.csv").read_text("utf-8")
    assert "6 AWG red" in cuts
    none = loomwright("loom", rigs["trike"], "--stock", "shop", "--data", tmp_path / "nowhere")
    assert none.code == 2


@pytest.mark.parametrize(("args", "place"), [
    (("--label", "50"), "loom --label"), (("--label", "3x3", "-o", "out"), "loom --label"),
    (("--as-found", "none.toml"), "loom --as-found"), (("--stock", "none.toml"), "file"),
    (("--label", "50x20"), "loom --label"), (("--sheet", "letter"), "loom --sheet"),
    (("--paper", "a4"), "loom --paper"),
])  # fmt: skip
def test_what_cannot_be_used(
    loomwright: Run, rigs: dict[str, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, args: tuple[str, ...],
    place: str,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    ran = loomwright("loom", rigs["trike"], *args, "--json")
    assert ran.code == 2
    (problem,) = ran.document["error"]["problems"]
    assert problem["place"] == place
    assert not (tmp_path / "out").exists()


def test_the_same_rig_gives_the_same_bytes(loomwright: Run, rigs: dict[str, Path], tmp_path: Path) -> None:
    for name in ("a", "b"):
        loomwright("loom", rigs["trike"], "--stock", demo.stock_path(), "-o", tmp_path / name, fresh=True)
    for path in (tmp_path / "a").iterdir():
        assert path.read_bytes() == (tmp_path / "b" / path.name).read_bytes(), path.name


def test_the_build_step_by_step(loomwright: Run, rigs: dict[str, Path]) -> None:
    ran = loomwright("loom", rigs["trike"], "--steps")
    assert ran.code == 0
    order = [ran.out.index(w) for w in ("1. Isolate battery", "Small fuse in main.1", "Rated fuses in ")]
    assert order == sorted(order)
    for words in ("A second person signs", "Caution: Hearing", "Torque at block.in: 2.5 Nm", "at least 133 N"):
        assert words in ran.out


def test_the_build_in_json_with_what_is_there_already(loomwright: Run, rigs: dict[str, Path]) -> None:
    data = loomwright("loom", rigs["trike"], "--steps", "--json").document["data"]
    steps = data["build"]["steps"]
    assert [s["number"] for s in steps] == list(range(1, len(steps) + 1))
    found = demo.path("carnival_trike_as_found")
    other = loomwright("loom", rigs["trike"], "--steps", "--as-found", found, "--json").document["data"]["build"]
    assert any(s["id"].startswith("take out:") for s in other["steps"])
