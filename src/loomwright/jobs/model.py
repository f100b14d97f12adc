"""What the store gives back: plain frozen values, apart from the rows they were read from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

STAGES = ("as found", "planned", "as built")
"""The three rigs of a job, in the order of the work."""


@dataclass(frozen=True, slots=True)
class Job:
    """One job. ``revision`` rises with every change to anything in it; times are in UTC."""

    id: str
    title: str
    created_at: datetime
    changed_at: datetime
    revision: int
    deleted_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class JobSummary:
    """One line of the list of jobs: which stages have a rig, and how much else there is."""

    id: str
    title: str
    created_at: datetime
    changed_at: datetime
    revision: int
    deleted_at: datetime | None
    stages: tuple[str, ...]
    photos: int
    readings: int


@dataclass(frozen=True, slots=True)
class Revision:
    """One saved text. Number 0 is the empty text before anything was saved.

    ``parent`` is the revision it was made from. ``side`` marks a text that lost a conflict: kept, never current.
    ``can_undo`` and ``can_redo`` are set on the current revision only.
    """

    number: int
    text: str
    at: datetime
    note: str = ""
    by: str = ""
    parent: int = 0
    side: bool = False
    current: bool = False
    can_undo: bool = False
    can_redo: bool = False


@dataclass(frozen=True, slots=True)
class RigAt:
    """The rig of one stage of a job, with its job; ``begun`` are the stages of the job that have a rig."""

    job: Job
    revision: Revision
    begun: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark on a photograph: where, in per cent of its width and height from the top left, and what to see there."""

    id: str
    x_pct: float
    y_pct: float
    text: str


@dataclass(frozen=True, slots=True)
class Photo:
    """A photograph of a place. ``sha256`` names its content; ``media_type`` is image/jpeg or image/png."""

    id: str
    job_id: str
    place: str
    caption: str
    sha256: str
    media_type: str
    width_px: int
    height_px: int
    size_bytes: int
    at: datetime
    by: str
    marks: tuple[Mark, ...] = ()
    deleted_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """A measured value: where, what, how much, in which unit."""

    id: str
    job_id: str
    where: str
    quantity: str
    value: float
    unit: str
    at: datetime
    by: str
    deleted_at: datetime | None = None


ActKind = Literal["done", "signed", "reading", "photo", "note", "undone"]
ACT_KINDS: tuple[ActKind, ...] = ("done", "signed", "reading", "photo", "note", "undone")


@dataclass(frozen=True, slots=True)
class Act:
    """One thing done while a job is built: a step ticked or signed, a reading, a photograph, a note, or one undone.

    ``id`` was made by whoever did it, ``n`` is the order in which the acts of a job came in, ``at`` when it was done
    and ``came_at`` when it reached the store. ``measure`` and ``value`` belong to a reading, ``of`` to one undone: the
    id of the act that no longer stands.
    """

    id: str
    n: int
    stage: str
    step: str
    kind: ActKind
    at: datetime
    came_at: datetime
    by: str
    measure: str = ""
    value: float | None = None
    unit: str = ""
    text: str = ""
    photo_id: str | None = None
    of: str = ""


@dataclass(frozen=True, slots=True)
class Change:
    """One entry of the change feed. ``n`` rises without gaps over the whole store.

    ``what`` is one of ``created``, ``renamed``, ``deleted``, ``restored``, ``imported``, ``rig``, ``note``,
    ``list``, ``photo``, ``reading``, ``build``; ``key`` says which: the stage, the place, or the id. With an empty
    ``job_id`` it is the shop's own: ``settings``, ``catalogue``, ``stock``.
    """

    n: int
    job_id: str
    what: str
    key: str
    at: datetime
    by: str


@dataclass(frozen=True, slots=True)
class Settings:
    """How a shop reads and prints. ``number`` rises with every change; 0 where nothing was ever changed."""

    length_unit: Literal["mm", "in"] = "mm"
    temperature_unit: Literal["C", "F"] = "C"
    wire_size: Literal["as written", "both"] = "as written"
    sheet: Literal["a4", "letter"] = "a4"
    number: int = 0


@dataclass(frozen=True, slots=True)
class StockLine:
    """One line of the shop's stock. ``number`` rises with every change of the line.

    A ``wire`` has size, metal, insulation, colour and the length that is left; a ``fuse`` its type, rating and count; a
    ``sheet`` of board its material, thickness, length along the grain, width and count; a ``connector`` or anything
    ``other`` the catalogue's name of it or a few words, and its count.
    """

    id: str
    kind: Literal["wire", "fuse", "connector", "sheet", "other"]
    number: int
    at: datetime
    by: str = ""
    part: str = ""
    size: str = ""
    metal: str = ""
    insulation_c: int | None = None
    colour: str = ""
    length_mm: float | None = None
    width_mm: float | None = None
    thickness_mm: float | None = None
    material: str = ""
    type: str = ""
    rating_a: float | None = None
    count: int | None = None
    note: str = ""
    deleted_at: datetime | None = None
