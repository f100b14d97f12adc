"""Sessions, write tokens and pairing: short strings signed with the server's secret, compared in constant time."""

from __future__ import annotations

import hmac
import secrets
import threading
import time
from dataclasses import dataclass, field
from hashlib import sha256

MOST_TRIES = 5
PAUSE_S = 60.0
_LONGEST = 256


def _signature(secret: bytes, purpose: str, text: str) -> str:
    return hmac.new(secret, f"{purpose}\n{text}".encode(), sha256).hexdigest()


def new_session(secret: bytes, *, paired: bool) -> str:
    """A session cookie's value: a random name, whether the browser is paired, and a signature."""
    body = f"{secrets.token_urlsafe(18)}.{'paired' if paired else 'open'}"
    return f"{body}.{_signature(secret, 'session', body)}"


def session_ok(secret: bytes, value: str) -> bool:
    """True where this server signed the cookie."""
    body, _, signature = value[:_LONGEST].rpartition(".")
    return bool(body) and hmac.compare_digest(signature.encode(), _signature(secret, "session", body).encode())


def is_paired(value: str) -> bool:
    """True where a signed session belongs to a paired browser."""
    return value.split(".")[1:2] == ["paired"]


def write_token(secret: bytes, session: str) -> str:
    """What every write of this session must carry."""
    return _signature(secret, "write", session)


def write_ok(secret: bytes, session: str, token: str) -> bool:
    """True where a write carries its session's token."""
    return hmac.compare_digest(token[:_LONGEST].encode("utf-8", "replace"), write_token(secret, session).encode())


@dataclass
class Pairing:
    """The one token that a new browser on the network shows, once; a new one follows.

    After ``MOST_TRIES`` wrong tokens nobody can pair for ``PAUSE_S`` seconds, and the token changes.
    """

    token: str = field(default_factory=lambda: secrets.token_urlsafe(18))
    _wrong: int = 0
    _until_s: float = 0.0
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def paused(self) -> bool:
        """True while too many wrong tokens have come."""
        return time.monotonic() < self._until_s

    def accept(self, offered: str) -> bool:
        """True where the token is right; it is used up by that."""
        with self._lock:
            if self.paused():
                return False
            right = hmac.compare_digest(offered[:_LONGEST].encode("utf-8", "replace"), self.token.encode())
            if right:
                self._wrong = 0
            else:
                self._wrong += 1
                if self._wrong < MOST_TRIES:
                    return False
                self._wrong = 0
                self._until_s = time.monotonic() + PAUSE_S
            self.token = secrets.token_urlsafe(18)
            return right
