"""A job out of a zip file: every field is checked as if it were typed in, every picture as if it were uploaded."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from loomwright.errors import InputError, Problem
from loomwright.jobs.acts import act_row
from loomwright.jobs.fields import MAX_TITLE, document, line, prose
from loomwright.jobs.images import Picture, clean
from loomwright.jobs.layout import (
    CATALOGUE,
    FILE_STEMS,
    JOB,
    MEMBERS,
    MOST_BYTES,
    MOST_MEMBERS,
    MOST_TEXT_BYTES,
    ActEntry,
    DocumentEntry,
    JobFile,
    PhotoEntry,
    ReadingEntry,
)
from loomwright.jobs.parcel import Bounds, Parcel
from loomwright.jobs.photos import MAX_CAPTION, mark_row, photo_row
from loomwright.jobs.readings import reading_row
from loomwright.jobs.schema import Base, DocumentRow, RevisionRow

MOST_PROBLEMS = 20

Keep = Callable[[Picture], str]
File = TypeVar("File", bound=BaseModel)


@dataclass(frozen=True, slots=True)
class Unpacked:
    """What came out: the head of the job, and its rows, still without a job."""

    head: JobFile
    rows: tuple[Base, ...]
    catalogue: str = ""


def unpack(source: bytes, name: str, keep: Keep, most_text_bytes: int = MOST_TEXT_BYTES) -> Unpacked:
    """The rows of an exported job. ``keep`` stores a picture and gives its sum.

    Raises
    ------
    InputError
        Where the file is damaged, too large, or not such a file, or a field cannot be used.
    """
    bounds = Bounds(MEMBERS, MOST_BYTES, most_text_bytes, MOST_MEMBERS)
    with Parcel(source, name, bounds) as parcel:
        head = read_file(parcel, JOB, JobFile)
        head.title = line("title", head.title, MAX_TITLE, empty=False)
        rows: list[Base] = []
        for kind, entries in (("rig", head.rigs), ("note", head.notes), ("list", head.lists)):
            keys = [e.key for e in entries]
            if len(set(keys)) != len(keys):
                raise parcel.bad(JOB, f"each {kind} once", "one of them twice")
            for entry in entries:
                rows += _document(parcel, kind, entry)
        rows += (_reading(r) for r in head.readings)
        pictures: list[str] = []
        for photo in head.photos:
            found = list(_photo(parcel, photo, keep))
            pictures.append(found[0].id)  # type: ignore[attr-defined]
            rows += found
        rows += _acts(parcel, head.build, pictures)
        parts = _text(parcel, CATALOGUE) if CATALOGUE in parcel.names() else ""
    return Unpacked(head, tuple(rows), parts)


def read_file(parcel: Parcel, member: str, kind: type[File]) -> File:
    """A JSON member, checked against its layout. Raises InputError."""
    data = parcel.read(member)
    try:
        return kind.model_validate_json(data)
    except ValidationError as error:
        problems = [
            Problem(
                parcel.name, f"{member}: {'.'.join(str(p) for p in e['loc'])[:80]}", "what an export writes",
                e["msg"][:200], "Make the file anew with export or backup.",
            )
            for e in error.errors(include_url=False, include_context=False, include_input=False)[:MOST_PROBLEMS]
        ]  # fmt: skip
        raise InputError(problems) from None
    except (ValueError, RecursionError):
        raise parcel.bad(member, "JSON", "something else") from None


def _document(parcel: Parcel, kind: str, entry: DocumentEntry) -> Iterator[Base]:
    place = f"{JOB}: {kind} {json.dumps(entry.key)[:60]}"
    if kind == "rig" and entry.key not in FILE_STEMS:
        raise parcel.bad(place, f"one of {', '.join(FILE_STEMS)}", "another stage")
    if kind == "list" and entry.key:
        raise parcel.bad(place, "the one list of a job, without a name", "a name")
    key = entry.key
    if line("place", key) != key:
        raise parcel.bad(place, "a place on one line", "blanks that a place does not have")
    parents = {r.number: r.parent for r in entry.revisions}
    current = {r.number for r in entry.revisions if not r.side} | {0}
    numbers = [r.number for r in entry.revisions]
    sound = (
        numbers == sorted(parents)
        and all(p < n and (p == 0 or p in parents) for n, p in parents.items())
        and {entry.head, entry.tip} <= current
        and entry.head in _line_of(parents, entry.tip)
    )
    if not sound:
        raise parcel.bad(place, "revisions in order, each after its parent", "another order")
    yield DocumentRow(kind=kind, key=key, head=entry.head, tip=entry.tip, last=max(numbers, default=0))
    for r in entry.revisions:
        text = r.text
        if kind == "rig":
            stem = FILE_STEMS[key]
            if r.file not in (f"rigs/{stem}.toml", f"rigs/{stem}.{r.number}.toml"):
                raise parcel.bad(place, "the file of this stage and revision", "another file")
            text = _text(parcel, r.file)
        yield RevisionRow(
            kind=kind, key=key, number=r.number, parent=r.parent, side=r.side, text=document("text", text),
            note=prose("note", r.note), at=r.at, by=line("by", r.by),
        )  # fmt: skip


def _text(parcel: Parcel, member: str) -> str:
    try:
        return parcel.read(member).decode()
    except UnicodeDecodeError:
        raise parcel.bad(member, "UTF-8", "other bytes") from None


def _line_of(parents: dict[int, int], tip: int) -> Iterable[int]:
    """A revision and everything it was made from, down to nothing."""
    while tip:
        yield tip
        tip = parents[tip]
    yield 0


def _reading(entry: ReadingEntry) -> Base:
    row = reading_row(entry.where, entry.quantity, entry.value, entry.unit, entry.by, entry.at)
    row.deleted_at = entry.deleted_at
    return row


def _acts(parcel: Parcel, entries: list[ActEntry], pictures: list[str]) -> Iterator[Base]:
    if len({e.id for e in entries}) != len(entries):
        raise parcel.bad(JOB, "each act of the build once", "one of them twice")
    for n, e in enumerate(entries, 1):
        if e.photo is not None and e.photo >= len(pictures):
            raise parcel.bad(JOB, "an act with a photograph of this file", f"photograph {e.photo}")
        row = act_row(e.id, e.stage, e.step, e.kind, e.by, e.at, e.measure, e.value, e.unit, e.text, e.of)
        row.n, row.came_at = n, e.came_at
        row.photo_id = pictures[e.photo] if e.photo is not None else None
        yield row


def _photo(parcel: Parcel, entry: PhotoEntry, keep: Keep) -> Iterator[Base]:
    picture = clean(parcel.read(entry.file), entry.file[:80])
    row = photo_row(line("place", entry.place), prose("caption", entry.caption, MAX_CAPTION), keep(picture), picture)
    row.at, row.by, row.deleted_at = entry.at, line("by", entry.by), entry.deleted_at
    yield row
    for m in entry.marks:
        mark = mark_row(row.id, m.x_pct, m.y_pct, m.text)
        mark.at, mark.deleted_at = m.at, m.deleted_at
        yield mark
