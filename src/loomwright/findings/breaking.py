"""Breaking capacity: can each device interrupt the current that a bolted fault behind it would draw?"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.facts import fuses
from loomwright.findings.devices import title
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.words import amount, count, listing, num
from loomwright.protection.devices import SUPPLY_V
from loomwright.protection.results import Device
from loomwright.study import Study

THIN_MARGIN = 0.9
"""Share of the interrupting rating above which a margin is called thin."""
BACKED_UP = 1.05
"""Share up to which a device may lie above its rating where one above it in series can break the current."""
FAR_BEYOND = 2.0
"""Share above which not even the gain at low volts helps: one fuse breaks 1000 A at 32 V and 2000 A at 16 V."""


def _shares(study: Study) -> Iterator[tuple[float, float, Device]]:
    """Prospective current over interrupting rating, that current [A], and the device."""
    for device_id, device in sorted(study.protection.devices.items()):
        fault_a = study.power.prospective_a.get(device_id)
        if fault_a is not None and device.interrupting_a > 0:
            yield fault_a / device.interrupting_a, fault_a, device


def _backed(study: Study, share: float, fault_a: float, device: Device) -> str | None:
    """The device above that can break the current in place of one that lies above its rating, if that will do.

    It will for the fuses inside an amplifier, and for others up to a twentieth above.
    """
    if device.way and share > BACKED_UP:
        return None
    chains = [c[: c.index(device.id)] for c in study.protection.chains if device.id in c]
    able = [[d for d in c if study.protection.devices[d].interrupting_a >= fault_a] for c in chains]
    return able[0][-1] if able and all(able) else None


def _stronger(device: Device, fault_a: float, *, in_block: bool) -> str:
    """Types that break the current in a device's rating, or the next one up, in words; empty where there are none.

    A cube for the battery's post is no fuse for a block.
    """
    found = []
    for device_type in fuses.types():
        if in_block and device_type == "post_mount":
            continue
        rating_a = next((r for r in fuses.ratings_a(device_type) if r >= device.rating_a), None)
        if rating_a is not None and _breaks_a(device_type) >= fault_a:
            kin = device_type.startswith("breaker") == device.type.startswith("breaker")
            found.append((not kin, rating_a, device_type))
    return " or ".join(
        f"{made} ({fuses.title(made)}), {amount(rating_a, 'A')}, breaks {amount(_breaks_a(made), 'A')}"
        for _, rating_a, made in sorted(found)[:2]
    )


def _breaks_a(device_type: str) -> float:
    return fuses.interrupting_a(device_type, SUPPLY_V)[0]


@check(
    "E203",
    "Interrupting rating too low",
    "Fix",
    why="A device that is asked to break more than it can may burst, or strike an arc that goes on. Every battery "
    "tied in adds to the fault current.",
    remedy="Fit a type with a higher interrupting rating, or put such a device above it.",
    source="component data sheets citing ISO 8820; ABYC E-11 table of interrupting capacity (secondary)",
    mark="published",
    unless="Stop where the current is more than twice what the device breaks",
)
def interrupting_rating(study: Study, say: Say) -> Iterator[Finding]:
    """Devices that cannot break their prospective current, and nothing above them that does it for them."""
    for share, fault_a, device in _shares(study):
        if share > 1.0 and _backed(study, share, fault_a, device) is None:
            block = study.rig.items[device.item].part.family == "fused_block"
            made = _stronger(device, fault_a, in_block=block) if device.way else ""
            yield say(
                (device.id,),
                f"{amount(fault_a, 'A')} can flow just after {title(device)}, which breaks "
                f"{amount(device.interrupting_a, 'A')}.",
                _cure(device, fault_a, made, block=block),
                severity="Stop" if share > FAR_BEYOND else None,
                provisional=device.provisional,
            )


def _cure(device: Device, fault_a: float, made: str, *, block: bool) -> str:
    """What to fit, or where to feed from, where a device cannot break its current; ``made`` are types that can."""
    if made:
        return f"Fit a type with a higher interrupting rating in place of {device.id}: {made}."
    if block:
        return (
            f"No fuse for a block breaks that. Give what hangs on {device.id} its own cube on the battery post, or "
            f"lead a longer way to {device.item}: less then flows."
        )
    return f"Fit a device that breaks {amount(fault_a, 'A')} or more above {device.id}."


@check(
    "E212",
    "Thin margin of interrupting rating",
    "Know",
    why="Close to its interrupting rating a device still breaks, but a shorter wire or a second battery would take "
    "the margin away. The fuses inside an amplifier may lie above theirs where the fuse of the branch can do it; so "
    "may others, by a twentieth, behind a device that can.",
    remedy="Keep the wires above as long as they are, and the types that are fitted.",
    source="component data sheets citing ISO 8820; one fuse breaks twice the amperes at 16 V that it does at 32 V",
    mark="published",
)
def thin_margin(study: Study, say: Say) -> Iterator[Finding]:
    """Devices less than 10 % below their interrupting rating, and those above it that a device above them backs up."""
    thin = [x for x in _shares(study) if THIN_MARGIN < x[0] <= 1.0]
    if thin:
        share, fault_a, worst = max(thin, key=lambda x: (x[0], x[2].id))
        yield say(
            tuple(d.id for _, _, d in thin),
            f"{count(len(thin), 'device')} less than 10 % under the rating: {amount(fault_a, 'A')} can flow just after "
            f"{title(worst)}, which breaks {amount(worst.interrupting_a, 'A')} ({num(100 * share)} %).",
            "Keep the wires above as long as they are, or choose a type with a higher interrupting rating.",
            provisional=any(d.provisional for _, _, d in thin),
        )
    backed = [
        (fault_a, device, above)
        for share, fault_a, device in _shares(study)
        if share > 1.0 and (above := _backed(study, share, fault_a, device)) is not None
    ]
    if backed:
        fault_a, own, above = max(backed, key=lambda x: (x[0], x[1].id))
        yield say(
            tuple(d.id for _, d, _ in backed),
            f"Up to {amount(fault_a, 'A')} can flow just after {title(own)}, which breaks "
            f"{amount(own.interrupting_a, 'A')}; {above} above it can break that.",
            f"Leave it; do not replace {listing(sorted({a for _, _, a in backed}))} by a type that breaks less.",
        )
