"""What the build page shows: how far a build is, what stands in the way of a step, what was done and how it reads."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from loomwright.drawing import figures
from loomwright.jobs.acts import Standing, standings
from loomwright.jobs.model import Act
from loomwright.rig.model import Rig
from loomwright.steps.results import PHASES, BuildPlan, Measure, Phase, Step
from loomwright.steps.words import expected

TITLES: Mapping[Phase, str] = {
    "isolate": "Isolate", "take out": "Mark and take out", "panel": "Panel", "make": "Make the harness",
    "ring out": "Ring out", "fit": "Fit", "protect": "Protect", "power up": "Power up", "set": "Set", "prove": "Prove",
}  # fmt: skip
NONE = Standing()


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a build is. ``next`` is the first step that is not done, or whose gate is not signed."""

    total: int
    done: tuple[str, ...]
    signed: tuple[str, ...]
    twice: tuple[str, ...]
    next: str | None
    least_left_min: float
    most_left_min: float


def progress(plan: BuildPlan, acts: Iterable[Act]) -> Progress:
    """How far a build is by its acts. Steps that are no longer in the plan do not count."""
    found = standings(acts)
    done = tuple(s.id for s in plan.steps if found.get(s.id, NONE).done)
    signed = tuple(s.id for s in plan.gates if found.get(s.id, NONE).signed)
    open_steps = [s for s in plan.steps if s.id not in done or (s.gate and s.id not in signed)]
    left = [s for s in plan.steps if s.id not in set(done)]
    return Progress(
        total=len(plan.steps), done=done, signed=signed,
        twice=tuple(s.id for s in plan.steps if found.get(s.id, NONE).twice),
        next=open_steps[0].id if open_steps else None,
        least_left_min=round(sum(s.time.least_min for s in left), 1),
        most_left_min=round(sum(s.time.most_min for s in left), 1),
    )  # fmt: skip


def gates_before(plan: BuildPlan) -> Mapping[str, tuple[str, ...]]:
    """For each step the gates that lie before it by dependency, in order."""
    found: dict[str, set[str]] = {}
    signed = {s.id for s in plan.gates}
    for step in plan.steps:
        before = {a.step for a in step.after}
        found[step.id] = set().union(before & signed, *(found[name] for name in before))
    order = {s.id: s.number for s in plan.steps}
    return {name: tuple(sorted(gates, key=order.__getitem__)) for name, gates in found.items()}


def by_phase(plan: BuildPlan) -> tuple[tuple[str, tuple[Step, ...]], ...]:
    """The steps under the titles of their stages."""
    grouped = [(TITLES[p], tuple(s for s in plan.steps if s.phase == p)) for p in PHASES]
    return tuple((title, steps) for title, steps in grouped if steps)


def hope(m: Measure) -> str:
    """What a reading is to be, in words."""
    return expected(m, figures.three, figures.THIN_SPACE + ("mΩ" if m.unit == "mOhm" else m.unit))


def place_of(rig: Rig | None, step: Step) -> str:
    """The place that a photograph of a step belongs to; empty where it has none."""
    if rig is None:
        return ""
    for name in step.items:
        if name in rig.items:
            return rig.items[name].place
    for name in step.wires:
        for w in rig.wires:
            if w.id == name:
                return rig.item_of(w.start).place
    return ""
