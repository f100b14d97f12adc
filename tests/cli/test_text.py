"""What a person reads: widths, signs with words, colours only where wanted, data never taken for markup."""

from __future__ import annotations

from pathlib import Path

import pytest
from rich.cells import cell_len

from loomwright.cli.terminal import clean
from loomwright.rig.file import load
from tests.conftest import Run

ESC = "\x1b"
READ = [("check", "trike as found"), ("power", "trike"), ("faults", "trike as found"), ("power", "buggy"),
        ("faults", "launch"), ("sound", "trike as found"), ("sound", "buggy")]


@pytest.mark.parametrize("columns", [80, 120])
@pytest.mark.parametrize(("command", "name"), READ)
def test_no_line_is_wider_than_the_terminal(
    command: str, name: str, columns: int, loomwright: Run, rigs: dict[str, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    ran = loomwright(command, rigs[name])
    assert ran.out
    # A line that names the file is left whole, so that it can be copied.
    assert max(cell_len(line) for line in ran.out.splitlines() if str(rigs[name]) not in line) <= columns


def test_compare_fits_in_80_columns(loomwright: Run, rigs: dict[str, Path]) -> None:
    ran = loomwright("compare", rigs["trike as found"], rigs["trike"])
    assert max(map(cell_len, ran.out.splitlines())) <= 80


def test_no_number_or_id_is_cut_short_at_80_columns(loomwright: Run, rigs: dict[str, Path]) -> None:
    for command, name in READ:
        assert "…" not in loomwright(command, rigs[name]).out


@pytest.mark.parametrize("name", ["trike", "trike as found", "buggy", "launch"])
def test_every_name_stands_whole_at_80_columns(name: str, loomwright: Run, rigs: dict[str, Path]) -> None:
    rig = load(rigs[name])
    lines = loomwright("power", rigs[name]).out.splitlines()
    tables = [k for k, line in enumerate(lines) if line.split()[:2] == ["Item", "V"]]
    assert len(tables) == 3
    for k in tables:
        named = [line.split()[0] for line in lines[k + 2 : lines.index("", k)]]
        assert {i.id for i in rig.family("battery", "charger", "amplifier", "source")} <= set(named) <= set(rig.items)


def test_a_pipe_gets_no_colours(loomwright: Run, rigs: dict[str, Path]) -> None:
    assert ESC not in loomwright("check", rigs["trike as found"]).out


def test_colours_come_when_asked_for_and_go_with_no_color(
    loomwright: Run, rigs: dict[str, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("TERM", "xterm-256color")
    assert f"{ESC}[1;31m" in loomwright("check", rigs["trike as found"]).out
    monkeypatch.setenv("NO_COLOR", "1")
    plain = loomwright("check", rigs["trike as found"]).out
    assert f"{ESC}[1;31m" not in plain
    assert "[31m" not in plain


def test_every_sign_has_its_word_and_urgent_things_come_first(loomwright: Run, rigs: dict[str, Path]) -> None:
    out = loomwright("check", rigs["trike as found"]).out
    lines = [line for line in out.splitlines() if line[:1] in "⊘▲●" and line.strip()]
    heads = lines[1:]
    words = {"⊘": "Stop", "▲": "Fix", "●": "Know"}
    assert heads
    assert all(words[h[0]] == h.split()[1] for h in heads)
    assert [h[0] for h in heads] == sorted((h[0] for h in heads), key="⊘▲●".index)


def test_check_ends_with_what_to_do_next(loomwright: Run, rigs: dict[str, Path]) -> None:
    assert "Do not power up" in loomwright("check", rigs["trike as found"]).out
    assert "Nothing to mend" in loomwright("check", rigs["trike"]).out


def test_faults_are_counted_by_verdict_and_the_worst_stand_first(loomwright: Run, rigs: dict[str, Path]) -> None:
    out = loomwright("faults", rigs["trike as found"]).out
    for verdict in ("burned", "not cleared", "spread", "cleared", "no harm"):
        assert verdict in out
    table = out[out.index("Worst first") :]
    firsts = [line.split("  ")[0].strip() for line in table.splitlines()]
    seen = [v for v in firsts if v in ("burned", "not cleared", "spread", "cleared", "no harm")]
    assert seen == sorted(seen, key=["burned", "not cleared", "spread", "cleared", "no harm"].index)


HOSTILE = ["[bold red]x[/]", "[/nonsense]", ":warning:", '"><script>', "../../etc", "#{panic()}", "$(reboot)"]


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_ids_are_printed_as_data(name: str, loomwright: Run, rigs: dict[str, Path], tmp_path: Path) -> None:
    name = name.replace(".", ",")
    quoted = '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'
    text = rigs["blank"].read_text("utf-8")
    rig = tmp_path / "hostile.toml"
    rig.write_text(text.replace("[item.amp]", f"[item.{quoted}]").replace('"amp.', f'{quoted[:-1]}.'), "utf-8")
    for command in ("check", "power", "faults"):
        ran = loomwright(command, rig)
        assert ran.code in (0, 1), ran.err
    assert name in loomwright("power", rig).out.replace("\n", "")
    answer = loomwright("power", rig, "--json").document["data"]
    assert any(name in case["items"] for case in answer["cases"])


def test_control_and_direction_characters_become_visible() -> None:
    assert clean("a\x1b[31mb\u202ec\x07") == "a\\x1b[31mb\\u202ec\\x07"
    assert clean("Ω → µ °C ½") == "Ω → µ °C ½"


def test_the_error_block_shows_file_place_expected_received_and_remedy(loomwright: Run, tmp_path: Path) -> None:
    rig = tmp_path / "bad.toml"
    rig.write_text('format = 1\ntitle = "\\u001b[31mred"\nambient_c = -400\n', "utf-8")
    ran = loomwright("check", rig)
    assert ran.code == 2
    assert ESC not in ran.err
    for word in ("bad.toml", "ambient_c", "expected", "received", "to do"):
        assert word in ran.err
