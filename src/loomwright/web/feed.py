"""One watch over the store for all open pages: who follows a job asks here, not the database."""

from __future__ import annotations

import asyncio
import time

from fastapi.concurrency import run_in_threadpool

from loomwright.jobs.store import Store

LOOK_S = 0.3
"""How often the store is asked for changes that other processes made; this one's own are heard at once."""


class Feed:
    """The number of the last change of each job since the server began."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._last = store.last_change()
        self._jobs: dict[str, int] = {}
        self._looked_s = float("-inf")
        self._heard = False
        self._looking = asyncio.Lock()
        self._end = store.listen(self._hear)

    def _hear(self, number: int) -> None:
        self._heard = True

    async def last_change(self, job_id: str) -> int:
        """The number of the last change since then that a job's pages show; 0 where there was none.

        The shop's settings and its catalogue show on the pages of every job.
        """
        now_s = time.monotonic()
        if (self._heard or now_s - self._looked_s >= LOOK_S) and not self._looking.locked():
            async with self._looking:
                self._heard, self._looked_s = False, now_s
                await run_in_threadpool(self._look)
        return max(self._jobs.get(job_id, 0), self._jobs.get("", 0))

    def _look(self) -> None:
        for change in self._store.changes_since(self._last):
            self._last = change.n
            if change.what != "stock":
                self._jobs[change.job_id] = change.n

    def close(self) -> None:
        """Listen no more."""
        self._end()
