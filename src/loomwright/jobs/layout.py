"""What an exported job holds: ``job.json``, and beside it ``rigs/*.toml``, ``photos/*`` and ``catalogue.toml``.

``rigs/as_found.toml`` is the rig as it stands; ``rigs/as_found.3.toml`` is its revision 3. A photograph's file is named
by its SHA-256. ``catalogue.toml`` holds the parts of the shop's own catalogue that the rigs use, where they use any.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime
from typing import Annotated, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from loomwright.jobs.images import MAX_BYTES
from loomwright.jobs.model import STAGES

JOB = "job.json"
CATALOGUE = "catalogue.toml"
MEMBERS = {
    re.compile(r"job\.json"): 20_000_000,
    re.compile(r"rigs/(as_found|planned|as_built)(\.[1-9][0-9]{0,8})?\.toml"): 5_000_000,
    re.compile(r"catalogue\.toml"): 5_000_000,
    re.compile(r"photos/[0-9a-f]{64}\.(jpg|png)"): MAX_BYTES,
}
MOST_BYTES = 2_000_000_000
MOST_TEXT_BYTES = 100_000_000
MOST_MEMBERS = 50_000
FILE_STEMS = {stage: stage.replace(" ", "_") for stage in STAGES}

Time = Annotated[AwareDatetime, Field(ge=datetime(1971, 1, 1, tzinfo=UTC), lt=datetime(2200, 1, 1, tzinfo=UTC))]
Number = Annotated[int, Field(ge=0, le=999_999_999)]
Stage = Literal["as found", "planned", "as built"]


class Strict(BaseModel):
    """A table of an exported file: nothing unknown in it, nothing turned into another type."""

    model_config = ConfigDict(extra="forbid", strict=True)


class RevisionEntry(Strict):
    """One revision: its text, or for a rig the file that holds it."""

    number: Annotated[int, Field(ge=1, le=999_999_999)]
    parent: Number
    side: bool
    at: Time
    by: str
    note: str
    text: str = ""
    file: str = ""


class DocumentEntry(Strict):
    """A rig, a note or the equipment list with its history; ``key`` is the stage, the place, or empty."""

    key: str
    head: Number
    tip: Number
    revisions: list[RevisionEntry]


class MarkEntry(Strict):
    """A mark on a photograph."""

    x_pct: float
    y_pct: float
    text: str
    at: Time
    deleted_at: Time | None = None


class PhotoEntry(Strict):
    """A photograph; ``file`` is a member of the zip file."""

    file: str
    place: str
    caption: str
    at: Time
    by: str
    marks: list[MarkEntry]
    deleted_at: Time | None = None


class ReadingEntry(Strict):
    """A reading."""

    where: str
    quantity: str
    value: float
    unit: str
    at: Time
    by: str
    deleted_at: Time | None = None


class ActEntry(Strict):
    """An act of the build. ``photo`` counts the photographs of this file from 0."""

    id: str
    stage: Stage
    step: str
    kind: Literal["done", "signed", "reading", "photo", "note", "undone"]
    measure: str
    value: float | None
    unit: str
    text: str
    photo: Number | None
    of: str
    at: Time
    came_at: Time
    by: str


class JobFile(Strict):
    """``job.json``."""

    format: Literal[1]
    kind: Literal["loomwright job"] = "loomwright job"
    title: str
    created_at: Time
    deleted_at: Time | None = None
    rigs: list[DocumentEntry]
    notes: list[DocumentEntry]
    photos: list[PhotoEntry]
    readings: list[ReadingEntry]
    build: list[ActEntry] = []
    lists: list[DocumentEntry] = []


class BackupEntry(Strict):
    """One job in a backup."""

    id: str
    file: str


class BackupFile(Strict):
    """``backup.json``."""

    format: Literal[1]
    kind: Literal["loomwright backup"] = "loomwright backup"
    created_at: Time
    jobs: list[BackupEntry]
