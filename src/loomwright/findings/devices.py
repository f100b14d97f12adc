"""Fuses and breakers: is each one right for its wires, its load, its place and the fault current there?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from math import isinf

from loomwright.facts import ampacity, fuses
from loomwright.findings.feeds import law_binds
from loomwright.findings.model import Finding, Severity
from loomwright.findings.registry import Say, check
from loomwright.findings.trees import amplifiers_below, tree
from loomwright.findings.ways import amplifiers
from loomwright.findings.words import amount, count, listing, num
from loomwright.protection.results import Device
from loomwright.study import Study

FAR_OVER = ampacity.device_limit_ratio()
"""Device over ampacity from which on not even a short is safe: 33 CFR 183.455 allows no more, and for shorts only."""
THIN_MARGIN = 0.9
"""Share of the interrupting rating above which a margin is called thin."""
SURE_MARGIN = 1.1
"""Share above which the rating is exceeded beyond what the figures can be wrong by."""
FAR_BEYOND = 2.0
"""Share above which not even the gain at low volts helps: one fuse breaks 1000 A at 32 V and 2000 A at 16 V."""


def title(device: Device) -> str:
    """``block.2 (40 A C)``."""
    many = f"{device.count} x " if device.count > 1 else ""
    return f"{device.id} ({many}{amount(device.rating_a, 'A')} {device.type})"


def rated_a(device: Device) -> float:
    """Rating of all equal fuses together [A]."""
    return device.rating_a * device.count


def largest_rating_a(device: Device, limit_a: float) -> float | None:
    """Largest rating of the device's type that does not exceed a limit, or None."""
    return max((r for r in fuses.ratings_a(device.type) if r <= limit_a), default=None)


@check(
    "E201",
    "One device over several amplifiers",
    "Fix",
    why="A device sized for several amplifiers does not see a fault in the smallest of them, and when it does open, "
    "all go dark together. One fault must take out one branch only.",
    remedy="Give each amplifier a fuse of its own, in a fused block.",
    source="IEC 60364-4-43, protection of each circuit; common practice",
    mark="common practice",
)
def shared_device(study: Study, say: Say) -> Iterator[Finding]:
    """Devices that are the nearest one above two amplifiers or more."""
    nearest: dict[str, list[str]] = defaultdict(list)
    for load, devices in tree(study).nearest.items():
        if study.rig.items[load].part.family == "amplifier":
            for d in devices:
                nearest[d].append(load)
    for device_id, loads in sorted(nearest.items()):
        if len(loads) < 2:
            continue
        device = study.protection.devices[device_id]
        states = study.power.case("cruise", "loud").items
        draws = {i: states[i].amps_a for i in loads if i in states}
        small = min(draws, key=lambda i: draws[i], default=loads[0])
        drawn = f"; {small} draws only {amount(draws[small], 'A')} at loud" if small in draws else ""
        yield say(
            (device_id, *loads),
            f"{title(device)} is the nearest device above {listing(loads)}{drawn}.",
            f"Fit {count(len(loads), 'fuse')}, one for each of {listing(loads)}, in place of the shared {device_id}.",
        )


@check(
    "E202",
    "Device larger than the thinnest wire it guards",
    "Fix",
    why="A current just under the rating flows for ever. Where the wire carries less than the device, the wire is "
    "the fuse. The 150 % that the boat law allows saves a wire from shorts, not from overload.",
    remedy="Fit a smaller device, or a thicker wire.",
    source="IEC 60364-4-43 433.1; 33 CFR 183.455 (150 % of table 5 at most)",
    mark="published",
)
def device_over_wire(study: Study, say: Say) -> Iterator[Finding]:
    """Devices rated above the derated ampacity of a wire that they guard."""
    thin: dict[str, list[tuple[float, str]]] = defaultdict(list)
    for guard in study.protection.guards.values():
        wire = study.rig.wire(guard.wire)
        if wire.kind not in ("power", "remote") or isinf(guard.rating_a) or guard.ampacity_a <= 0:
            continue
        for device_id in guard.devices:
            device = study.protection.devices[device_id]
            if rated_a(device) > guard.ampacity_a * 1.005:
                thin[device_id].append((guard.ampacity_a, guard.wire))
    for device_id, wires in sorted(thin.items()):
        device = study.protection.devices[device_id]
        ampacity_a, worst = min(wires)
        wire = study.rig.wire(worst)
        size = wire.size.label if wire.size else "no size"
        smaller = largest_rating_a(device, ampacity_a)
        cure = f"Fit {amount(smaller, 'A')} or less" if smaller else "Fit a smaller device"
        ratio = rated_a(device) / ampacity_a
        yield say(
            (device_id, *sorted(w for _, w in wires)),
            f"{title(device)} guards {worst}: {size}, {wire.insulation_c} C insulation at "
            f"{num(study.rig.wire_temperature_c(wire))} C, good for {amount(ampacity_a, 'A')}; {num(100 * ratio)} % "
            "of that.",
            f"{cure} in {device_id}, or a wire good for {amount(rated_a(device), 'A')} as "
            f"{listing(sorted(w for _, w in wires))}.",
            severity="Stop" if ratio > FAR_OVER else None,
        )


@check(
    "E203",
    "Interrupting rating too low",
    "Fix",
    why="A device that is asked to break more than it can may burst, or strike an arc that goes on. Every battery "
    "tied in adds to the fault current.",
    remedy="Fit a type with a higher interrupting rating, or put such a device above it.",
    source="component data sheets citing ISO 8820; ABYC E-11 table of interrupting capacity (secondary)",
    mark="published",
)
def interrupting_rating(study: Study, say: Say) -> Iterator[Finding]:
    """Devices that cannot break their prospective current; thin margins and backed-up ones in one Know line each."""
    thin: list[tuple[float, Device]] = []
    backed: dict[str, str] = {}
    for device_id, device in sorted(study.protection.devices.items()):
        fault_a = study.power.prospective_a.get(device_id)
        if fault_a is None or device.interrupting_a <= 0:
            continue
        share = fault_a / device.interrupting_a
        if share > SURE_MARGIN and (above := _able_above(study, device, fault_a)) is not None:
            backed[device_id] = above
        elif share > SURE_MARGIN:
            severity: Severity | None = "Stop" if share > FAR_BEYOND else None
            yield say(
                (device_id,),
                f"{amount(fault_a, 'A')} can flow just after {title(device)}, which breaks "
                f"{amount(device.interrupting_a, 'A')}.",
                f"Fit a device that breaks {amount(fault_a, 'A')} or more in place of {device_id}, or above it.",
                severity=severity,
                provisional=device.provisional,
            )
        elif share > THIN_MARGIN:
            thin.append((share, device))
    if thin:
        share, worst = max(thin, key=lambda x: (x[0], x[1].id))
        fault_a = study.power.prospective_a[worst.id]
        yield say(
            tuple(d.id for _, d in thin),
            f"Thin margin at {count(len(thin), 'device')}: {amount(fault_a, 'A')} can flow just after {title(worst)}, "
            f"which breaks {amount(worst.interrupting_a, 'A')} ({num(100 * share)} %).",
            "Keep the wires above as long as they are, or choose a type with a higher interrupting rating.",
            severity="Know",
            provisional=any(d.provisional for _, d in thin),
        )
    if backed:
        worst_a, own = max((study.power.prospective_a[d], d) for d in backed)
        yield say(
            tuple(backed),
            f"Up to {amount(worst_a, 'A')} can flow just after {title(study.protection.devices[own])}, more than it "
            f"breaks; {backed[own]} above it can.",
            f"Leave it; do not replace {listing(sorted(set(backed.values())))} by a type that breaks less.",
            severity="Know",
        )


def _able_above(study: Study, device: Device, fault_a: float) -> str | None:
    """For the fuses inside an amplifier: the device above them that can break the fault current, if there is one."""
    chain = next((c for c in study.protection.chains if device.id in c), ()) if device.way == 0 else ()
    able = [d for d in chain if d != device.id and study.protection.devices[d].interrupting_a * SURE_MARGIN >= fault_a]
    return able[-1] if able else None


@check(
    "E206",
    "Branch fuse smaller than the amplifier's own",
    "Know",
    why="The maker's fuses tell what the amplifier may draw. A smaller branch fuse opens first in long flat-out "
    "passages.",
    remedy="Fit the branch with the sum of the amplifier's own fuses, where the wire allows it.",
    source="common practice",
    mark="common practice",
)
def below_own_fuses(study: Study, say: Say) -> Iterator[Finding]:
    """Amplifiers whose branch fuse would be overrun at full output and is smaller than their own fuses."""
    nearest = tree(study).nearest
    sine = study.power.case("cruise", "sine")
    for item, spec in amplifiers(study.rig):
        own_a = sum(spec.own_fuses_a)
        for device_id in nearest.get(item.id, ()):
            device = study.protection.devices[device_id]
            state = sine.items.get(item.id)
            if not own_a or state is None or rated_a(device) >= own_a or state.amps_a <= rated_a(device):
                continue
            yield say(
                (device_id, item.id),
                f"{title(device)} feeds {item.id}, whose own fuses are {amount(own_a, 'A')}; flat out it draws "
                f"{amount(state.amps_a, 'A')}.",
                f"Fit {amount(own_a, 'A')} in {device_id} with a wire that carries it, or tell the owner that it "
                "opens when driven flat out.",
            )


@check(
    "E207",
    "Pair of devices not selective",
    "Fix",
    why="Where the upper device can open before the lower one, a fault in one branch takes all branches down. By "
    "their gates alone hardly any two devices are selective; the melting energy decides.",
    remedy="Make the upper device slower or larger, or the lower one smaller: melting I2t at least 2 to 1.",
    source="melting I2t of component data sheets; ratio of 2 to 3 is common practice",
    mark="common practice",
)
def not_selective(study: Study, say: Say) -> Iterator[Finding]:
    """Pairs in series, neither proved nor typically selective, of which the upper one feeds other branches too."""
    below = tree(study).below
    typical: list[tuple[float, str, str, bool]] = []
    for pair in study.protection.pairs:
        upper = set(below.get(pair.upstream, ()))
        lower_id = pair.downstream
        lower = {lower_id.rpartition(".")[0]} if lower_id.endswith(".own") else set(below.get(lower_id, ()))
        if not upper - lower or pair.proved:
            continue
        if pair.typical:
            typical.append((pair.ratio_i2t, pair.upstream, pair.downstream, pair.provisional))
            continue
        up, down = study.protection.devices[pair.upstream], study.protection.devices[pair.downstream]
        others = amplifiers_below(study.rig, sorted(upper - lower)) or tuple(sorted(upper - lower))
        yield say(
            (pair.upstream, pair.downstream),
            f"{title(up)} over {title(down)}: melting I2t {num(pair.ratio_i2t)} to 1 at "
            f"{amount(pair.prospective_a, 'A')}; {listing(others)} would go dark too.",
            f"Fit a larger or slower device as {pair.upstream}, or a smaller one in {pair.downstream}: 2 to 1 or more.",
            provisional=pair.provisional,
        )
    if typical:
        ratio, up_id, down_id, _ = min(typical)
        yield say(
            sorted({p for _, u, d, _ in typical for p in (u, d)}),
            f"{count(len(typical), 'pair')} in series is selective by typical melting I2t, not proved by the gates; "
            "the closest is "
            f"{up_id} over {down_id}, {num(ratio)} to 1."
            if len(typical) == 1
            else f"{count(len(typical), 'pair')} in series are selective by typical melting I2t, not proved by the "
            f"gates; the closest is {up_id} over {down_id}, {num(ratio)} to 1.",
            "Nothing to do; keep to the types and ratings given when a device is replaced.",
            severity="Know",
            provisional=any(p for *_, p in typical),
        )


@check(
    "E208",
    "Auto-reset breaker as the only guard",
    "Fix",
    why="A type 1 breaker closes again by itself. Into a lasting fault it cycles until something burns or its "
    "contacts weld.",
    remedy="Replace it by a fuse or a breaker that is reset by hand, or put a fuse in series.",
    source="SAE J553 types (summary); 33 CFR 183.455 asks for manual reset, trip-free",
    mark="published",
)
def auto_reset_only(study: Study, say: Say) -> Iterator[Finding]:
    """Type 1 breakers with no other kind of device in series above or below them on the way to a load."""
    above = tree(study).above
    devices = study.protection.devices
    for device_id, device in sorted(devices.items()):
        if device.type != "breaker_1":
            continue
        alone = sorted(
            load
            for load, chain in above.items()
            if device_id in chain and all(devices[d].type == "breaker_1" for d in chain)
        )
        if alone:
            law = " The boat law forbids it here." if law_binds(study.rig) else ""
            yield say(
                (device_id, *alone),
                f"{title(device)} resets by itself and is all that guards {listing(alone)}.{law}",
                f"Fit a fuse of {amount(device.rating_a, 'A')} in series with {device_id}, or a type 3 breaker in its "
                "place.",
            )


