"""Long work off the request path: a worker, a queue, progress for whoever looks, and a way to stop it. What takes
minutes has a worker of its own, which is there only while it has something to do.

A task is named by its content: whoever asks for the same gets the same. It waits for its turn, is done in stages, and
is kept for a while when it is done. Work for a text that a newer edit has replaced is dropped, unless somebody has
asked for it by name or waits for it.
"""

from __future__ import annotations

import pickle
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Literal

from loomwright.errors import LoomwrightError
from loomwright.web.work.advising import Chanced, Helped, Suited
from loomwright.web.work.hand import Hand
from loomwright.web.work.looms import Cutting, Drawings, Harness
from loomwright.web.work.pieces import Drawn, Piece, Stage, Studied, key_of
from loomwright.web.work.placing import Placing
from loomwright.web.work.worker import Order, Stop

State = Literal["queued", "running", "done", "failed", "stopped"]
AHEAD = (Studied, Drawn, Harness, Cutting, Drawings, Helped, Suited, Chanced)
"""Work that pages begin by themselves, and that is of no use for an older text."""
SLOW: tuple[type, ...] = (Placing,)
"""Work that would hold up the rest."""
KEPT = 64
"""Tasks that are kept when they are over."""
GRACE_S = 3.0
"""How long a stage may go on when its task was stopped; then its process is ended."""


class WorkStopped(LoomwrightError, RuntimeError):
    """Somebody stopped the work before it was done."""


class WorkFailed(LoomwrightError, RuntimeError):
    """The work could not be done, for a reason that is the program's own."""


@dataclass(frozen=True, slots=True)
class Standing:
    """How a task stands: ``done`` of ``total`` stages lie behind it, ``stage`` says what is being done."""

    key: str
    title: str
    state: State
    stage: str
    done: int
    total: int

    @property
    def live(self) -> bool:
        """True while it waits for its turn or is being done."""
        return self.state in ("queued", "running")


@dataclass(eq=False, slots=True)
class Task:
    """One task. Its owner is :class:`Tasks`; others look at :attr:`standing`."""

    key: str
    piece: Piece
    wanted_by: set[str] = field(default_factory=set)
    asked: bool = False
    waiting: int = 0
    state: State = "queued"
    stage: Stage | None = None
    finished: threading.Event = field(default_factory=threading.Event)
    _pickled: bytes | None = None
    _value: Any = None
    _error: LoomwrightError | None = None
    _opening: threading.Lock = field(default_factory=threading.Lock)

    @property
    def standing(self) -> Standing:
        """How it stands now."""
        stage = self.stage or Stage("", 0, 0)
        return Standing(self.key, self.piece.title, self.state, stage.words, stage.done, stage.total)

    @property
    def live(self) -> bool:
        """True while it waits for its turn or is being done."""
        return self.state in ("queued", "running")

    @property
    def error(self) -> LoomwrightError | None:
        """Why nothing came of it; None where something did, or it is not over."""
        return self._error

    def value(self) -> Any:
        """What came of it, once it is finished.

        Raises
        ------
        WorkStopped, WorkFailed, LoomwrightError
            Where nothing came of it: somebody stopped it, or what the work itself raised.
        """
        with self._opening:
            if self._error is not None:
                raise self._error
            if self._pickled is not None:
                self._value, self._pickled = pickle.loads(self._pickled), None
            return self._value

    def end(self, state: State, result: bytes | None = None, error: LoomwrightError | None = None) -> None:
        """Close it; whoever waits for it goes on."""
        self.state, self._pickled, self._error = state, result, error
        self.finished.set()


class Tasks:
    """The tasks of one server. Those in ``slow`` have a queue and a worker beside the others."""

    def __init__(self, kept: int = KEPT, grace_s: float = GRACE_S, slow: tuple[type, ...] = SLOW) -> None:
        self._kept = kept
        self._grace_s = grace_s
        self._tasks: OrderedDict[str, Task] = OrderedDict()
        self._queue: list[Task] = []
        self._change = threading.Condition()
        self._foreman: threading.Thread | None = None
        self._hand: Hand | None = None
        self._at_work: Task | None = None
        self._number = 0
        self._closed = False
        self._listeners: list[Callable[[str], None]] = []
        self._slow = slow
        self._beside = Tasks(kept, grace_s, ()) if slow else None
        if self._beside is not None:
            self._beside._listeners = self._listeners

    def ask(self, piece: Piece, by: str = "", *, asked: bool = False, again: bool = False) -> Task:
        """The task for a piece of work, put into the queue where there is none.

        ``by`` is the rig whose pages want it. ``asked`` says that somebody asked for it by name: a newer edit does not
        drop it, and it goes before work that nobody waits for. Of the rest the one asked for last goes first: pages
        that are looked at ask again. ``again`` puts in anew what was stopped or failed.
        """
        if self._beside is not None and isinstance(piece, self._slow):
            return self._beside.ask(piece, by, asked=asked, again=again)
        key = key_of(piece)
        with self._change:
            task, fresh = self._tasks.get(key), False
            if task is None or (again and task.state in ("failed", "stopped")):
                task = self._tasks[key] = Task(key, piece)
                if self._closed:
                    task.end("stopped", error=WorkStopped("The server is closing. Ask again when it runs."))
                else:
                    self._queue.append(task)
                    self._begin()
                fresh = True
            elif task.state == "queued":
                self._queue.remove(task)
                self._queue.append(task)
            if by:
                fresh = fresh or by not in task.wanted_by
                task.wanted_by.add(by)
            if fresh:
                self._tell(task)
            task.asked = task.asked or asked
            self._tasks.move_to_end(key)
            self._trim()
            return task

    def wait(self, task: Task) -> Any:
        """What comes of a task, when it is finished. Errors as :meth:`Task.value`."""
        if self._beside is not None and isinstance(task.piece, self._slow):
            return self._beside.wait(task)
        with self._change:
            task.waiting += 1
        try:
            task.finished.wait()
        finally:
            with self._change:
                task.waiting -= 1
        return task.value()

    def find(self, key: str) -> Task | None:
        """The task of a name; None where there is none any more."""
        with self._change:
            found = self._tasks.get(key)
        return self._beside.find(key) if found is None and self._beside is not None else found

    def of(self, by: str) -> tuple[Standing, ...]:
        """How the tasks stand that pages whose names begin with ``by`` want, oldest first."""
        with self._change:
            mine = tuple(t.standing for t in self._tasks.values() if any(w.startswith(by) for w in t.wanted_by))
        return mine + self._beside.of(by) if self._beside is not None else mine

    def stop(self, key: str) -> Task | None:
        """Stop a task: it leaves the queue, or the worker leaves it. None where there is none."""
        with self._change:
            task = self._tasks.get(key)
            if task is not None and task.live:
                self._leave(task)
        return self._beside.stop(key) if task is None and self._beside is not None else task

    def replaced(self, by: str, text: str) -> None:
        """A rig has a new text: drop what was begun ahead for its older ones, where nobody else wants it."""
        with self._change:
            for task in list(self._tasks.values()):
                piece = task.piece
                if not isinstance(piece, AHEAD) or piece.text == text or by not in task.wanted_by:
                    continue
                task.wanted_by.discard(by)
                if task.live and not (task.wanted_by or task.asked or task.waiting):
                    self._leave(task)
                    del self._tasks[task.key]

    def warm(self) -> None:
        """Begin the worker now, so that the first task need not wait for it."""
        with self._change:
            self._begin()

    def close(self) -> None:
        """Drop everything and end the workers."""
        if self._beside is not None:
            self._beside.close()
        with self._change:
            self._closed = True
            for task in self._tasks.values():
                if task.live:
                    self._leave(task)
            foreman, hand = self._foreman, self._hand
            self._change.notify_all()
            if hand is not None:
                hand.wake()
        if foreman is not None:
            foreman.join()

    def _begin(self) -> None:
        if self._foreman is None and not self._closed:
            self._foreman = threading.Thread(target=self._run, name="tasks", daemon=True)
            self._foreman.start()
        self._change.notify_all()

    def listen(self, heard: Callable[[str], None]) -> Callable[[], None]:
        """Call ``heard`` with whoever wants a task whenever something happens to it. Returns what ends the listening.

        It should only pass the name on.
        """
        self._listeners.append(heard)
        return lambda: self._listeners.remove(heard) if heard in self._listeners else None

    def _tell(self, task: Task) -> None:
        for heard in tuple(self._listeners):
            for by in task.wanted_by:
                heard(by)

    def _leave(self, task: Task) -> None:
        if task.state == "queued":
            self._queue.remove(task)
        task.end("stopped", error=WorkStopped(f"{task.piece.title}: stopped before it was done. Ask for it again."))
        if task is self._at_work and self._hand is not None:
            self._hand.tell(Stop(self._number))
            self._hand.wake()
        self._tell(task)

    def _trim(self) -> None:
        over = [k for k, t in self._tasks.items() if not t.live]
        for key in over[: max(0, len(over) - self._kept)]:
            del self._tasks[key]

    def _next(self) -> Task | None:
        """The task to do next: first what somebody waits for, then what was looked at last. None when all is over."""
        with self._change:
            self._at_work = None
            while not self._queue and not self._closed:
                self._change.wait()
            if self._closed:
                return None
            task = next((t for t in self._queue if t.asked or t.waiting), self._queue[-1])
            self._queue.remove(task)
            task.state = "running"
            self._at_work = task
            self._number += 1
            self._tell(task)
            return task

    def _run(self) -> None:
        if self._beside is not None:
            self._ready_hand()
        while (task := self._next()) is not None:
            hand = self._ready_hand()
            if hand is None:
                why = "no process could be begun for it. Close other programs, and ask again."
                self._close(task, "failed", error=WorkFailed(f"{task.piece.title}: {why}"))
            else:
                self._do(task, hand)
            if self._beside is None and self._hand is not None and not self._queue:
                self._hand.end()  # it would hold its memory for nothing
                self._hand = None
        if self._hand is not None:
            self._hand.end()

    def _ready_hand(self) -> Hand | None:
        if self._hand is not None and self._hand.gone:
            self._hand.end()
            self._hand = None
        if self._hand is None:
            try:
                self._hand = Hand()
            except OSError:
                return None
        return self._hand

    def _do(self, task: Task, hand: Hand) -> None:
        number = self._number
        hand.tell(Order(number, task.piece))
        until_s: float | None = None
        while True:
            said = hand.hear(None if until_s is None else max(0.0, until_s - time.monotonic()))
            if said is None or said.number != number:
                if hand.gone:
                    lost = "The worker process ended while it was at it. Ask again; if it ends again, report it."
                    self._close(task, "failed", error=WorkFailed(f"{task.piece.title}: {lost}"))
                    return
                if task.live:
                    continue
                if until_s is None:
                    until_s = time.monotonic() + (0.0 if self._closed else self._grace_s)
                elif time.monotonic() >= until_s:
                    hand.end()
                    self._hand = None
                    return
            elif said.stage is not None:
                with self._change:
                    task.stage = said.stage
                    self._tell(task)
            else:
                error = said.error
                if isinstance(error, str):
                    error = WorkFailed(f"{task.piece.title}: {error}. It is a fault of the program: report it.")
                self._close(task, "done" if error is None else "failed", said.result, error)
                return

    def _close(
        self, task: Task, state: State, result: bytes | None = None, error: LoomwrightError | None = None
    ) -> None:
        with self._change:
            if task.live:
                task.end(state, result, error)
                if task.stage is not None:
                    task.stage = Stage("", task.stage.total if state == "done" else task.stage.done, task.stage.total)
                self._tell(task)
