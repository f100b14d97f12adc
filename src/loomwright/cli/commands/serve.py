"""``serve``: the bench in the browser."""

from __future__ import annotations

import contextlib
import gc
import socket
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from loomwright.errors import InputError, Problem

if TYPE_CHECKING:
    from loomwright.web.service import Bench

NAME = "serve"
PORT = 8712
GRACE_S = 2
_NOWHERE = ("192.0.2.1", 9)  # an address of documents (RFC 5737): asking for the way there sends nothing

Rig = Annotated[
    Path | None, typer.Argument(metavar="[RIG]", help="Rig file to open as a job.", show_default=False)
]
Data = Annotated[
    Path | None,
    typer.Option("--data", metavar="DIR", help="Folder of the jobs. Left out: the shop's own.", show_default=False),
]
Port = Annotated[
    int | None,
    typer.Option("--port", min=1, max=65535, help=f"Port to listen at. Left out: {PORT}, or a free one.",
                 show_default=False),
]  # fmt: skip
Sample = Annotated[
    str | None,
    typer.Option("--sample", metavar="NAME", help="Open an invented vehicle: carnival_trike, harvest_buggy or "
                 "canal_launch.", show_default=False),
]  # fmt: skip
Lan = Annotated[bool, typer.Option("--lan", help="Let phones on this network pair, by a code shown here.")]


def command(
    rig: Rig = None, data: Data = None, port: Port = None, sample: Sample = None, lan: Lan = False
) -> int:
    """The bench in the browser: jobs, rig, findings, faults, power, papers.

    Listens on this machine alone, unless --lan is given. Stop it with Ctrl+C; nothing is lost.
    """
    import uvicorn

    from loomwright.cli import service
    from loomwright.jobs.store import default_folder, default_url, url_in
    from loomwright.web.app import create_app
    from loomwright.web.config import LOOPBACK_NAMES, Config, secret_of

    if rig is not None:
        service.open_study(rig)  # says what is wrong with the file before anything is served
    folder = data.expanduser() if data is not None else default_folder()
    folder.mkdir(parents=True, exist_ok=True)
    url = url_in(folder) if data is not None else default_url()
    names = own_names() if lan else ()
    config = Config(url, secret_of(folder), (*LOOPBACK_NAMES, *names), lan)
    listener = listen("0.0.0.0" if lan else "127.0.0.1", port)
    app = create_app(config)
    bench: Bench = app.state.bench
    path = "/jobs"
    if rig is not None:
        path = bench.open_file(rig.read_text(encoding="utf-8"))
    elif sample is not None:
        path = bench.open_sample(sample)
    port_used = listener.getsockname()[1]
    _say(f"Loomwright is at http://127.0.0.1:{port_used}{path}")
    if lan:
        base = f"http://{names[0] if names else '127.0.0.1'}:{port_used}"
        bench.paired = lambda: invite(base, bench.pairing.token)
        invite(base, bench.pairing.token)
    _say("Stop it with Ctrl+C.")
    server = uvicorn.Server(
        uvicorn.Config(
            app, log_level="warning", access_log=False, proxy_headers=False, server_header=False, date_header=False,
            timeout_graceful_shutdown=GRACE_S,
        )
    )  # fmt: skip
    gc.set_threshold(50_000, 20, 20)  # this process goes on for days, unlike those that give one answer
    gc.freeze()
    server.run(sockets=[listener])
    return 0


def listen(host: str, port: int | None) -> socket.socket:
    """A listening socket. Raises InputError where the port is taken."""
    try:
        return _at_once(socket.create_server((host, PORT if port is None else port)))
    except OSError as error:
        if port is None:
            return _at_once(socket.create_server((host, 0)))
        raise InputError(
            [Problem("command line", "--port", "a port that is free", f"{port} ({error.strerror})",
                     "Leave --port out, or choose another.")]
        ) from None  # fmt: skip


def _at_once(listener: socket.socket) -> socket.socket:
    """The same listener, whose connections send an answer's last piece without waiting for word of the first.

    They inherit the option; the event loop sets it only on sockets that it has made itself.
    """
    listener.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    return listener


def own_names() -> tuple[str, ...]:
    """What a phone on the network may call this machine: its address first, then its name."""
    found: list[str] = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(_NOWHERE)
            found.append(probe.getsockname()[0])
        except OSError:
            pass
    name = socket.gethostname().lower()
    return tuple(dict.fromkeys([*found, name, f"{name}.local"]))


def invite(base: str, code: str) -> None:
    """The address for a phone, as squares to scan and in letters."""
    import segno

    address = f"{base}/pair?code={code}"
    _say("\nFor one phone or tablet: scan this, or open the address. The code works once; a new one follows.")
    with contextlib.suppress(UnicodeEncodeError):  # a terminal without blocks: the letters below do as well
        segno.make(address, error="m").terminal(out=sys.stdout, compact=True)
    _say(address)
    _say("Anybody on this network can see what is sent. Use it on the shop's own network only.\n")


def _say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()
