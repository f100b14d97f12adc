"""How a server is set up: where its data lie, who may reach it, and the secret that its tokens are made with."""

from __future__ import annotations

import os
import secrets
from dataclasses import dataclass
from pathlib import Path

LOOPBACK_NAMES = ("localhost", "127.0.0.1", "[::1]")
_SECRET_FILE = "server.key"


@dataclass(frozen=True)
class Config:
    """One server.

    ``hosts`` are the names that a browser may use for it, without the port; ``lan`` is True where others than this
    machine may ask, after pairing.
    """

    store_url: str
    secret: bytes
    hosts: tuple[str, ...] = LOOPBACK_NAMES
    lan: bool = False


def secret_of(folder: Path) -> bytes:
    """The server's secret, made once and kept beside the jobs, so that a restart leaves open pages usable."""
    path = folder / _SECRET_FILE
    try:
        kept = path.read_bytes()
        if len(kept) >= 32:
            return kept
    except FileNotFoundError:
        pass
    made = secrets.token_bytes(32)
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(made)
    return made
