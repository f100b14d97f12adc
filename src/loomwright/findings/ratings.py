"""Ratings: what each device and part carries in the long run, against what it is made for."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from loomwright.facts import fuses
from loomwright.findings.devices import title
from loomwright.findings.joints import unfit_splices
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.sizes import Sizes, undone
from loomwright.findings.steady import steady, worst_device
from loomwright.findings.ways import ways_of
from loomwright.findings.words import amount, listing, num
from loomwright.protection.results import Choice
from loomwright.rig.model import FuseSpec, Item, Part
from loomwright.study import Study


@check(
    "E204",
    "Device loaded beyond continuous use",
    "Fix",
    why="A fuse or breaker carries about 80 % of its rating for hours, less where it is hot. Above that it ages, "
    "warms its clips and opens one day for no fault at all.",
    remedy="Fit the next larger rating that the wire allows, or share the load.",
    source="common practice: 75 to 80 % of rating; component data sheets for temperature",
    mark="common practice",
)
def loaded_device(study: Study, say: Say) -> Iterator[Finding]:
    """Devices that carry more at `loud` than their temperature-corrected continuous current."""
    left = undone(study)
    for device_id, device in sorted(study.protection.devices.items()):
        state = worst_device(study, device_id)
        if device.way == 0 or device_id in left or state is None or abs(state.amps_a) <= state.usable_a * 1.01:
            continue
        need_a = device.rating_a * abs(state.amps_a) / state.usable_a
        bigger = next((r for r in fuses.ratings_a(device.type) if r >= need_a), None)
        size = amount(bigger, "A") if bigger else f"a type that is made for {amount(need_a, 'A')}"
        yield say(
            (device_id,),
            f"{title(device)} carries {amount(abs(state.amps_a), 'A')} at loud; at {num(device.temperature_c)} °C it "
            f"is good for {amount(state.usable_a, 'A')} without end.",
            f"Fit {size} in {device_id} if its wires allow it, or split its load.",
        )


@check(
    "E205",
    "Device weakened by a hot place",
    "Know",
    why="Heat from the place adds to the heat in the device: it opens at less than its rating.",
    remedy="Move the device to a cooler place, or count with what is left of its rating.",
    source="component data sheets: blade fuses, 40 A at 20 °C is 30 A at 85 °C",
    mark="published",
)
def hot_device(study: Study, say: Say) -> Iterator[Finding]:
    """Devices that lose more than a fifth of their rating to heat and are used near what is left."""
    left = undone(study)
    for device_id, device in sorted(study.protection.devices.items()):
        state = worst_device(study, device_id)
        factor = fuses.temperature_factor(device.type, device.temperature_c)
        if state is None or device_id in left or factor >= 0.8 or abs(state.amps_a) < 0.7 * state.usable_a:
            continue
        yield say(
            (device_id,),
            f"{title(device)} sits at {num(device.temperature_c)} °C and is worth "
            f"{amount(device.rating_a * factor, 'A')} there; it carries {amount(abs(state.amps_a), 'A')} at loud.",
            f"Move {device.item} out of the heat, or leave it and expect it to open at {num(100 * factor)} % of its "
            "rating.",
            provisional=device.provisional,
        )


@check(
    "E209",
    "Rating that its type is not made in",
    "Fix",
    why="A rating off the list of its type, or above what the holder takes, cannot be bought or does not belong in "
    "that holder.",
    remedy="Choose a rating on the list that the holder takes.",
    source="usual series of the type (from memory); the part's own limit",
    mark="from memory",
)
def rating_off_list(study: Study, say: Say) -> Iterator[Finding]:
    """Fuses whose rating is not in the series of their type or above the holder's limit."""
    for device_id, device in sorted(study.protection.devices.items()):
        spec = study.rig.items[device.item].part.spec
        if device.way == 0 or not isinstance(spec, FuseSpec) or device.type.startswith("breaker"):
            continue
        most = spec.max_rating_a
        ratings = [r for r in fuses.ratings_a(device.type) if r <= most]
        if device.rating_a in ratings:
            continue
        near = min(ratings, key=lambda r: (abs(r - device.rating_a), r), default=None)
        reason = (
            f"its holder takes {amount(most, 'A')} at "
            "most" if device.rating_a > most else f"type {device.type} is not made in it"
        )
        yield say(
            (device_id,),
            f"{device_id} is to hold {amount(device.rating_a, 'A')}; {reason}.",
            f"Fit {amount(near, 'A')} in {device_id}." if near else f"Change the holder {device.item}.",
            provisional=device.rating_a <= most,
        )


@check(
    "E210",
    "Automatic choice does not meet every demand",
    "Fix",
    why="No size or rating on the list meets volts, ampacity and selectivity together; the nearest one was taken.",
    remedy="Relax what stands in the way, or change the layout.",
    source="calculated from the rig",
    mark="calculated",
)
def choice_not_met(study: Study, say: Say) -> Iterator[Finding]:
    """Sizes and ratings left to be chosen for which nothing on the list would do."""
    left = undone(study)
    for choice in study.protection.choices:
        if not choice.met and choice.where not in left:
            yield say(
                (choice.where,),
                f"{choice.where} became {choice.chosen}: {choice.reason.rstrip('.')}.",
                _thicker(study, choice)
                or f"Set {choice.where} by hand, or shorten the way, cool the place or share the load.",
            )


def _thicker(study: Study, choice: Choice) -> str:
    """What to fit where wires of a size that was given hold a rating down; empty where it is something else."""
    chosen = {c.where.removeprefix("wire ") for c in study.protection.choices}
    mine = [g for g in study.protection.guards.values() if choice.where in g.devices and not g.tap_to]
    thin = [g.wire for g in mine if g.ampacity_a < choice.need_a]
    if not thin or chosen & set(thin):
        return ""
    sizes = Sizes(study.rig).stronger([study.rig.wire(w) for w in thin], choice.need_a)
    return f"Fit {sizes}, for a fuse of {amount(choice.need_a, 'A')}; or cool the place, or share the load."


@check(
    "E211",
    "Part carries more than its rating",
    "Fix",
    why="A switch, relay, isolator or bus bar run above its rating warms, pits and welds.",
    remedy="Fit a part with a higher rating.",
    source="the part's own rating",
    mark="published",
)
def part_overloaded(study: Study, say: Say) -> Iterator[Finding]:
    """Switches, relays, isolators and bars whose busiest terminal carries more than they are rated for."""
    unfit = unfit_splices(study.rig)
    for item in study.rig.family("switch", "relay", "isolator", "bus", "plain_block", "splice"):
        if item.id in unfit:
            continue
        rating_a = part_rating_a(item.part)
        worst_a, wires = busiest(study, item)
        if worst_a > rating_a * 1.01:
            yield say(
                (item.id,),
                f"{item.id} carries {amount(worst_a, 'A')} by {listing(wires)} and is rated {amount(rating_a, 'A')}.",
                f"Fit a part rated {amount(worst_a * 1.25, 'A')} or more as {item.id}.",
            )


def part_rating_a(part: Part) -> float:
    """What a switch, relay, isolator or bar is rated for [A]; infinite where the part does not say."""
    found = (getattr(part.spec, name, None) for name in ("contact_rating_a", "rating_a"))
    return next((float(v) for v in found if v is not None), inf)


def busiest(study: Study, item: Item) -> tuple[float, tuple[str, ...]]:
    """Most that any one terminal of an item carries in a state up to `loud` [A], and the wires that bring it."""
    ways = ways_of(study.rig)
    worst_a: float = 0.0
    where: tuple[str, ...] = ()
    for case in steady(study):
        for terminal in item.part.terminals:
            wires = [w for w in ways.wires_at(f"{item.id}.{terminal.name}") if w.id in case.wires]
            inwards = [1 if w.end.partition(".")[0] == item.id else -1 for w in wires]
            amps = abs(sum(s * case.wires[w.id].amps_a for s, w in zip(inwards, wires, strict=True)))
            if amps > worst_a:
                worst_a, where = amps, tuple(w.id for w in wires)
    return worst_a, where
