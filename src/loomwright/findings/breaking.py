"""Breaking capacity: can each device interrupt the current that a bolted fault behind it would draw?"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings.devices import title
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.words import amount, count, listing, num
from loomwright.protection.results import Device
from loomwright.study import Study

THIN_MARGIN = 0.9
"""Share of the interrupting rating above which a margin is called thin."""
SURE_MARGIN = 1.1
"""Share above which the rating is exceeded beyond what the figures can be wrong by."""
FAR_BEYOND = 2.0
"""Share above which not even the gain at low volts helps: one fuse breaks 1000 A at 32 V and 2000 A at 16 V."""


def _shares(study: Study) -> Iterator[tuple[float, float, Device]]:
    """Prospective current over interrupting rating, that current [A], and the device."""
    for device_id, device in sorted(study.protection.devices.items()):
        fault_a = study.power.prospective_a.get(device_id)
        if fault_a is not None and device.interrupting_a > 0:
            yield fault_a / device.interrupting_a, fault_a, device


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
    """Devices that cannot break their prospective current, and have nothing above them that can."""
    for share, fault_a, device in _shares(study):
        if share > SURE_MARGIN and _able_above(study, device, fault_a) is None:
            yield say(
                (device.id,),
                f"{amount(fault_a, 'A')} can flow just after {title(device)}, which breaks "
                f"{amount(device.interrupting_a, 'A')}.",
                f"Fit a device that breaks {amount(fault_a, 'A')} or more in place of {device.id}, or above it.",
                severity="Stop" if share > FAR_BEYOND else None,
                provisional=device.provisional,
            )


@check(
    "E212",
    "Thin margin of interrupting rating",
    "Know",
    why="Close to its interrupting rating a device still breaks, but a shorter wire or a second battery would take "
    "the margin away. The fuses inside an amplifier may lie above theirs where the fuse of the branch can do it.",
    remedy="Keep the wires above as long as they are, and the types that are fitted.",
    source="component data sheets citing ISO 8820; one fuse breaks twice the amperes at 16 V that it does at 32 V",
    mark="published",
)
def thin_margin(study: Study, say: Say) -> Iterator[Finding]:
    """Devices within 10 % of their interrupting rating, and amplifiers' own fuses that the branch fuse backs up."""
    thin = [x for x in _shares(study) if THIN_MARGIN < x[0] <= SURE_MARGIN]
    if thin:
        share, fault_a, worst = max(thin, key=lambda x: (x[0], x[2].id))
        yield say(
            tuple(d.id for _, _, d in thin),
            f"{count(len(thin), 'device')} within 10 %: {amount(fault_a, 'A')} can flow just after {title(worst)}, "
            f"which breaks {amount(worst.interrupting_a, 'A')} ({num(100 * share)} %).",
            "Keep the wires above as long as they are, or choose a type with a higher interrupting rating.",
            provisional=any(d.provisional for _, _, d in thin),
        )
    backed = [
        (fault_a, device, above)
        for share, fault_a, device in _shares(study)
        if share > SURE_MARGIN and (above := _able_above(study, device, fault_a)) is not None
    ]
    if backed:
        fault_a, own, above = max(backed, key=lambda x: (x[0], x[1].id))
        yield say(
            tuple(d.id for _, d, _ in backed),
            f"Up to {amount(fault_a, 'A')} can flow just after {title(own)}, more than it breaks; {above} above it "
            "can.",
            f"Leave it; do not replace {listing(sorted({a for _, _, a in backed}))} by a type that breaks less.",
        )


def _able_above(study: Study, device: Device, fault_a: float) -> str | None:
    """For the fuses inside an amplifier: the device above them that can break the fault current, if there is one."""
    chain = next((c for c in study.protection.chains if device.id in c), ()) if device.way == 0 else ()
    able = [d for d in chain if d != device.id and study.protection.devices[d].interrupting_a * SURE_MARGIN >= fault_a]
    return able[-1] if able else None
