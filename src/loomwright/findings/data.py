"""Data under a verdict: what rests on memory, and what was invented."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.facts import batteries
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.words import count, listing
from loomwright.rig.model import BatterySpec
from loomwright.study import Study


@check(
    "E991",
    "Provisional data under a verdict",
    "Know",
    why="Some figures could not be found in a published source and rest on memory. A verdict that rests on them is "
    "only as good.",
    remedy="Ask the maker for the data sheet, and put its figures in your own catalogue.",
    source="rows marked 'from memory' in facts/data",
    mark="from memory",
)
def provisional_data(study: Study, say: Say) -> Iterator[Finding]:
    """Devices and batteries whose figures rest on memory, in one line, with the drill verdicts that rest on them."""
    devices = sorted(d.id for d in study.protection.devices.values() if d.provisional)
    resting = [
        i.id
        for i in study.rig.family("battery")
        if isinstance(i.part.spec, BatterySpec) and batteries.rest_provisional(i.part.spec.rest_table)
    ]
    if not devices and not resting:
        return
    types = sorted({study.protection.devices[d].type for d in devices})
    verdicts = sum(1 for f in study.protection.drill if f.provisional)
    parts = []
    if devices:
        parts.append(
            f"gates or limits of {count(len(devices), 'device')} ({listing(devices)}; type {listing(types)}), under "
            f"{count(verdicts, 'verdict')} of the fault drill"
        )
    if resting:
        parts.append(f"resting volts of {listing(resting)}")
    yield say(
        (*devices, *resting),
        f"From memory: {'; '.join(parts)}.",
        "Read these figures in the makers' data sheets before relying on a narrow verdict.",
        provisional=True,
    )


@check(
    "E992",
    "Parts with invented data",
    "Know",
    why="Demonstration parts have made-up figures. What is worked out from them is an example.",
    remedy="Put the real parts in your own catalogue.",
    source="the catalogue's own mark",
    mark="calculated",
)
def invented_parts(study: Study, say: Say) -> Iterator[Finding]:
    """Items whose part is marked as invented, in one line."""
    found = sorted(i.id for i in study.rig.items.values() if i.part.demo)
    if found:
        yield say(
            found,
            f"{count(len(found), 'item')} with invented data: {listing(found)}.",
            "Use the figures of the parts that you have in hand.",
        )
