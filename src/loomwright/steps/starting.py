"""The first steps: every source off, proof that nothing is live, what is taken out and what stays."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from loomwright.facts import building
from loomwright.rig.model import Item, PassiveSpec
from loomwright.steps.cautions import cautions, hazards, of_battery
from loomwright.steps.job import IN_LOOM, Job, blank, counted, listed, look_at, of_family
from loomwright.steps.results import After, Measure, Step
from loomwright.steps.times import duration

DEAD = "isolate:dead"
MARK = "mark:vehicle"


def starting(job: Job) -> Iterator[Step]:
    """Isolation, the look at the vehicle, and the taking out."""
    sources = list(_sources(job))
    yield from sources
    yield _dead(job, sources)
    yield _mark(job)
    yield from _take_out(job)
    if job.kept_wires:
        yield _keep(job)


def _sources(job: Job) -> Iterator[Step]:
    """One step for each battery, the one that cranks first; one for everything else that gives current.

    What gives current as found counts too, whether it stays or not.
    """
    rig = job.rig
    there = {**(job.as_found.items if job.as_found is not None else {}), **rig.items}.values()
    first = {r.vehicle.start_battery for r in (rig, job.as_found or rig)}
    batteries = sorted(of_family(there, "battery"), key=lambda i: i.id not in first)
    before: tuple[After, ...] = ()
    for n, battery in enumerate(batteries):
        step = blank(f"isolate:{battery.id}", "isolate", f"Isolate {battery.id}", _off(battery, n == 0))
        yield replace(
            step, after=before, items=(battery.id,), tools=("insulated spanner", "caps or tape for the lead"),
            cautions=cautions(rig, *of_battery(battery)),
            time=duration(isolate=1), look=look_at(job, items=(battery.id,)),
        )  # fmt: skip
        if n == 0:
            before = (After(step.id, "The battery that cranks is parted first."),)
    others = of_family(there, "charger", "dcdc", "isolator")
    text = [
        "Engine off and cold, key out and in your pocket.",
        "Unplug every mains charger; cover or part every solar panel; part any lead to a trailer or a second vehicle.",
    ]
    if others:
        text.append(f"These give current too: {listed(i.id for i in others)}. Part each where it meets the harness.")
    step = blank("isolate:others", "isolate", "Every other source off", text)
    yield replace(
        step, after=before, items=tuple(i.id for i in others), tools=("insulated spanner",),
        cautions=cautions(rig, "hot"), time=duration(isolate=1),
        look=look_at(job, items=[i.id for i in others]),
    )  # fmt: skip


def _off(battery: Item, first: bool) -> list[str]:
    text = ["Engine off, key out, everything switched off."] if first else []
    return [
        *text,
        f"Take the minus lead off {battery.id}, cap it and tie it aside so that it cannot spring back.",
        "Then the plus lead, capped likewise. Minus off first, on last.",
    ]


def _dead(job: Job, sources: list[Step]) -> Step:
    rig = job.rig
    wait = building.capacitor_wait_s()
    caps = [
        i.id for i in rig.items.values()
        if isinstance(i.part.spec, PassiveSpec) and i.part.spec.element == "capacitor"
        and any(t.kind == "power" for t in i.part.terminals)
    ]  # fmt: skip
    text = [f"Wait {wait / 60.0:.0f} minutes for the capacitors in the amplifiers."]
    if caps:
        text.append(f"Discharge {listed(caps)} through a lamp, never by a short.")
    text += [
        "Prove the meter on the battery's posts, measure, and prove it again.",
        "Measure at each place that is to be touched, and at the old feed of the audio system.",
    ]
    limit = building.tolerance("dead", "volts_v")
    step = blank(DEAD, "isolate", "Prove that nothing is live", text)
    return replace(
        step,
        after=tuple(After(s.id, "A source that is not off makes the proof worthless.") for s in sources),
        items=tuple(caps), tools=("voltmeter",), cautions=cautions(rig, "battery"), time=duration(dead=1),
        measures=(
            Measure(
                "volts:dead", "highest volts between any feed and the frame or minus lead", "V", 0.0, -limit, limit,
                "Battery leads off and capped.", "isolated means under half a volt",
            ),
        ),
        gate="Nothing is live: batteries parted, leads capped, other sources off, measured dead.",
    )  # fmt: skip


def _mark(job: Job) -> Step:
    rig = job.rig
    text = [
        "Lay the plan beside the vehicle. Photograph everything before it is touched.",
        "Mark each part's place with tape, each run with chalk, each hole with a centre mark.",
        "Look behind every mark. Measure the runs against the plan; write down what differs and correct the rig first.",
    ]
    step = blank(MARK, "take out", "Mark places, runs and holes", text)
    return replace(
        step, after=(After(DEAD, "Hands go in only where nothing is live."),),
        runs=tuple(range(1, len(rig.runs) + 1)), tools=("tape measure", "masking tape", "chalk", "torch", "camera"),
        cautions=cautions(rig, *hazards(rig, range(1, len(rig.runs) + 1))), time=duration(survey=1),
    )  # fmt: skip


def _take_out(job: Job) -> Iterator[Step]:
    old = job.as_found
    if old is None:
        return
    wires: dict[str, list[str]] = defaultdict(list)
    items: dict[str, list[str]] = defaultdict(list)
    for w in old.wires:
        if w.id not in job.kept_wires:
            a, b = old.item_of(w.start), old.item_of(w.end)
            wires[(b if a.part.family == "frame" else a).place].append(w.id)
    for item in old.items.values():
        if item.id not in job.kept_items and item.part.family not in ("frame", *IN_LOOM):
            items[item.place].append(item.id)
    for place in old.places:
        if place not in wires and place not in items:
            continue
        text = ["Label each wire before it comes off, and photograph how it lay."]
        if wires[place]:
            text.append(f"Wires out: {listed(wires[place])}.")
        if items[place]:
            text.append(f"Parts out: {listed(items[place])}.")
        text.append("Cap what stays. Leave no cut end and no empty hole open.")
        step = blank(f"take out:{place}", "take out", f"Take out what goes at {place}", text)
        yield replace(
            step, after=(After(MARK, "What is out can no longer be photographed in its place."),),
            tools=("spanners", "cutters", "label printer", "bags for small parts"),
            cautions=cautions(job.rig, "tools"), time=duration(take_out=len(wires[place]) + len(items[place])),
        )  # fmt: skip


def _keep(job: Job) -> Step:
    wires = sorted(job.kept_wires, key=job.order.__getitem__)
    text = [
        f"{counted(len(wires), 'wire')} of the old work {'stays' if len(wires) == 1 else 'stay'}: {listed(wires)}.",
        "Look along each for chafing, green copper and heat; pull at each crimp; clean or remake what is doubtful.",
        "Label both ends as the plan names them.",
    ]
    step = blank("keep:wires", "take out", "Check what stays", text)
    return replace(
        step, after=(After(MARK, "The marks say what stays."),), wires=tuple(wires),
        tools=("torch", "label printer", "crimp tool"), cautions=cautions(job.rig, "tools"),
        time=duration(keep=len(wires)), look=look_at(job, wires),
    )  # fmt: skip
