"""Fuses and breakers: is each one right for its wires, its load, its place and the fault current there?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from math import isinf

from loomwright.facts import ampacity, fuses
from loomwright.findings.feeds import law_binds
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.sizes import Sizes, too_hot, undone
from loomwright.findings.steady import loudest, worst_device
from loomwright.findings.trees import tree
from loomwright.findings.ways import amplifiers
from loomwright.findings.words import amount, count, listing, num
from loomwright.protection.results import Device
from loomwright.study import Study

FAR_OVER = ampacity.device_limit_ratio()
"""Device over ampacity from which on not even a short is safe: 33 CFR 183.455 allows no more, and for shorts only."""


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
        states = loudest(study).items
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
    unless="Stop where the device is above 150 % of the ampacity",
)
def device_over_wire(study: Study, say: Say) -> Iterator[Finding]:
    """Devices rated above the derated ampacity of a wire that they guard."""
    thin: dict[str, list[tuple[float, str]]] = defaultdict(list)
    wires_by_id = {w.id: w for w in study.rig.wires}
    sizes = Sizes(study.rig)
    for guard in study.protection.guards.values():
        wire = wires_by_id[guard.wire]
        if wire.kind not in ("power", "remote") or isinf(guard.rating_a) or guard.tap_to or too_hot(study.rig, wire):
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
        ratio = rated_a(device) / ampacity_a
        thicker = sizes.stronger([wires_by_id[w] for _, w in sorted(wires)], rated_a(device))
        smaller = largest_rating_a(device, ampacity_a)
        yield say(
            (device_id, *sorted(w for _, w in wires)),
            f"{title(device)} guards {worst}: {size}, {wire.insulation_c} °C insulation at "
            f"{num(study.rig.wire_temperature_c(wire))} °C, good for {amount(ampacity_a, 'A')}; {num(100 * ratio)} % "
            "of that.",
            _smaller_or_thicker(study, device, smaller, thicker, [w for _, w in sorted(wires)]),
            severity="Stop" if ratio > FAR_OVER else None,
        )


def _smaller_or_thicker(
    study: Study, device: Device, smaller_a: float | None, thicker: str, wires: Sequence[str]
) -> str:
    """A smaller device where that carries what flows all day; else thicker wires, or a device of their own."""
    state = worst_device(study, device.id)
    carried_a, usable_a = (abs(state.amps_a), max(state.usable_a, 1e-9)) if state is not None else (0.0, 1.0)
    if smaller_a is not None and smaller_a < device.rating_a * carried_a / usable_a:
        own = f"{amount(smaller_a, 'A')} of {'its' if len(wires) == 1 else 'their'} own before {listing(wires)}"
        return f"Fit {thicker}, or a fuse of {own}; {device.id} itself carries {amount(carried_a, 'A')}."
    cure = f"Fit {amount(smaller_a, 'A')} or less" if smaller_a else "Fit a smaller device"
    return f"{cure} in {device.id}, or {thicker}."


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
    nearest, left = tree(study).nearest, undone(study)
    sine = study.power.case("cruise", "sine")
    for item, spec in amplifiers(study.rig):
        own_a = sum(spec.own_fuses_a)
        for device_id in nearest.get(item.id, ()):
            device = study.protection.devices[device_id]
            state = sine.items.get(item.id)
            if not own_a or state is None or device_id in left:
                continue
            if rated_a(device) >= own_a or state.amps_a <= rated_a(device):
                continue
            yield say(
                (device_id, item.id),
                f"{title(device)} feeds {item.id}, whose own fuses are {amount(own_a, 'A')}; flat out it draws "
                f"{amount(state.amps_a, 'A')}.",
                f"Fit {amount(own_a, 'A')} in {device_id} with a wire that carries it, or tell the owner that it "
                "opens when driven flat out.",
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
