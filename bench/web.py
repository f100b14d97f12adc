"""The bench in the browser: what a first look weighs, how soon an edit shows everywhere, and a full shop."""

from __future__ import annotations

import statistics
import tempfile
import time
from pathlib import Path

import httpx2

from bench._shop import PAGE, Bench, lost, serving, work
from bench.rows import Row, at_most

EDITS = 40
RELOADS = 15
LOOKS = 15
CREW = 20
FOR_S = 60.0
PAUSE_S = 1.0
VIEWS = ("rig?wait=1", "power?wait=1", "faults?wait=1", "findings?wait=1", "compare?wait=1")
PAGES = ("survey", "rig", "rig?wire=P2", "findings?n=1", "faults", "faults?where=P2", "power", "compare", "papers",
         "sound", "sound/joining", "sound/switching", "loom", "loom?wire=P2")  # fmt: skip
HANDLES = ("kind=high-pass&alignment=LR2", "kind=high-pass&alignment=LR4&series=E24",
           "kind=low-pass&alignment=BW4", "kind=band-pass&alignment=LR2")  # fmt: skip


def rows() -> list[Row]:
    """Everything on the planned trike, on SQLite, through the real server in a process of its own."""
    from loomwright import demo

    texts = {"as found": demo.text("carnival_trike_as_found"), "planned": demo.text("carnival_trike_planned")}
    with tempfile.TemporaryDirectory(prefix="loomwright-") as folder, serving(Path(folder)) as bench:
        rig = f"{bench.job(texts)}/planned"
        looks = [*first_look(bench, rig), *pages(bench, rig), *handle(bench, rig), board_move(bench, rig)]
        return [*looks, edits(bench, rig), *technicians(bench, texts["planned"])]


def p95(times: list[float]) -> float:
    """The 95th percentile."""
    return statistics.quantiles(times, n=100, method="inclusive")[94]


def first_look(bench: Bench, rig: str) -> list[Row]:
    """Bytes over the wire of a first page, and how soon a known page is there again, in Chromium."""
    from playwright.sync_api import sync_playwright

    flags = ["--headless", "--no-sandbox", "--disable-gpu"]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=flags)
        page = browser.new_context(viewport={"width": 1440, "height": 900}).new_page()
        page.set_default_timeout(120_000)
        sizes: list[int] = []
        page.on(
            "requestfinished", lambda r: sizes.append(r.sizes()["responseBodySize"] + r.sizes()["responseHeadersSize"])
        )
        page.goto(f"{bench.url}{rig}/rig?wait=1")
        page.wait_for_timeout(1000)
        weight = sum(sizes)
        times = []
        for _ in range(RELOADS):
            page.reload()
            page.wait_for_function("performance.getEntriesByType('navigation')[0].loadEventEnd > 0")
            times.append(float(page.evaluate("performance.getEntriesByType('navigation')[0].loadEventEnd")))
        browser.close()
    return [
        at_most("first page of the planned trike, cold cache, over the wire", weight / 1000, "kB", 250),
        at_most("warm reload of it in Chromium, to the load event, median", statistics.median(times), "ms", 200),
    ]


def pages(bench: Bench, rig: str) -> list[Row]:
    """Each page with the study ready: the slowest one's median."""
    slowest = (0.0, "")
    with httpx2.Client(base_url=bench.url, headers=PAGE, timeout=120.0) as client:
        for name in PAGES:
            url = f"{rig}/{name}"
            client.get(url + ("&" if "?" in name else "?") + "wait=1")
            times = []
            for _ in range(LOOKS):
                begun = time.perf_counter()
                answer = client.get(url)
                times.append(time.perf_counter() - begun)
                if answer.status_code != 200 or "data-pending" in answer.text:
                    raise RuntimeError(f"{name} was not ready")
            slowest = max(slowest, (statistics.median(times) * 1000, name.partition("?")[0]))
    return [at_most(f"slowest page with the study ready ({slowest[1]}), median", slowest[0], "ms", 10)]


def handle(bench: Bench, rig: str) -> list[Row]:
    """A handle on a crossover's curve moved to a new place each time: the slowest kind's median."""
    slowest = (0.0, "")
    with httpx2.Client(base_url=bench.url, headers=PAGE, timeout=120.0) as client:
        for kind in HANDLES:
            times = []
            for n in range(LOOKS):
                url = f"{rig}/sound/crossover?driver=front_left&{kind}&high_pass_hz={200 + n}&low_pass_hz={3000 + n}"
                begun = time.perf_counter()
                answer = client.get(url)
                times.append(time.perf_counter() - begun)
                if answer.status_code != 200 or "data-pending" in answer.text:
                    raise RuntimeError(f"{kind} was not ready")
            slowest = max(slowest, (statistics.median(times) * 1000, kind))
    return [at_most(f"a crossover's handle moved, slowest kind ({slowest[1]}), median", slowest[0], "ms", 30)]


def board_move(bench: Bench, rig: str) -> Row:
    """An item of the panel held over a new spot each time: what the rules and the cost say of it."""
    times = []
    with httpx2.Client(base_url=bench.url, headers=PAGE, timeout=120.0) as client:
        client.get(f"{rig}/panel?wait=1")
        for n in range(EDITS):
            begun = time.perf_counter()
            answer = client.get(f"{rig}/panel/try?panel=deck&item=processor&x={40 + 7 * n}&y={60 + 5 * n}&turn=90")
            times.append((time.perf_counter() - begun) * 1000)
            if answer.status_code != 200:
                raise RuntimeError("a move was not judged")
    return at_most("an item moved on the panel, rules and cost said, p95", p95(times), "ms", 100)


def edits(bench: Bench, rig: str) -> Row:
    """A wire's length changed, then every view of the job anew, one after the other."""
    times = []
    with httpx2.Client(base_url=bench.url, headers=PAGE, timeout=120.0) as client:
        page = client.get(f"{rig}/rig").text
        token = page.split('name="write-token" content="')[1].split('"')[0]
        for n in range(EDITS + 1):
            form = {"write_token": token, "based_on": str(n + 1), "wire": "P2", "size": "8 AWG",
                    "length_mm": str(400 + n)}  # fmt: skip
            begun = time.perf_counter()
            answer = client.post(f"{rig}/wire", data=form, follow_redirects=False)
            if answer.status_code != 303:
                raise RuntimeError(f"the edit was answered with {answer.status_code}")
            for view in VIEWS:
                if client.get(f"{rig}/{view}").status_code != 200:
                    raise RuntimeError(f"{view} did not come")
            times.append((time.perf_counter() - begun) * 1000)
    return at_most("edit of a wire in the planned trike to all views updated, p95", p95(times[1:]), "ms", 100)


def technicians(bench: Bench, text: str) -> list[Row]:
    """Twenty technicians who each edit about once a second; every answer counts, pages and saves."""
    crew = work(bench, text, CREW, for_s=FOR_S, pause_s=PAUSE_S)
    saves = [s * 1000 for t in crew for s in t.save_s]
    looks = [s * 1000 for t in crew for s in t.page_s]
    minutes = FOR_S / 60.0
    return [
        at_most(f"{CREW} technicians, {len(saves) / minutes:.0f} edits a minute: p95 of a save", p95(saves), "ms", 250),
        at_most(f"{CREW} technicians: p95 of every answer", p95(saves + looks), "ms", 250),
        at_most(f"{CREW} technicians: errors", sum(len(t.wrong) for t in crew), "errors", 0),
        at_most(f"{CREW} technicians: jobs with a lost edit", len(lost(bench, crew)), "jobs", 0),
    ]
