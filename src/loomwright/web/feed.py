"""One watch over the store and the work for all open pages: who follows a job asks here, not the database."""

from __future__ import annotations

import asyncio
import contextlib
import time
from collections.abc import AsyncIterator

from fastapi.concurrency import run_in_threadpool

from loomwright.jobs.errors import StoreError
from loomwright.jobs.store import Store
from loomwright.web.work.tasks import Tasks

TICK_S = 0.1
"""How often pages are told of what was heard: what happens within one tick is told at once."""
LOOK_S = 0.3
"""How often the store is asked for changes that other processes made; this one's own are heard at once."""


class Follower:
    """One open page: the job that it shows, and whether something has happened to it."""

    def __init__(self, job_id: str) -> None:
        self.job_id = job_id
        self._stirred = asyncio.Event()
        self._stirred.set()

    def stir(self) -> None:
        """Something has happened."""
        self._stirred.set()

    async def news(self, within_s: float) -> bool:
        """Wait until something has happened since this was asked last; False where nothing did within the time."""
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(within_s):
                await self._stirred.wait()
        happened = self._stirred.is_set()
        self._stirred.clear()
        return happened


class Feed:
    """The number of the last change of each job since the server began, and who is to be told of what."""

    def __init__(self, store: Store, tasks: Tasks) -> None:
        self._store = store
        self._last = store.last_change()
        self._jobs: dict[str, int] = {}
        self._looked_s = float("-inf")
        self._heard = False
        self._at_work: set[str] = set()
        self._followers: set[Follower] = set()
        self._ticking: asyncio.Task[None] | None = None
        self._ends = (store.listen(self._hear), tasks.listen(self._hear_of_work))

    def _hear(self, number: int, job_id: str) -> None:
        self._heard = True

    def _hear_of_work(self, by: str) -> None:
        self._at_work.add(by)

    @contextlib.asynccontextmanager
    async def follow(self, job_id: str) -> AsyncIterator[Follower]:
        """Follow a job: the follower has news at once, and whenever something happens to the job or its work."""
        follower = Follower(job_id)
        self._followers.add(follower)
        if self._ticking is None:
            self._ticking = asyncio.create_task(self._tick())
        try:
            yield follower
        finally:
            self._followers.discard(follower)
            if not self._followers and self._ticking is not None:
                self._ticking.cancel()
                self._ticking = None

    async def _tick(self) -> None:
        while True:
            stirred = {by.partition("/")[0] for by in self._taken()}
            if self._heard or time.monotonic() - self._looked_s >= LOOK_S:
                self._heard, self._looked_s = False, time.monotonic()
                with contextlib.suppress(StoreError):  # busy: it is asked again
                    stirred |= await run_in_threadpool(self._look)
            for follower in tuple(self._followers):
                if follower.job_id in stirred or "" in stirred:
                    follower.stir()
            await asyncio.sleep(TICK_S)

    def _taken(self) -> set[str]:
        found, self._at_work = self._at_work, set()
        return found

    def last_change(self, job_id: str) -> int:
        """The number of the last change heard of that a job's pages show; 0 where there was none.

        The shop's settings and its catalogue show on the pages of every job.
        """
        return max(self._jobs.get(job_id, 0), self._jobs.get("", 0))

    def _look(self) -> set[str]:
        stirred = set()
        for change in self._store.changes_since(self._last):
            self._last = change.n
            if change.what != "stock":
                self._jobs[change.job_id] = change.n
                stirred.add(change.job_id)
        return stirred

    def close(self) -> None:
        """Listen no more."""
        for end in self._ends:
            end()
