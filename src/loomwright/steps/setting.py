"""The last steps: gains in their order, drops under load, the second look, hand-over."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from loomwright.facts import building
from loomwright.rig.model import EngineState
from loomwright.steps.cautions import cautions
from loomwright.steps.job import Job, Notes, blank, look_at
from loomwright.steps.results import After, Measure, Step
from loomwright.steps.times import duration

FINISH = "prove:finish"


def setting(job: Job, notes: Notes) -> Iterator[Step]:
    """Gains, as the sound study orders them; then drops at the amplifiers, then the end."""
    last = [After(s, "Set only what is sound.") for s in notes.of("power up")[-1:]] or [
        After(s, "Set only what is sound.") for s in notes.of("protect")[-1:]
    ]
    levels = job.study.sound.levels
    steps = job.study.sound.steps
    for n, found in enumerate(steps):
        name = "set:begin" if n == 0 else "set:end" if n == len(steps) - 1 else f"set:{found.item}"
        title = "Before the gains" if n == 0 else "After the gains" if n == len(steps) - 1 else f"Set {found.item}"
        item = found.item.partition(".")[0]
        wires = tuple(w.id for w in job.rig.wires if w.kind == "speaker" and _of_channel(found.item, w.start, w.end))
        tuned = found.item in levels and 0 < n < len(steps) - 1
        step = blank(name, "set", title, [found.text])
        step = replace(
            step, after=tuple(last), items=(item,), wires=wires, tools=("AC voltmeter", "test tones"),
            cautions=cautions(job.rig, "hearing", "noise"), time=duration(gain=1), look=look_at(job, wires, (item,)),
            measures=_gain(levels[found.item].gain.set_v, found.item) if tuned else (),
        )  # fmt: skip
        last = [After(step.id, "What comes first in the signal is set first.")]
        yield step
    drops = list(_drops(job, tuple(last)))
    yield from drops
    yield _finish(job, tuple(After(s.id, "Part of what is signed.") for s in drops) or tuple(last))


def _of_channel(name: str, *refs: str) -> bool:
    return "." in name and any(r.startswith(name) for r in refs)


def _gain(volts: float, channel: str) -> tuple[Measure, ...]:
    share = building.tolerance("gain", "share")
    return (
        Measure(
            f"gain:{channel}", f"alternating volts at {channel}", "V", round(volts, 2), round(volts * (1.0 - share), 2),
            round(volts * (1.0 + share), 2), "Loudspeaker off; the tone and level that the step names.",
            "level diagram of the plan; 0.4 dB either way",
        ),
    )  # fmt: skip


def _drops(job: Job, after: tuple[After, ...]) -> Iterator[Step]:
    engine: EngineState = "idle" if job.rig.family("charger") else "off"
    case = job.study.power.cases.get((engine, "music"))
    share, meter = building.tolerance("drop", "share"), 0.02
    for amp in job.rig.family("amplifier"):
        state = case.items.get(amp.id) if case is not None and case.solved else None
        drop = max(state.drop_v, 0.0) if state is not None else None
        running = "at idle" if engine == "idle" else "off"
        text = [
            (
                f"Music at its usual level, engine {running}. One lead on the battery's plus post, the other on "
                f"{amp.id}.supply+; then the same on the minus side. Add the two."
            ),
            "Far above the figure: find the joint that is warm.",
        ]
        step = blank(f"drop:{amp.id}", "prove", f"Volts lost on the way to {amp.id}", text)
        wires = tuple(w.id for w in job.rig.wires_at(f"{amp.id}.supply+") + job.rig.wires_at(f"{amp.id}.supply-"))
        yield replace(
            step, after=after, items=(amp.id,), wires=wires, tools=("voltmeter", "long test leads"),
            cautions=cautions(job.rig, "hearing", "engine" if engine == "idle" else "hearing"), time=duration(drop=1),
            look=look_at(job, wires, (amp.id,)),
            measures=() if drop is None else (
                Measure(
                    f"drop:{amp.id}", f"volts lost on both sides to {amp.id}", "V", round(drop, 3), 0.0,
                    round(drop * (1.0 + share) + meter, 3), "Music, usual level; a meter that averages.",
                    "the plan with music; a third more passes, for the programme is not steady",
                ),
            ),
        )  # fmt: skip


def _finish(job: Job, after: tuple[After, ...]) -> Step:
    text = [
        "After half an hour of music: a hand on each fuse, stud, connector and lug. Warm at most.",
        "Engine and system off, battery off again, minus first; each screw once more to its torque; minus on last.",
        "Every label readable, every spare fuse in its bag, the papers with the vehicle.",
        "Show the owner how to part the battery, where the fuses are, how loud for how long.",
    ]
    step = blank(FINISH, "prove", "Second look and hand-over", text)
    return replace(
        step, after=after, tools=("torque wrench or driver",),
        consumables=("1 x set of spare fuses, ratings as fitted",),
        cautions=cautions(job.rig, "battery", "hearing"), time=duration(finish=1),
        gate="The work is fit to be handed over: nothing warm, everything tight, papers with the vehicle.",
    )  # fmt: skip
