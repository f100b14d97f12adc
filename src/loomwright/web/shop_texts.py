"""What every page asks of the shop, its settings and its catalogue, read from the store now and then only."""

from __future__ import annotations

import time

from loomwright.jobs.model import Settings
from loomwright.jobs.shop import ShopKey, read_settings
from loomwright.jobs.store import Store

LOOK_S = 2.0
"""How old a text may be that another process has changed meanwhile; this one's own changes are heard at once."""


class ShopTexts:
    """The shop's texts as this server last saw them."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._known: dict[ShopKey, tuple[float, str]] = {}
        self._changes = 0
        self._end = store.listen(self._hear)

    def _hear(self, number: int, job_id: str) -> None:
        if not job_id:
            self._changes += 1
            self._known = {}

    def text(self, key: ShopKey) -> str:
        """The text as it stands; empty where there is none. Raises StoreError."""
        now_s = time.monotonic()
        known = self._known.get(key)
        if known is not None and now_s - known[0] < LOOK_S:
            return known[1]
        seen = self._changes
        text = self._store.shop_text(key).text
        if seen == self._changes:
            self._known[key] = (now_s, text)
        return text

    def settings(self) -> Settings:
        """The settings, without their number. Raises StoreError."""
        return read_settings(self.text("settings"))

    def close(self) -> None:
        """Listen no more."""
        self._end()
