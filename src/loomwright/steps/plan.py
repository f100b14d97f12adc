"""The whole build of one rig, step by step."""

from __future__ import annotations

from loomwright.rig.model import Rig
from loomwright.rig.once import once
from loomwright.steps.bench import making, panel
from loomwright.steps.fitting import fitting
from loomwright.steps.job import Job, Notes
from loomwright.steps.order import in_order
from loomwright.steps.powering import powering
from loomwright.steps.protecting import protecting
from loomwright.steps.results import BuildPlan
from loomwright.steps.ringing import ringing
from loomwright.steps.setting import setting
from loomwright.steps.starting import starting
from loomwright.study import Study


def build_steps(study: Study, as_found: Rig | None = None) -> BuildPlan:
    """Every step of the build, in an order that keeps every dependency.

    With the rig as found, what is there already is kept and looked over, and what goes is taken out first. Pure: the
    same rigs give the same steps, and an edit elsewhere leaves the ids of the others as they are.
    """
    return _planned(Job(study, as_found)) if as_found is not None else _from_nothing(study)


@once
def _from_nothing(study: Study) -> BuildPlan:
    return _planned(Job(study, None))


def _planned(job: Job) -> BuildPlan:
    notes = Notes()
    notes.steps += starting(job)
    notes.steps += list(panel(job, notes))
    notes.steps += making(job)
    notes.steps += list(ringing(job, notes))
    notes.steps += list(fitting(job, notes))
    notes.steps += list(protecting(job, notes))
    notes.steps += powering(job)
    notes.steps += list(setting(job, notes))
    steps = in_order(notes.steps)
    least, most = (round(sum(getattr(s.time, name) for s in steps), 1) for name in ("least_min", "most_min"))
    return BuildPlan(job.study.given.title, steps, least, most)
