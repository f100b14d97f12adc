"""Text from a file and tables from text, with the cheap checks first."""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path
from typing import Any

import tomli

from loomwright.errors import InputError, Problem
from loomwright.rig.syntax import explain
from loomwright.rig.words import plain

MAX_BYTES = 5_000_000
MAX_WIRES = 2_000
_IN_USE_CHARS = 200_000

_WIRE_HEAD = re.compile(r"^[ \t]*\[\[[ \t]*(?:wire|\"wire\"|'wire')[ \t]*\]\]", re.MULTILINE)
_INLINE_FROM = re.compile(r"[{,][ \t]*(?:from|\"from\"|'from')[ \t]*=")
_AT = re.compile(r"^(?P<what>.*) \(at (?P<where>line (?P<line>\d+), column \d+|end of document)\)$", re.DOTALL)


def read_text(path: Path) -> str:
    """The text of a TOML file, line ends as they stand, a byte order mark at the start taken off.

    Raises
    ------
    InputError
        Where the file cannot be opened, is larger than :data:`MAX_BYTES`, or is not UTF-8.
    """
    shown = str(path)
    try:
        size = path.stat().st_size
        if path.is_dir():
            raise IsADirectoryError(21, "it is a folder")
        if size > MAX_BYTES:
            raise _too_large(shown, size)
        data = path.read_bytes()
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise InputError(
            [Problem(shown, "file", "a file that can be read", reason.lower(), "Check the path and its permissions.")]
        ) from None
    except ValueError as error:
        if isinstance(error, InputError):
            raise
        raise InputError(
            [Problem(shown, "file", "a path", "a path with a null character in it", "Check the path.")]
        ) from None
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise InputError(
            [
                Problem(
                    shown, f"line {line}", "text in UTF-8", f"the byte 0x{data[error.start]:02x}",
                    "Save the file as UTF-8 in the text editor.",
                )
            ]
        ) from None


def tables(text: str) -> dict[str, Any]:
    """Tables from TOML text; texts in use are read once. They are shared: whoever gets them leaves them as they are.

    Raises
    ------
    tomli.TOMLDecodeError
        Where the text is not TOML.
    """
    return _tables(text) if len(text) <= _IN_USE_CHARS else tomli.loads(text)


@lru_cache(maxsize=64)
def _tables(text: str) -> dict[str, Any]:
    return tomli.loads(text)


def read_tables(text: str, file_name: str) -> dict[str, object]:
    """Tables from TOML text.

    Raises
    ------
    InputError
        With line and column where the text is not TOML; where it is too large or holds too many wires, which is
        counted before anything else is done.
    """
    if len(text) > MAX_BYTES:
        raise _too_large(file_name, len(text))
    wires = max(len(_WIRE_HEAD.findall(text)), len(_INLINE_FROM.findall(text)))
    if wires > MAX_WIRES:
        raise too_many_wires(file_name, wires)
    try:
        return tables(text)
    except RecursionError:
        place, line, received = "file", "", "values nested hundreds deep"
    except ValueError as error:
        found = _AT.match(str(error))
        received = (found["what"] if found else str(error)).strip()
        place = found["where"] if found else "file"
        line = text.split("\n")[int(found["line"]) - 1].rstrip("\r") if found and found["line"] else ""
        received = received[0].lower() + received[1:] if received else "something else"
    expected, received, remedy = explain(line, received)
    raise InputError([Problem(file_name, place, expected, plain(received), plain(remedy))])


def too_many_wires(file_name: str, count: int) -> InputError:
    """The error for a file with more than :data:`MAX_WIRES` wires."""
    return InputError(
        [
            Problem(
                file_name, "wire", f"at most {MAX_WIRES} wires", f"{count} wires",
                "Describe one vehicle in one file; leave out what does not bear on the audio system.",
            )
        ]
    )


def _too_large(file_name: str, size: int) -> InputError:
    return InputError(
        [
            Problem(
                file_name, "file", f"at most {MAX_BYTES / 1e6:.0f} MB", f"{size / 1e6:.1f} MB",
                "Check that this is the rig file; describe one vehicle in one file.",
            )
        ]
    )
