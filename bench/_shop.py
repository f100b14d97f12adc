"""A shop at work: the program itself as a server, and technicians who ask it over HTTP as their browsers would.

Each has a cookie and a write token of their own, opens the sheet of a wire, changes its length, saves, and looks at
what the server shows next. What was acknowledged is looked for in the store afterwards.
"""

from __future__ import annotations

import http.client
import os
import random
import re
import socket
import subprocess
import sys
import threading
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import httpx2

from loomwright.jobs.store import Store, url_in
from loomwright.rig.file import parse

PAGE = {"accept": "text/html"}
_TOKEN = re.compile(r'<meta name="write-token" content="(\w+)">')
_BASED_ON = re.compile(r'name="based_on" value="(\d+)"')
_WIRE = "P2"


@dataclass
class Bench:
    """A running server."""

    folder: Path
    port: int
    pid: int

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def job(self, texts: dict[str, str], title: str = "A job") -> str:
        """A new job with a rig in each stage given; the path of its pages."""
        with Store(url_in(self.folder)) as store:
            job = store.create_job(title)
            for stage, text in texts.items():
                store.save_rig(job.id, stage, text, 0)
        return f"/jobs/{job.id}"


@contextmanager
def serving(folder: Path) -> Iterator[Bench]:
    """The program as a user starts it, on a store of its own."""
    with socket.create_server(("127.0.0.1", 0)) as probe:
        port: int = probe.getsockname()[1]
    command = [sys.executable, "-m", "loomwright.cli.main", "serve", "--data", str(folder), "--port", str(port)]
    path = os.pathsep.join(p for p in sys.path if p)
    process = subprocess.Popen(command, env={**os.environ, "PYTHONPATH": path}, stdout=subprocess.DEVNULL)
    try:
        for _ in range(600):
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{port}/static/now/look.css", timeout=5).close()
                break
            except OSError:
                time.sleep(0.1)
        else:
            raise RuntimeError("the server did not start")
        yield Bench(folder, port, process.pid)
    finally:
        process.terminate()
        process.wait()


@dataclass
class Technician:
    """One technician with a job: what was acknowledged, how long each answer took [s], and what went wrong."""

    base: str
    rig: str
    seed: int
    saved_mm: list[int] = field(default_factory=list)
    save_s: list[float] = field(default_factory=list)
    page_s: list[float] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)

    def work(self, until_s: float, most_edits: int, pause_s: float) -> None:
        """Edit until the clock says so or so many edits are done, with pauses of about ``pause_s`` between them."""
        rng = random.Random(self.seed)
        try:
            with httpx2.Client(base_url=self.base, headers=PAGE, timeout=60.0) as client, self._follow():
                while time.monotonic() < until_s and len(self.saved_mm) < most_edits and not self.wrong:
                    self._edit(client, 200 + self.seed * 10_000 % 7000 + len(self.saved_mm))
                    time.sleep(rng.uniform(0.0, 2.0 * pause_s))
        except Exception as error:  # said in the result: a thread has nobody to raise it to
            self.wrong.append(f"{type(error).__name__}: {error}")

    def _edit(self, client: httpx2.Client, length_mm: int) -> None:
        page = self._look(client, f"{self.rig}?wire={_WIRE}")
        token, based_on = _TOKEN.search(page), _BASED_ON.search(page)
        if token is None or based_on is None:
            self.wrong.append("a page without a form")
            return
        form = {
            "write_token": token[1], "based_on": based_on[1], "wire": _WIRE, "size": "8 AWG",
            "length_mm": str(length_mm),
        }  # fmt: skip
        begun = time.perf_counter()
        answer = client.post(f"{self.rig.removesuffix('/rig')}/wire", data=form, follow_redirects=False)
        self.save_s.append(time.perf_counter() - begun)
        if answer.status_code != 303:
            self.wrong.append(f"{answer.status_code} to a save")
            return
        self.saved_mm.append(length_mm)
        shown = self._look(client, answer.headers["location"])
        if f'value="{length_mm}"' not in shown:
            self.wrong.append("a page that does not show what was saved")

    def _look(self, client: httpx2.Client, path: str) -> str:
        begun = time.perf_counter()
        answer = client.get(path)
        text = answer.text
        self.page_s.append(time.perf_counter() - begun)
        if answer.status_code != 200:
            self.wrong.append(f"{answer.status_code} from {path.partition('?')[0].rpartition('/')[2]}")
        return text

    @contextmanager
    def _follow(self) -> Iterator[None]:
        """The stream of events that an open page keeps."""
        host = self.base.removeprefix("http://")
        stream = http.client.HTTPConnection(host, timeout=60)
        stream.request("GET", f"/jobs/{self.rig.split('/')[2]}/events")
        try:
            yield
        finally:
            stream.close()


def work(
    bench: Bench, text: str, count: int, for_s: float = 1e9, most_edits: int = 10**9, pause_s: float = 0.0
) -> list[Technician]:
    """So many technicians at once, each in a job of their own."""
    crew = [Technician(bench.url, f"{bench.job({'planned': text}, f'Job {n}')}/planned/rig", n) for n in range(count)]
    until_s = time.monotonic() + for_s
    threads = [threading.Thread(target=t.work, args=(until_s, most_edits, pause_s)) for t in crew]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return crew


def lost(bench: Bench, crew: list[Technician]) -> list[str]:
    """Acknowledged edits that the store does not have, in the order they were made."""
    missing = []
    with Store(url_in(bench.folder)) as store:
        for t in crew:
            job = t.rig.split("/")[2]
            texts = [r.text for r in reversed(store.history(job, "planned", 10**6))][1:]
            kept = [parse(text, "planned").wire(_WIRE).length_mm for text in texts]
            if kept != t.saved_mm:
                missing.append(f"{t.rig}: {len(t.saved_mm)} acknowledged, {len(kept)} kept")
    return missing
