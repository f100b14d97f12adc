"""Changes of a job as they happen, and how its long work gets on, for every open page of it."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Awaitable, Callable
from dataclasses import asdict

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import StreamingResponse

from loomwright.web.service import Bench
from loomwright.web.view import bench_of
from loomwright.web.work.tasks import Standing

router = APIRouter()
LOOK_S = 1.0
"""How often it is seen whether anybody still listens."""
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
    quiet_s = 0.0
    told: dict[str, Standing] = {}
    async with bench.feed.follow(job_id) as follower:
        while not await gone():
            if await follower.news(LOOK_S):
                quiet_s = 0.0
                now = bench.feed.last_change(job_id)
                if now > since:
                    since = now
                    yield f"id: {now}\nevent: changed\ndata: {now}\n\n"
                standing = {s.key: s for s in bench.tasks.of(f"{job_id}/")}
                for s in standing.values():
                    if told.get(s.key) != s:
                        yield f"event: task\ndata: {json.dumps(asdict(s))}\n\n"
                told = standing
                continue
            quiet_s += LOOK_S
            if quiet_s >= BEAT_S:
                quiet_s = 0.0
                yield ": still here\n\n"
