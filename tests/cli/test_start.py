"""The program starts lightly: nothing heavy is loaded to say its version or its help."""

from __future__ import annotations

import subprocess
import sys

import pytest

from loomwright import __version__

HEAVY = ("numpy", "scipy", "typst", "quickjs", "fontTools", "tomlkit", "cv2", "shapely", "ezdxf", "svgelements")
ASK = """
import sys
from loomwright.cli.main import run
try:
    run(sys.argv[1:])
finally:
    print("LOADED", *sorted({m.partition(".")[0] for m in sys.modules}), file=sys.stderr)
"""


def ask(*args: str) -> tuple[int, str, set[str]]:
    done = subprocess.run([sys.executable, "-c", ASK, *args], capture_output=True, text=True, check=False)
    return done.returncode, done.stdout, set(done.stderr.partition("LOADED")[2].split())


@pytest.mark.parametrize("flag", ["--version", "-V"])
def test_version_loads_nothing_but_itself(flag: str) -> None:
    code, out, loaded = ask(flag)
    assert (code, out) == (0, f"loomwright {__version__}\n")
    assert not loaded & {*HEAVY, "typer", "rich", "pydantic"}


@pytest.mark.parametrize("args", [["--help"], ["check", "--help"], ["nonsense"], []])
def test_help_and_hints_load_nothing_heavy(args: list[str]) -> None:
    _, _, loaded = ask(*args)
    assert not loaded & set(HEAVY)


def test_no_arguments_print_the_help() -> None:
    _, out, _ = ask()
    assert "Usage: loomwright" in out
    for command in ("check", "power", "faults", "compare", "demo", "init", "explain", "pack"):
        assert f"  {command} " in out
