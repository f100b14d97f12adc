"""What the build steps say: frozen results, unit at the end of every name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Phase = Literal["isolate", "take out", "panel", "make", "ring out", "fit", "protect", "power up", "set", "prove"]
"""The stages of a build, in the order of doing."""
PHASES: tuple[Phase, ...] = (
    "isolate", "take out", "panel", "make", "ring out", "fit", "protect", "power up", "set", "prove",
)  # fmt: skip
Unit = Literal["V", "mOhm", "A", "N"]
Within = Literal["as predicted", "too low", "too high"]


@dataclass(frozen=True, slots=True)
class Torque:
    """How hard a joint is tightened. ``torque_nm`` is None where only its maker knows; ``said`` is what is printed."""

    where: str                      # "battery.plus"
    thread: str                     # "M8"; "" where it is not known
    torque_nm: float | None
    said: str                       # "6 Nm, unless its maker says otherwise", "as the maker says"
    source: str


@dataclass(frozen=True, slots=True)
class Measure:
    """What is measured in a step and what to expect. The reading passes from ``low`` to ``high``, both included.

    ``id`` is the same as long as the rig's ids are. ``how`` says where the leads go and what is switched on;
    ``basis`` says what the prediction and its band rest on.
    """

    id: str
    what: str                       # "volts at front_amp, supply+ to supply-"
    unit: Unit
    expected: float | None
    low: float | None
    high: float | None
    how: str
    basis: str

    def verdict(self, value: float) -> Within:
        """How a reading stands against the prediction."""
        if self.low is not None and value < self.low:
            return "too low"
        if self.high is not None and value > self.high:
            return "too high"
        return "as predicted"


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution that applies to a step: a heading to obey and why."""

    id: str
    head: str
    text: str


@dataclass(frozen=True, slots=True)
class Duration:
    """How long a step takes one person with the tools at hand [min], as a range, and what that rests on."""

    least_min: float
    most_min: float
    mark: str
    source: str


@dataclass(frozen=True, slots=True)
class Look:
    """What to look at: a drawing by the name of its file, and the wires or the item in it that this step is about."""

    drawing: Literal["power", "signals"]  # the two views of the diagram to work on
    wires: tuple[str, ...]
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class After:
    """A step that must be done first, and why."""

    step: str
    why: str


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the build, done and ticked as a whole.

    ``id`` follows from ids of the rig alone, so a tick survives an edit elsewhere. ``energises`` is set where something
    gets power that had none. ``gate`` says what a second person signs for; "" where none is needed. ``makes`` and
    ``routes`` are the wires that are made and laid here: each wire of the rig in one step of each.
    """

    id: str
    number: int                     # from 1, in the order of doing
    phase: Phase
    title: str
    text: tuple[str, ...]           # sentences to do, in order
    after: tuple[After, ...]
    wires: tuple[str, ...]
    items: tuple[str, ...]
    joints: tuple[str, ...]         # "P3@block.out1"
    runs: tuple[int, ...]           # numbers of the runs, from 1
    makes: tuple[str, ...]
    routes: tuple[str, ...]
    tools: tuple[str, ...]
    consumables: tuple[str, ...]    # "2 x ring lug M6, 16 mm2"
    torques: tuple[Torque, ...]
    cautions: tuple[Caution, ...]
    time: Duration
    measures: tuple[Measure, ...]
    gate: str
    energises: bool
    look: Look | None


@dataclass(frozen=True, slots=True)
class BuildPlan:
    """Every step of one build, in an order that keeps every dependency."""

    title: str
    steps: tuple[Step, ...]
    least_min: float
    most_min: float

    @property
    def gates(self) -> tuple[Step, ...]:
        """The steps that a second person signs."""
        return tuple(s for s in self.steps if s.gate)

    def step(self, step_id: str) -> Step:
        """One step. KeyError where there is none."""
        for s in self.steps:
            if s.id == step_id:
                return s
        raise KeyError(step_id)
