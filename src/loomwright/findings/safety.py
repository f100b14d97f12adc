"""Loads that must go on when the audio system fails: ignition, lights, pumps, blower, fan."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from loomwright.findings.devices import title
from loomwright.findings.drill import SINGLE
from loomwright.findings.model import Finding, Severity
from loomwright.findings.registry import Say, check
from loomwright.findings.trees import Tree, amplifiers_below, tree
from loomwright.findings.words import count, listing
from loomwright.protection.results import FaultResult
from loomwright.rig.model import LoadSpec, Rig
from loomwright.study import Study


def safety_loads(rig: Rig) -> tuple[str, ...]:
    """Items whose part says that they must not go dark, in the order of the rig."""
    return tuple(i.id for i in rig.items.values() if isinstance(i.part.spec, LoadSpec) and i.part.spec.safety)


@check(
    "E308",
    "An audio fault takes a safety load down",
    "Fix",
    why="Ignition, running lights, bilge pump and blower must not depend on the audio system. Below the main of the "
    "amplifiers a fault in the one leaves the other dark: an engine that stops, a boat that fills. A main of the whole "
    "vehicle is another thing, where the amplifiers have one of their own below it.",
    remedy="Feed it from the battery or the vehicle's own fuse box, by a device that no amplifier hangs on.",
    source="fault drill on this rig; circuits apart by purpose is common practice",
    mark="common practice",
    unless="Know for one amplifier on the main of the vehicle's engine",
)
def safety_behind_audio(study: Study, say: Say) -> Iterator[Finding]:
    """Safety loads that a fault in an amplifier's branch, or on the main of the amplifiers, leaves dark."""
    rig, feeds = study.rig, tree(study)
    shared: dict[tuple[str, Severity], list[str]] = defaultdict(list)
    for load in safety_loads(rig):
        for device_id in feeds.above.get(load, ()):
            severity = _severity(rig, feeds, device_id)
            faults = _dark(study, device_id, load)
            spread = [f for f in faults if load not in f.own_branch and _of_amplifier(rig, feeds, f)]
            if faults and (severity or spread):
                shared[device_id, "Fix" if spread else severity or "Fix"].append(load)
                break
    for (device_id, severity), loads in sorted(shared.items()):
        faults = [f for load in loads for f in _dark(study, device_id, load)]
        places = sorted({f.where for f in faults})
        one = len(loads) == 1
        yield say(
            (device_id, *loads, *amplifiers_below(rig, feeds.below[device_id])),
            f"{listing(loads)} {'hangs' if one else 'hang'} below {title(study.protection.devices[device_id])} with "
            f"{listing(amplifiers_below(rig, feeds.below[device_id]))}; a fault at {count(len(places), 'place')} opens "
            f"it and leaves {'it' if one else 'them'} dark: {listing(places)}.",
            f"Feed {listing(loads)} from the battery by {'a device of its own' if one else 'devices of their own'}, "
            f"not below {device_id}.",
            severity=severity,
        )


def _severity(rig: Rig, feeds: Tree, device_id: str) -> Severity | None:
    """How grave it is that a safety load hangs below a device; None where that is no main of the amplifiers."""
    below = set(feeds.below[device_id])
    amps = amplifiers_below(rig, feeds.below[device_id])
    if not amps:
        return None
    if len(amps) > 1:
        own = any(set(amps) <= set(loads) < below for loads in feeds.below.values())
        return None if own else "Fix"
    engine = [i for i in safety_loads(rig) if i in below and _runs(rig, i) == "engine"]
    return "Know" if engine and device_id not in feeds.nearest[amps[0]] else "Fix"


def _runs(rig: Rig, item_id: str) -> str:
    spec = rig.items[item_id].part.spec
    return spec.runs if isinstance(spec, LoadSpec) else ""


def _dark(study: Study, device_id: str, load: str) -> list[FaultResult]:
    """Rubbed-through wires and amplifier faults that open a device and leave a load dark."""
    drill = study.protection.drill
    return [f for f in drill if f.kind in SINGLE and load in f.dark and any(o.device == device_id for o in f.openings)]


def _of_amplifier(rig: Rig, feeds: Tree, fault: FaultResult) -> bool:
    """Whether a fault is inside an amplifier or on a wire that feeds one."""
    return any(rig.items[i].part.family == "amplifier" for i in (fault.where, *fault.own_branch) if i in rig.items)
