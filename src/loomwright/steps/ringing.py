"""The ring-out on the bench, before any power: what must connect, what must not."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from loomwright.loom.results import Joined
from loomwright.steps.job import CLASSES, Job, Notes, blank, counted, listed, look_at
from loomwright.steps.results import After, Measure, Step
from loomwright.steps.times import duration

APART = "ring:apart"
_TITLES = {"power": "feeds and returns", "signal": "line and remote leads", "speaker": "speaker leads"}


def ringing(job: Job, notes: Notes) -> Iterator[Step]:
    """The pairs that must connect, by what they carry; then every net against the rest, signed."""
    sheet = job.loom.ring_out
    made = {w.id for w in job.made}
    rows = [j for j in sheet.joined if set(j.wires) & made]
    ready = tuple(After(s, "The harness is rung out whole.") for s in notes.of("make"))
    if not made:
        return
    groups: dict[str, list[Joined]] = defaultdict(list)
    for j in rows:
        groups[CLASSES[job.rig.wire(j.wires[0]).kind]].append(j)
    names = []
    for what, title in _TITLES.items():
        if groups[what]:
            step = _joined(job, what, title, groups[what], ready)
            names.append(step.id)
            yield step
    text = [
        (
            f"Tie one point of each of the {counted(len(sheet.one_against_rest), 'net')} of the sheet together, take "
            "one out at a time and measure it against all the rest. Every reading must be open."
        ),
        (
            f"So each of the {counted(len(sheet.apart), 'pair')} that must not connect is tried. Start with those that "
            "lie closest:"
        ),
        *(f"{p.a} and {p.b}: {p.why}." for p in sheet.apart[:5]),
    ]
    step = blank(APART, "ring out", "Nothing joined that must be apart", text)
    yield replace(
        step, after=tuple(After(n, "A wire in a wrong hole shows here first.") for n in names) or ready,
        wires=tuple(w.id for w in job.made), tools=("multimeter", "clip leads"),
        time=duration(test=len(sheet.one_against_rest)),
        gate="The harness is rung out: every pair connects within its milliohms, no net touches another.",
    )  # fmt: skip


def _joined(job: Job, what: str, title: str, rows: list[Joined], ready: tuple[After, ...]) -> Step:
    text = [
        "Harness on the bench, connectors mated, nothing else connected. Zero the leads of the meter.",
        "In this order: it finds a fault soonest. Wiggle each crimp while you read.",
    ]
    if what == "speaker":
        text.append("Plus is the wire without a stripe. A pair that is changed over shows as two opens.")
    step = blank(f"ring:{what}", "ring out", f"Ring out the {title}", text)
    wires = tuple(dict.fromkeys(w for j in rows for w in j.wires))
    return replace(
        step, after=ready, wires=wires, tools=("multimeter that reads milliohms", "clip leads"),
        time=duration(test=len(rows)), look=look_at(job, wires),
        measures=tuple(
            Measure(
                f"ring:{j.a} > {j.b}", f"{j.a} to {j.b}", "mOhm", round(j.expected_mohm, 2), 0.0,
                round(j.most_mohm, 2), f"By way of {listed(j.wires)}." if j.wires else "",
                "length, size and joints of the rig; meter leads zeroed",
            )
            for j in rows
        ),
    )  # fmt: skip
