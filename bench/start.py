"""How soon the program answers, each time in a fresh process."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from bench.rows import Row, at_most

RUNS = 7
# As on a user's machine: Python keeps its compiled modules. Some development machines switch that off.
AS_SET_HERE = ("PYTHONDONTWRITEBYTECODE", "OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS")
ENVIRONMENT = {k: v for k, v in os.environ.items() if k not in AS_SET_HERE}


def rows() -> list[Row]:
    """``--version`` and ``check`` on the trike, quickest of several fresh processes."""
    from loomwright.cli import samples

    with tempfile.TemporaryDirectory() as folder:
        rig = Path(folder) / "trike.toml"
        rig.write_text(samples.text("trike"), encoding="utf-8")
        return [
            at_most("answer to --version, fresh process, quickest of 7", _quickest_s("--version"), "s", 0.2),
            at_most("check on the trike, fresh process, quickest of 7", _quickest_s("check", str(rig)), "s", 1.2),
        ]


def _quickest_s(*args: str) -> float:
    times = []
    for _ in range(RUNS + 1):
        start = time.perf_counter()
        run_once(*args)
        times.append(time.perf_counter() - start)
    return min(times[1:])  # the first one may have had to compile; a busy machine slows the others by turns


def run_once(*args: str, **settings: str) -> None:
    """The program in a fresh process, with settings in its environment. RuntimeError unless it leaves with 0 or 1."""
    script = Path(sys.executable).with_name("loomwright")
    command = [str(script)] if script.exists() else [sys.executable, "-m", "loomwright.cli.main"]
    done = subprocess.run([*command, *args], capture_output=True, text=True, check=False, env=ENVIRONMENT | settings)
    if done.returncode not in (0, 1):
        raise RuntimeError(f"{' '.join(args)} left with {done.returncode}: {done.stderr}")
