"""Before anything is live: fuses out and laid ready, connectors mated, no short, a last look, signed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from loomwright.protection.results import Device
from loomwright.rig.model import Item
from loomwright.steps.cautions import cautions
from loomwright.steps.job import Job, Notes, blank, listed, look_at
from loomwright.steps.results import After, Measure, Step
from loomwright.steps.starting import DEAD
from loomwright.steps.times import duration

SIGN = "sign:before power"
SHORT_MOHM = 1000.0
"""Less than this between feed and return is taken for a short: a capacitor that charges reads more within seconds."""


def protecting(job: Job, notes: Notes) -> Iterator[Step]:
    """Fuse holders empty, connectors mated, no short, covers on; then the second person signs."""
    ready = []
    by_item: dict[str, list[Device]] = defaultdict(list)
    for device in job.study.protection.devices.values():
        if device.way > 0:
            by_item[device.item].append(device)
    for item in job.rig.items.values():
        if item.part.family in ("fuse_holder", "fused_block", "breaker"):
            step = _empty(job, item, by_item[item.id], notes)
            ready.append(step.id)
            yield step
    for step in _mates(job, notes):
        ready.append(step.id)
        yield step
    fitted = [s.id for s in notes.steps if s.phase in ("panel", "fit", "ring out", "take out", "isolate")]
    shorts = _shorts(job, [*fitted, *ready])
    yield shorts
    text = [
        "Every fuse is out, every breaker off; the right ratings lie ready, none larger in reach.",
        "Bare studs covered, lids on, ties cut, tools out. Battery strapped down.",
        "Gains at their least, volume down, source unit off.",
        "Extinguisher in reach. Agreed who parts the battery, and how, if anything smells or smokes.",
    ]
    step = blank(SIGN, "protect", "Look over everything before first power", text)
    yield replace(
        step,
        after=(
            After(shorts.id, "A short is found before power, not by it."),
            *(After(s, "Part of what is signed.") for s in ready),
        ),
        tools=("torch",), cautions=cautions(job.rig, "battery", "first power"), time=duration(look_over=1),
        gate="The work may be powered: protection in place and empty, no short, covers on, someone at hand.",
    )  # fmt: skip


def _empty(job: Job, item: Item, devices: list[Device], notes: Notes) -> Step:
    land = f"land:{item.id}"
    if item.part.family == "breaker":
        text = [f"Switch {item.id} off; try that it stays off.", *(f"It must say {d.rating_a:g} A." for d in devices)]
    elif item.part.family == "fused_block":
        text = [
            f"Every way of {item.id} is empty; each is labelled with what it feeds.",
            *(f"Way {d.way}: {d.rating_a:g} A, laid ready and not put in." for d in devices),
        ]
        spare = [n for n in range(1, item.part.ways + 1) if n not in {d.way for d in devices}]
        if spare:
            text.append(f"For good: nothing in {'way' if len(spare) == 1 else 'ways'} {listed(map(str, spare))}.")
    else:
        text = [f"{item.id} is empty.", *(f"{d.rating_a:g} A, laid ready and not put in." for d in devices)]
    text.append("Nothing larger, ever: a larger fuse lets the wire burn first.")
    step = blank(f"protect:{item.id}", "protect", f"{item.id}: no fuse in, ratings ready", text)
    if item.part.family == "breaker":
        step = replace(step, title=f"{item.id}: off, rating read")
    wires = tuple(w.id for w in job.loom.wires if item.id in (w.start.partition(".")[0], w.end.partition(".")[0]))
    return replace(
        step, after=(After(land, "Its wires are on."),) if notes.has(land) else (After(DEAD, "It may be touched."),),
        items=(item.id,), wires=wires, tools=("fuse puller",),
        consumables=() if item.part.family == "breaker" else tuple(f"1 x fuse {d.rating_a:g} A" for d in devices),
        time=duration(fuse=max(1, len(devices))), look=look_at(job, wires, (item.id,)),
    )  # fmt: skip


def _mates(job: Job, notes: Notes) -> Iterator[Step]:
    places: dict[str, list[Item]] = defaultdict(list)
    for item in job.rig.family("connector"):
        places[item.place].append(item)
    for place, items in places.items():
        text = [f"{i.id}: mate until the latch clicks, then pull{_twins(job, i)}." for i in items]
        text.append("Seals in place, no contact pushed back, the wires free for a hand's breadth behind each half.")
        ids = tuple(i.id for i in items)
        wires = tuple(w.id for w in job.loom.wires if {w.start.partition(".")[0], w.end.partition(".")[0]} & set(ids))
        after = [s.id for s in notes.steps if s.phase == "fit" and set(s.routes) & set(wires)]
        step = blank(f"mate:{place}", "protect", f"Mate the connectors at {place}", text)
        lie = (After(n, "Its wires lie in their place.") for n in after)
        yield replace(
            step, after=(After(DEAD, "Nothing live is mated."), *lie),
            items=ids, wires=wires, time=duration(mate=len(ids)), look=look_at(job, wires, ids),
        )  # fmt: skip


def _twins(job: Job, item: Item) -> str:
    """What else a connector goes into; nothing where its key or its shape keeps it apart."""
    same = [
        o.id for o in job.rig.family("connector") if o.part.id == item.part.id and o.id != item.id and o.key == item.key
    ]
    return f"; its shape also goes into {listed(same)}, so read both labels first" if same else ""


def _shorts(job: Job, fitted: list[str]) -> Step:
    text = [
        "Battery leads still off, every load switched off.",
        "Measure from each feed behind an empty way to its return, and to the frame.",
        "Beside an amplifier the reading climbs while its capacitors fill: wait until it settles.",
        "Under an ohm: stop, and take leads off until it goes away. The last one off is the one.",
    ]
    step = blank("check:no short", "protect", "No short between feed and return", text)
    feeds = tuple(w.id for w in job.loom.wires if w.kind == "power")
    return replace(
        step, after=tuple(After(s, "The whole work is measured.") for s in fitted), wires=feeds, tools=("multimeter",),
        measures=(
            Measure(
                "ohms:no short", "lowest reading between any feed and its return", "mOhm", None, SHORT_MOHM, None,
                "All fuses out, everything connected, after the reading has settled.",
                "a loudspeaker or a filament reads more; a short reads less",
            ),
        ),
        time=duration(look_over=1), look=look_at(job, feeds),
    )  # fmt: skip
