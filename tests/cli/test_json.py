"""The JSON answers: one envelope, one error shape, ids as in the rig, plain numbers."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright import __version__
from loomwright.cli.answer import plain
from tests.conftest import Run

COMMANDS = [
    ("check", "RIG"),
    ("mend", "RIG"),
    ("power", "RIG"),
    ("power", "RIG", "--engine", "idle", "--programme", "loud"),
    ("sound", "RIG"),
    ("sound", "RIG", "--channel", "bass_amp.ch1"),
    ("sound", "RIG", "--try", "bass", "--on", "bass_amp.ch1"),
    ("faults", "RIG"),
    ("faults", "RIG", "--only", "lost-return"),
    ("loom", "RIG"),
    ("advise", "RIG"),
    ("advise", "RIG", "--amplifiers"),
    ("advise", "RIG", "--chances", "--draws", "500"),
    ("compare", "RIG", "RIG"),
    ("explain", "conductor.awg.8.area_mm2"),
    ("explain", "conductor.awg.8"),
    ("schema",),
]


@pytest.mark.parametrize("args", COMMANDS, ids=" ".join)
def test_every_command_answers_in_the_same_envelope(
    args: tuple[str, ...], loomwright: Run, rigs: dict[str, Path]
) -> None:
    ran = loomwright(*(rigs["trike"] if a == "RIG" else a for a in args), "--json")
    assert ran.err == ""
    document = ran.document
    assert list(document) == ["loomwright", "command", "ok", "data"]
    assert (document["loomwright"], document["command"], document["ok"]) == (__version__, args[0], True)
    assert document["data"]


def test_errors_have_one_shape(loomwright: Run) -> None:
    for args in (("chekc",), ("check",), ("check", "none.toml"), ("explain", "E9999")):
        document = loomwright(*args, "--json").document
        assert list(document) == ["loomwright", "command", "ok", "error"]
        assert list(document["error"]) == ["kind", "problems"]
        for problem in document["error"]["problems"]:
            assert list(problem) == ["file", "place", "expected", "received", "remedy"]
            assert problem["remedy"]


def test_check_gives_findings_in_order_of_urgency_with_all_their_parts(
    loomwright: Run, rigs: dict[str, Path]
) -> None:
    data = loomwright("check", rigs["trike as found"], "--json").document["data"]
    order = ["Stop", "Fix", "Know"]
    severities = [f["severity"] for f in data["findings"]]
    assert severities == sorted(severities, key=order.index)
    assert data["counts"] == {s: severities.count(s) for s in order}
    for finding in data["findings"]:
        assert finding["code"]
        assert finding["evidence"]
        assert finding["remedy"]
        assert finding["source"]


def test_power_gives_every_case_with_the_ids_of_the_rig(loomwright: Run, rigs: dict[str, Path]) -> None:
    import tomllib

    ids = set(tomllib.loads(rigs["trike"].read_text("utf-8"))["item"])
    data = loomwright("power", rigs["trike"], "--json").document["data"]
    assert {(c["engine"], c["programme"]) for c in data["cases"]} == {
        (e, p) for e in ("off", "idle", "cruise") for p in ("quiet", "music", "loud", "sine")
    }
    for case in data["cases"]:
        assert set(case["items"]) <= ids
        assert case["items"]


def test_choosing_a_case_gives_that_case_only(loomwright: Run, rigs: dict[str, Path]) -> None:
    data = loomwright("power", rigs["trike"], "--engine", "off", "--programme", "music", "--json").document["data"]
    assert [(c["engine"], c["programme"]) for c in data["cases"]] == [("off", "music")]


def test_faults_of_one_wire_are_of_that_wire(loomwright: Run, rigs: dict[str, Path]) -> None:
    whole = loomwright("faults", rigs["trike"], "--json").document["data"]
    wire = next(f["where"] for f in whole["faults"] if f["kind"] == "chafe")
    part = loomwright("faults", rigs["trike"], "--wire", wire, "--json").document["data"]
    assert part["faults"]
    assert {f["where"] for f in part["faults"]} == {wire}
    assert sum(part["verdicts"].values()) == len(part["faults"])


def test_the_same_rig_gives_the_same_bytes(loomwright: Run, rigs: dict[str, Path]) -> None:
    first = loomwright("faults", rigs["trike"], "--json", fresh=True)
    assert first.out == loomwright("faults", rigs["trike"], "--json", fresh=True).out


@settings(max_examples=40)
@given(st.recursive(st.none() | st.floats() | st.text() | st.booleans(), lambda s: st.dictionaries(st.text(), s)))
def test_what_is_not_finite_becomes_null(value: object) -> None:
    def numbers(v: object) -> list[float]:
        if isinstance(v, dict):
            return [n for x in v.values() for n in numbers(x)]
        return [v] if isinstance(v, float) else []

    assert all(math.isfinite(n) for n in numbers(plain(value)))
