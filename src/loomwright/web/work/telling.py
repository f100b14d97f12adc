"""Work that says in words what it is doing, as stages of a piece of long work."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Generator
from typing import TypeVar

from loomwright.web.work.pieces import Stage

Made = TypeVar("Made")
Say = Callable[[str], None]


class _Left(Exception):
    """Nobody waits for it any more."""


def told(work: Callable[[Say], Made], stage: Callable[[str], Stage]) -> Generator[Stage, None, Made]:
    """Work that says what it does, as stages. Where nobody asks for the next stage, it ends with its next word."""
    said: queue.SimpleQueue[str | None] = queue.SimpleQueue()
    left = threading.Event()
    made: list[Made] = []
    failed: list[BaseException] = []

    def say(words: str) -> None:
        if left.is_set():
            raise _Left
        said.put(words)

    def run() -> None:
        try:
            made.append(work(say))
        except BaseException as error:
            failed.append(error)
        finally:
            said.put(None)

    thread = threading.Thread(target=run, name="draft", daemon=True)
    thread.start()
    try:
        while (words := said.get()) is not None:
            yield stage(words)
    finally:
        left.set()
    thread.join()
    if failed:
        raise failed[0]
    return made[0]
