"""The states that a rig must stand for ever: every engine state, programmes up to `loud`, where there is a solution."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from math import isfinite
from typing import TypeVar

from loomwright.power.columns import figures
from loomwright.power.results import CaseResult, DeviceState, JointState, WireState
from loomwright.rig.model import Programme
from loomwright.rig.once import once
from loomwright.study import Study

State = TypeVar("State")

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
    return _worst_wires(study).get(wire_id)


def worst_joint(study: Study, key: str) -> JointState | None:
    """The steady state of a joint with most heat; ``key`` as in :class:`CaseResult`."""
    return _worst_joints(study).get(key)


def worst_device(study: Study, device_id: str) -> DeviceState | None:
    """The steady state of a device that takes most of what it can carry without end."""
    return _worst_devices(study).get(device_id)


@once
def _worst_wires(study: Study) -> Mapping[str, WireState]:
    return _most([c.wires for c in steady(study)], lambda states: figures(states, "temperature_c"))


@once
def _worst_joints(study: Study) -> Mapping[str, JointState]:
    return _most([c.joints for c in steady(study)], lambda states: figures(states, "loss_w"))


@once
def _worst_devices(study: Study) -> Mapping[str, DeviceState]:
    return _most([c.devices for c in steady(study)], _taken)


def _taken(states: Mapping[str, DeviceState]) -> Mapping[str, float]:
    """Share of what each device can carry without end."""
    amps, usable = figures(states, "amps_a"), figures(states, "usable_a")
    return {name: abs(amps[name]) / max(usable[name], 1e-9) for name in amps}


def _most(
    cases: Sequence[Mapping[str, State]], by: Callable[[Mapping[str, State]], Mapping[str, float]]
) -> dict[str, State]:
    """The state of each name in which the figure is largest, of the cases in which its amperes are known."""
    best: dict[str, tuple[float, Mapping[str, State]]] = {}
    for states in cases:
        amps, large = figures(states, "amps_a"), by(states)
        for name, figure in large.items():
            if isfinite(amps[name]) and (name not in best or figure > best[name][0]):
                best[name] = figure, states
    return {name: states[name] for name, (_, states) in best.items()}
