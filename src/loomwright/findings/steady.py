"""The states that a rig must stand for ever: every engine state, programmes up to `loud`, where there is a solution."""

from __future__ import annotations

from math import isfinite

from loomwright.power.results import CaseResult, DeviceState, JointState, WireState
from loomwright.rig.model import Programme
from loomwright.study import Study

UP_TO_LOUD: tuple[Programme, ...] = ("quiet", "music", "loud")


def steady(study: Study, *programmes: Programme) -> tuple[CaseResult, ...]:
    """Solved cases of these programmes, or of all up to `loud` where none is named."""
    wanted = programmes or UP_TO_LOUD
    return tuple(c for (_, programme), c in study.power.cases.items() if programme in wanted and c.solved)


def loudest(study: Study) -> CaseResult:
    """The case in which grounds are compared: engine at cruise, `loud`, or the next quieter one that has a solution."""
    found = [c for c in steady(study, *UP_TO_LOUD) if c.engine == "cruise"]
    return max(found, key=lambda c: UP_TO_LOUD.index(c.programme), default=study.power.case("cruise", "quiet"))


def worst_wire(study: Study, wire_id: str) -> WireState | None:
    """The hottest steady state of a wire."""
    states = [c.wires[wire_id] for c in steady(study) if wire_id in c.wires]
    return max((s for s in states if isfinite(s.amps_a)), key=lambda s: s.temperature_c, default=None)


def worst_joint(study: Study, key: str) -> JointState | None:
    """The steady state of a joint with most heat; ``key`` as in :class:`CaseResult`."""
    states = [c.joints[key] for c in steady(study) if key in c.joints]
    return max((s for s in states if isfinite(s.amps_a)), key=lambda s: s.loss_w, default=None)


def worst_device(study: Study, device_id: str) -> DeviceState | None:
    """The steady state of a device that takes most of what it can carry without end."""
    states = [c.devices[device_id] for c in steady(study) if device_id in c.devices]
    return max(
        (s for s in states if isfinite(s.amps_a)), key=lambda s: abs(s.amps_a) / max(s.usable_a, 1e-9), default=None
    )
