"""The process that does long work, apart from the one that answers: a study never holds up a save.

It reads orders from its standard input and writes what becomes of them to its standard output, as pickles between
two halves of one program. It ends when the other half is gone.
"""

from __future__ import annotations

import gc
import os
import pickle
import queue
import signal
import struct
import sys
import threading
import traceback
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import import_module
from typing import IO, Any

from loomwright.errors import LoomwrightError
from loomwright.web.work.parcels import packed
from loomwright.web.work.pieces import Kept, Piece, Stage

_HEAD = struct.Struct(">Q")
YIELDS = 10
"""By so much this process stands back where others want the same core: a save goes before a study."""


@dataclass(frozen=True, slots=True)
class Order:
    """To do a piece of work."""

    number: int
    piece: Piece


@dataclass(frozen=True, slots=True)
class Stop:
    """To leave a piece at the next stage."""

    number: int


@dataclass(frozen=True, slots=True)
class Said:
    """What became of an order so far: a stage that begins, or the end.

    ``result`` is pickled; ``error`` is what the piece raised on purpose, or words about what it did not mean to raise.
    """

    number: int
    stage: Stage | None = None
    result: bytes | None = None
    error: LoomwrightError | str | None = None
    left: bool = False


def send(pipe: IO[bytes], what: object) -> None:
    """One message into a pipe."""
    data = pickle.dumps(what, pickle.HIGHEST_PROTOCOL)
    pipe.write(_HEAD.pack(len(data)) + data)
    pipe.flush()


def receive(pipe: IO[bytes]) -> Any:
    """One message out of a pipe. Raises EOFError where the other end is gone."""
    head = pipe.read(_HEAD.size)
    if len(head) < _HEAD.size:
        raise EOFError
    (length,) = _HEAD.unpack(head)
    data = pipe.read(length)
    if len(data) < length:
        raise EOFError
    return pickle.loads(data)


def main() -> None:
    """Work until the other half is gone."""
    if hasattr(os, "nice"):
        os.nice(YIELDS)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl+C is for the server, which then lets go of this process
    replies = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever a library prints must not come between the messages
    orders: queue.SimpleQueue[Order] = queue.SimpleQueue()
    stopped: set[int] = set()
    threading.Thread(target=_listen, args=(orders, stopped), daemon=True).start()
    kept = Kept()
    import_module("loomwright.findings.run")
    import_module("loomwright.web.picture")
    gc.set_threshold(50_000, 20, 20)  # it goes on for days, and what a study makes lasts as long as the study
    gc.freeze()
    while True:
        order = _following(orders, kept)
        try:
            for said in answers(order, kept, stopped):
                send(replies, said)
        except OSError:  # nobody is there to hear it
            return


def _following(orders: queue.SimpleQueue[Order], kept: Kept) -> Order:
    """The next order. Until it comes, what is likely to be asked for is made."""
    while orders.empty():
        try:
            if not kept.go_on():
                break
        except Exception:  # whoever asks for it hears of it
            traceback.print_exc()
            break
    return orders.get()


def _listen(orders: queue.SimpleQueue[Order], stopped: set[int]) -> None:
    try:
        while True:
            said = receive(sys.stdin.buffer)
            if isinstance(said, Stop):
                stopped.add(said.number)
            else:
                orders.put(said)
    except (EOFError, OSError):
        os._exit(0)


def answers(order: Order, kept: Kept, stopped: set[int]) -> Iterator[Said]:
    """What is said of an order, in turn: its stages, then its end."""
    stages = order.piece.stages(kept)
    try:
        while True:
            if order.number in stopped:
                yield Said(order.number, left=True)
                return
            try:
                stage = next(stages)
            except StopIteration as end:
                yield Said(order.number, result=packed(end.value))
                return
            yield Said(order.number, stage=stage)
    except LoomwrightError as error:
        yield Said(order.number, error=_sendable(error))
    except Exception as error:
        traceback.print_exc()
        yield Said(order.number, error=f"{type(error).__name__}: {error}"[:500])
    finally:
        stopped.discard(order.number)


def _sendable(error: LoomwrightError) -> LoomwrightError | str:
    try:
        pickle.loads(pickle.dumps(error))
    except Exception:  # an error whose parts cannot be put together again is said in words
        return str(error)
    return error
