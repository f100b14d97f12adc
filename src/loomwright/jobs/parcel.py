"""Zip files that come from outside, read without trust; and zip files that come out the same for the same content.

No name in a file ever becomes a path on the disk: members are only looked up by names of our own layout. Sizes are
bounded before anything is unpacked, and again while it is.
"""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import dataclass
from types import TracebackType
from typing import IO, Self

from loomwright.errors import InputError, Problem

_FIRST_DATE = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a zip file may hold: the most bytes a member of each name may have, unpacked, and bounds on all together.

    Photographs count towards ``most_bytes`` only, everything else towards ``most_text_bytes`` as well.
    """

    members: dict[re.Pattern[str], int]
    most_bytes: int
    most_text_bytes: int
    most_members: int


class Parcel:
    """A zip file with members of known names only.

    Parameters
    ----------
    source : bytes or open file
        The zip file.
    name : str
        What to call it in messages.
    bounds : Bounds
        What it may hold.

    Raises
    ------
    InputError
        Where it is no zip file, is cut off, is encrypted, holds anything else, or is too large.
    """

    def __init__(self, source: bytes | IO[bytes], name: str, bounds: Bounds) -> None:
        self.name = name
        self._sizes: dict[str, int] = {}
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(source) if isinstance(source, bytes) else source)
            infos = self._zip.infolist()
        except Exception as error:  # whatever bytes that are no zip file lead to
            raise self.bad("file", "a whole zip file", f"something else, or a part of one ({error})") from None
        if len(infos) > bounds.most_members:
            raise self.bad("file", f"at most {bounds.most_members} members", f"{len(infos)}")
        for info in infos:
            if info.filename in ("rigs/", "photos/", "jobs/"):
                continue
            most = next((m for pattern, m in bounds.members.items() if pattern.fullmatch(info.filename)), None)
            if most is None or info.filename in self._sizes:
                raise self.bad("member", "the members that an export has, each once", ascii(info.filename)[:80])
            if info.flag_bits & 1 or info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
                raise self.bad(info.filename, "a member stored or deflated, without a password", "another kind")
            if info.file_size > most:
                raise self.bad(info.filename, f"at most {most / 1e6:g} MB", f"{info.file_size / 1e6:g} MB")
            self._sizes[info.filename] = info.file_size
        text_bytes = sum(size for member, size in self._sizes.items() if not member.startswith("photos/"))
        if sum(self._sizes.values()) > bounds.most_bytes or text_bytes > bounds.most_text_bytes:
            raise self.bad("file", f"at most {bounds.most_text_bytes / 1e6:g} MB of text unpacked", "more")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._zip.close()

    def names(self) -> tuple[str, ...]:
        """Names of the members, in order."""
        return tuple(sorted(self._sizes))

    def read(self, member: str) -> bytes:
        """The bytes of a member: never more than it said it has. Raises InputError."""
        if member not in self._sizes:
            raise self.bad(member[:80], "a member of that name", "none")
        try:
            with self._zip.open(member) as stream:
                data = stream.read(self._sizes[member] + 1)
        except Exception as error:  # a member that is cut off, or does not match its sum
            raise self.bad(member, "a whole member", f"a damaged one ({error})") from None
        if len(data) != self._sizes[member]:
            raise self.bad(member, f"{self._sizes[member]} bytes", "another number of bytes")
        return data

    def bad(self, place: str, expected: str, received: str) -> InputError:
        """The error for something in this file."""
        remedy = "Make the file anew with export or backup, and send it without changing it."
        return InputError([Problem(self.name, place, expected, received, remedy)])


def put(target: zipfile.ZipFile, member: str, data: bytes, pressed: bool = True) -> None:
    """Add a member without a date of its own, so that the same content gives the same bytes."""
    info = zipfile.ZipInfo(member, _FIRST_DATE)
    info.external_attr = 0o644 << 16
    target.writestr(info, data, zipfile.ZIP_DEFLATED if pressed else zipfile.ZIP_STORED)
