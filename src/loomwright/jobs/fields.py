"""What the fields of a job may hold. Markup is data: it is kept as it came, and shown as text."""

from __future__ import annotations

import math
import re
import secrets

from loomwright.errors import InputError, Problem, UnknownName
from loomwright.jobs.model import STAGES
from loomwright.rig.words import nearest, plain

MAX_TEXT_BYTES = 5_000_000
MAX_LINE = 80
MAX_TITLE = 200
MAX_NOTE = 20_000
_LETTERS = "23456789abcdefghjkmnpqrstuvwxyz"
_ID = re.compile(f"[{_LETTERS}]{{10}}")
_NOT_TEXT = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")


def new_id() -> str:
    """A name for a new row: ten letters and digits that are not mistaken for each other."""
    return "".join(secrets.choice(_LETTERS) for _ in range(10))


def check_id(what: str, given: str) -> str:
    """The id as given. Raises UnknownName where it cannot be one."""
    if not _ID.fullmatch(given):
        raise unknown(what, given)
    return given


def unknown(what: str, given: object) -> UnknownName:
    """The error for an id that leads nowhere."""
    return UnknownName(f'no {what} "{plain(str(given), 40)}". Go back to the list and choose again.')


def check_stage(stage: str) -> str:
    """The stage as given. Raises UnknownName with the nearest one where there is none of that name."""
    if stage not in STAGES:
        near = nearest(stage[:80], STAGES)
        hint = f'Did you mean "{near}"?' if near else f"There are: {', '.join(STAGES)}."
        raise UnknownName(f'no stage "{plain(stage, 40)}". {hint}')
    return stage


def line(name: str, given: str, most: int = MAX_LINE, empty: bool = True) -> str:
    """A text on one line: every run of blanks and line ends becomes one space. Raises InputError."""
    text = " ".join(_clean(name, given).split())
    if not text and not empty:
        raise problem(name, "a few words", "nothing", "Type them in.")
    if len(text) > most:
        raise problem(name, f"at most {most} characters", f"{len(text)}", "Shorten it; put the rest into a note.")
    return text


def prose(name: str, given: str, most: int = MAX_NOTE) -> str:
    """A text of any number of lines. Raises InputError."""
    if len(given) > most:
        raise problem(name, f"at most {most} characters", f"{len(given)}", "Shorten it, or split it.")
    return _clean(name, given)


def document(name: str, given: str) -> str:
    """The text of a rig or a note. It need not be a rig that can be read: it is kept as typed. Raises InputError."""
    text = _clean(name, given)
    size = len(text.encode())
    if size > MAX_TEXT_BYTES:
        raise problem(name, f"at most {MAX_TEXT_BYTES / 1e6:.0f} MB", f"{size / 1e6:.1f} MB", "Split the vehicle.")
    return text


def number(name: str, given: float, low: float = -1e12, high: float = 1e12) -> float:
    """A finite number within bounds. Raises InputError."""
    if not math.isfinite(given) or not low <= given <= high:
        raise problem(name, f"a number from {low:g} to {high:g}", f"{given:g}", "Type it in anew.")
    return float(given)


def problem(place: str, expected: str, received: str, remedy: str, file: str = "job") -> InputError:
    """The error for one field."""
    return InputError([Problem(file, place, expected, received, remedy)])


def _clean(name: str, given: str) -> str:
    bad = _NOT_TEXT.search(given)
    if bad:
        row = given.count("\n", 0, bad.start()) + 1
        raise problem(name, "text", f"character {ord(bad[0]):#06x} in line {row}", "Take that character out.")
    return given
