"""Changes of a job as they happen, and how its long work gets on, for every open page of it."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Awaitable, Callable
from dataclasses import asdict

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import StreamingResponse

from loomwright.web.service import Bench
from loomwright.web.tasks import Standing
from loomwright.web.view import bench_of

router = APIRouter()
LOOK_S = 0.1
BEAT_S = 15.0


@router.get("/jobs/{job_id}/events", tags=["data"], response_class=StreamingResponse)
async def events(request: Request, job_id: str, since: int = 0) -> StreamingResponse:
    """Server-sent events: ``changed`` with the number of a change to the job, ``task`` with how its work stands."""
    bench = bench_of(request)
    now = await run_in_threadpool(bench.store.revision, job_id)
    start = now if since <= 0 else min(since, now)
    return StreamingResponse(
        changes(bench, job_id, start, request.is_disconnected), media_type="text/event-stream",
        headers={"cache-control": "no-store", "x-accel-buffering": "no"},
    )  # fmt: skip


async def changes(bench: Bench, job_id: str, since: int, gone: Callable[[], Awaitable[bool]]) -> AsyncIterator[str]:
    """The stream: first how long to wait before asking again, then what happens, and a beat while nothing does."""
    yield f"retry: 1000\nid: {since}\n\n"
    quiet_s, news = 0.0, -1
    told: dict[str, Standing] = {}
    while not await gone():
        now = await bench.feed.last_change(job_id)
        if now > since:
            since = now
            quiet_s = 0.0
            yield f"id: {now}\nevent: changed\ndata: {now}\n\n"
        if bench.tasks.news != news:
            news = bench.tasks.news
            standing = {s.key: s for s in bench.tasks.of(f"{job_id}/")}
            for s in standing.values():
                if told.get(s.key) != s:
                    quiet_s = 0.0
                    yield f"event: task\ndata: {json.dumps(asdict(s))}\n\n"
            told = standing
        if quiet_s >= BEAT_S:
            quiet_s = 0.0
            yield ": still here\n\n"
        await asyncio.sleep(LOOK_S)
        quiet_s += LOOK_S
