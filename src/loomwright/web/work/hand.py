"""This end of the process that does long work: begin it, order, hear, end it."""

from __future__ import annotations

import contextlib
import os
import queue
import subprocess
import sys
import threading

from loomwright.web.work.worker import Order, Said, Stop, receive, send

_ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")  # small matrices, as on the command line
_PIPE_BYTES = 1 << 20
"""A study goes through the pipe at one go, where the system lets a pipe hold so much."""
_RUN = "from loomwright.web.work.worker import main; main()"


class Hand:
    """One worker process. What it says is heard on a thread, so that whoever waits for it can be woken."""

    def __init__(self) -> None:
        path = os.pathsep.join(p for p in sys.path if p)
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-c", _RUN], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            env={**dict.fromkeys(_ONE_THREAD, "1"), **os.environ, "PYTHONPATH": path},
        )  # fmt: skip
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._in, self._out = self._process.stdin, self._process.stdout
        _widen(self._out.fileno())
        self._sending = threading.Lock()
        self._heard: queue.SimpleQueue[Said | None] = queue.SimpleQueue()
        self._ear = threading.Thread(target=self._listen, name="hand", daemon=True)
        self._ear.start()
        self.gone = False

    @property
    def pid(self) -> int:
        """The number of the process."""
        return self._process.pid

    def tell(self, what: Order | Stop) -> None:
        """Send an order, or a wish to stop one. That the process is gone shows in :meth:`hear`."""
        try:
            with self._sending:
                send(self._in, what)
        except (OSError, ValueError):
            return

    def hear(self, wait_s: float | None = None) -> Said | None:
        """What it says next; None where it is gone (``gone`` is True), was woken, or says nothing in ``wait_s``."""
        try:
            return self._heard.get(timeout=wait_s)
        except queue.Empty:
            return None

    def wake(self) -> None:
        """Let :meth:`hear` return now."""
        self._heard.put(None)

    def end(self) -> None:
        """End the process, whatever it is doing."""
        self._process.kill()
        self._process.wait()
        self._ear.join()
        self._out.close()
        try:
            self._in.close()
        except OSError:  # what was still to be sent has nobody to go to
            return

    def _listen(self) -> None:
        try:
            while True:
                self._heard.put(receive(self._out))
        except (EOFError, OSError, ValueError):
            self.gone = True
            self._heard.put(None)


def _widen(pipe: int) -> None:
    with contextlib.suppress(ImportError, AttributeError, OSError):
        import fcntl

        fcntl.fcntl(pipe, fcntl.F_SETPIPE_SZ, _PIPE_BYTES)
