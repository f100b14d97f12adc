"""Changes of a job as they happen, for every open page of it."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import StreamingResponse

from loomwright.jobs.store import Store
from loomwright.web.view import bench_of

router = APIRouter()
LOOK_S = 0.3
BEAT_S = 15.0


@router.get("/jobs/{job_id}/events", tags=["data"], response_class=StreamingResponse)
async def events(request: Request, job_id: str, since: int = 0) -> StreamingResponse:
    """Server-sent events: one ``changed`` with the number of the change, whenever the job has changed."""
    store = bench_of(request).store
    start = max(since, 0) or await run_in_threadpool(store.revision, job_id)
    await run_in_threadpool(store.job, job_id)
    return StreamingResponse(
        changes(store, job_id, start, request.is_disconnected), media_type="text/event-stream",
        headers={"cache-control": "no-store", "x-accel-buffering": "no"},
    )  # fmt: skip


async def changes(store: Store, job_id: str, since: int, gone: Callable[[], Awaitable[bool]]) -> AsyncIterator[str]:
    """The stream: first how long to wait before asking again, then changes, and a beat while nothing happens."""
    yield f"retry: 1000\nid: {since}\n\n"
    quiet_s = 0.0
    while not await gone():
        now = await run_in_threadpool(store.revision, job_id)
        if now > since:
            since = now
            quiet_s = 0.0
            yield f"id: {now}\nevent: changed\ndata: {now}\n\n"
        elif quiet_s >= BEAT_S:
            quiet_s = 0.0
            yield ": still here\n\n"
        await asyncio.sleep(LOOK_S)
        quiet_s += LOOK_S
