"""How long the whole pack of the planned trike takes, in a fresh process; and that a second one is the same."""

from __future__ import annotations

import hashlib
import tempfile
import time
from pathlib import Path

from bench.rows import Row, at_least, at_most
from bench.start import run_once

RUNS = 5


def rows() -> list[Row]:
    """Quickest of several fresh processes, nothing kept and all layouts kept; the sums of the files of all."""
    from loomwright import demo

    rig, stock = str(demo.path("carnival_trike_planned")), str(demo.stock_path())
    cold: list[float] = []
    warm: list[float] = []
    sums: list[dict[str, str]] = []
    for _ in range(RUNS):
        with tempfile.TemporaryDirectory() as folder:
            for times in (cold, warm):
                out = Path(folder) / "pack"
                begun = time.perf_counter()
                run_once("pack", rig, "--stock", stock, "--out", str(out), XDG_CACHE_HOME=folder, LOCALAPPDATA=folder)
                times.append(time.perf_counter() - begun)
                sums.append(_sums(out))
    same = sum(all(s.get(name) == digest for s in sums) for name, digest in sums[0].items())
    return [
        at_most(f"whole pack of the planned trike, fresh process, quickest of {RUNS}", min(cold), "s", 3.0),
        at_most(f"the same again, its layouts kept, quickest of {RUNS}", min(warm), "s", 3.0),
        at_least("files of all these packs that are the same, byte for byte", 100.0 * same / len(sums[0]), "%", 100.0),
    ]


def _sums(folder: Path) -> dict[str, str]:
    files = sorted(p for p in folder.rglob("*") if p.is_file())
    return {str(p.relative_to(folder)): hashlib.sha256(p.read_bytes()).hexdigest() for p in files}
