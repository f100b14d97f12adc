"""A power cut in the middle of the work: every edit that was acknowledged is there afterwards."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

import loomwright
from loomwright.jobs.store import Store
from tests.jobs.postgres import Server

WRITES = 200


def written_until_killed(url: str, folder: Path, seed: int, stop_after: int) -> list[dict[str, Any]]:
    """Kill -9 a writing process once it has acknowledged so many writes; give what it had acknowledged."""
    source = Path(loomwright.__file__).parents[1]
    command = [sys.executable, str(Path(__file__).with_name("writer.py")), url, str(folder), str(seed), str(WRITES)]
    lines = []
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": str(source)}, text=True
    ) as child:
        assert child.stdout is not None
        for line in child.stdout:
            lines.append(line)
            if len(lines) == stop_after:
                time.sleep(random.Random(seed).uniform(0, 0.03))
                child.send_signal(signal.SIGKILL)
        assert child.wait() == -signal.SIGKILL
    return [json.loads(line) for line in lines if line.endswith("\n")]


def assert_all_there(store: Store, acknowledged: list[dict[str, Any]]) -> None:
    for write in acknowledged:
        job = write["job"]
        if write["what"] == "job":
            assert store.job(job).title == write["text"]
        elif write["what"] == "rig":
            assert store.rig_revision(job, write["key"], write["number"]).text == write["text"]
        elif write["what"] == "note":
            assert store.note(job, write["key"]).text == write["text"]
        elif write["what"] == "reading":
            assert write["value"] in {r.value for r in store.readings(job) if r.id == write["key"]}
        else:
            assert store.photo_bytes(write["key"]).startswith(b"\x89PNG")
    last = {(w["job"], w["key"]): w for w in acknowledged if w["what"] == "rig"}
    for (job, stage), write in last.items():
        assert store.rig_text(job, stage).number >= write["number"]


@pytest.mark.parametrize("seed", [11, 12])
def test_kill_9_loses_no_acknowledged_write(url: str, tmp_path: Path, seed: int) -> None:
    stop_after = random.Random(seed).randint(WRITES // 10, 3 * WRITES // 4)
    acknowledged = written_until_killed(url, tmp_path, seed, stop_after)
    assert len(acknowledged) >= stop_after
    with Store(url, tmp_path) as store:
        assert_all_there(store, acknowledged)
        changes = store.changes_since(0)
        assert [c.n for c in changes] == list(range(1, len(changes) + 1))
        assert len(acknowledged) <= len(changes) <= len(acknowledged) + 1
        # ... and it can be written to at once.
        job = acknowledged[0]["job"]
        store.save_rig(job, "planned", "after", store.rig_text(job, "planned").number)
        assert Counter(r.number for r in store.history(job, "planned", 999)).most_common(1)[0][1] == 1


def test_a_database_server_that_falls_loses_no_acknowledged_write(server: Server, tmp_path: Path) -> None:
    server.fall()
    server.start(sync=True)
    url = server.new_database()
    store = Store(url, tmp_path)
    job = store.create_job("before the fall")
    number, texts = 0, []
    for i in range(20):
        texts.append(f"edit {i}\n" * 500)
        number = store.save_rig(job.id, "planned", texts[-1], number).number
    server.fall()
    server.start()
    # The same store goes on: it notices that its connections are dead.
    assert [r.text for r in reversed(store.history(job.id, "planned"))] == texts
    store.save_rig(job.id, "planned", "after", number)
    store.close()
