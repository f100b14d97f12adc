"""Every fault that the drill tries, one by one, and what each does to the circuit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from loomwright.facts import assumptions
from loomwright.power.network import Network
from loomwright.protection.results import Device, FaultKind, Guard
from loomwright.rig.model import AmplifierSpec, LoadSpec, Rig, Wire

AMPLIFIER_LEVELS = (1.2, 1.5, 2.0, 3.0, 5.0)
"""Internal faults as multiples of the rated draw, besides a dead short."""


@dataclass(frozen=True, slots=True)
class Tap:
    """A wire touching something: at ``fraction`` of its length from its start, through ``ohm``, to ``node``."""

    branch: int
    fraction: float
    node: str
    ohm: float


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault. At most one of each change; ``None`` where it does not apply."""

    id: str
    kind: FaultKind
    where: str
    detail: str
    tap: Tap | None = None
    shunt: tuple[str, str, float] | None = None  # two nodes and the ohms between them
    cut: int | None = None  # branch that opens
    raised: tuple[tuple[int, float], ...] = ()  # branches and the ohms they gain
    failed: str | None = None  # item whose own draw stops


NO_FAULT = Fault("none", "chafe", "", "nothing wrong")
"""The circuit as it is, for comparison."""


@dataclass(frozen=True, slots=True)
class Whole:
    """The drill's circuit before any fault: node volts in the network's order, and amperes of each device."""

    node_v: Sequence[float]
    device_a: Mapping[str, float]


def frame_node(network: Network) -> str:
    """What a chafed wire touches: the frame where the rig has one, else the first ground bus, else the battery's
    minus.
    """
    grounds = [i for i in network.rig.family("bus") if i.part.terminals[0].kind == "ground"]
    for item in (*network.rig.family("frame"), *grounds):
        middle = f"{item.id}.middle"
        if middle in network.index:  # one that no wire lands on is no way for a current
            return middle
    return network.nodes[0]


def every_fault(
    rig: Rig,
    network: Network,
    guards: Mapping[str, Guard],
    devices: Mapping[str, Device],
    whole: Whole,
) -> tuple[Fault, ...]:
    """All faults of a rig that change the circuit, in the order of the rig.

    Parameters
    ----------
    whole : Whole
        The same circuit without a fault. A resistive chafe is set by it, so that the guarding device carries just its
        rating and never opens.
    """
    faults: list[Fault] = []
    for wire in rig.wires:
        faults.extend(_chafes(wire, network, guards, devices, whole))
    for item in rig.family("amplifier"):
        faults.extend(_amplifier(item.id, rig, network))
    for wire in rig.wires:
        at = network.branch_index.get(f"wire:{wire.id}")
        if wire.kind == "ground" and at is not None:
            faults.append(Fault(f"return:{wire.id}", "lost return", wire.id, "return open", cut=at))
    faults.extend(_loose(network))
    return tuple(faults)


def _chafes(
    wire: Wire,
    network: Network,
    guards: Mapping[str, Guard],
    devices: Mapping[str, Device],
    whole: Whole,
) -> Iterator[Fault]:
    at = network.branch_index.get(f"wire:{wire.id}")
    if (
        at is None
        or wire.size is None
        or wire.size.system == "bolted"
        or wire.kind not in ("power", "remote", "ground")
    ):
        return
    frame = frame_node(network)
    raised = _limited_outputs(network) if wire.kind == "remote" else ()
    bolted = _ohm("bolted")
    resistive = _ohm("resistive")
    guard = guards.get(wire.id)
    if guard is not None and guard.devices and wire.kind != "ground":
        device = min((devices[d] for d in guard.devices), key=lambda d: d.rating_a * d.count)
        spare = device.rating_a * device.count - abs(whole.device_a.get(device.id, 0.0))
        volts = abs(whole.node_v[network.index[wire.start]] - whole.node_v[network.index[frame]])
        resistive = max(volts, 1.0) / max(spare, 1.0)
    for fraction, spot in ((0.0, f"at {wire.start}"), (0.5, "in the middle"), (1.0, f"at {wire.end}")):
        for ohm, how in ((bolted, "bolted"), (resistive, "resistive")):
            place = {0.0: "start", 0.5: "middle", 1.0: "end"}[fraction]
            yield Fault(
                f"chafe:{wire.id}:{place}:{how}",
                "chafe",
                wire.id,
                f"rubbed through {spot}, {how}",
                tap=Tap(at, fraction, frame, ohm),
                raised=raised,
            )


def _limited_outputs(network: Network) -> tuple[tuple[int, float], ...]:
    """Remote outputs as they are under a short: they limit themselves."""
    found = []
    multiple = assumptions.number("remote.short", "multiple")
    for k, branch in enumerate(network.branches):
        spec = network.rig.items[branch.ref].part.spec if branch.kind == "output" else None
        if isinstance(spec, LoadSpec):
            limited = _nominal_v() / (multiple * spec.remote_out_max_ma / 1000.0)
            found.append((k, max(limited - branch.mohm / 1000.0, 0.0)))
    return tuple(found)


def _amplifier(name: str, rig: Rig, network: Network) -> Iterator[Fault]:
    spec = rig.items[name].part.spec
    assert isinstance(spec, AmplifierSpec)
    rail = f"{name}.rail" if spec.own_fuses_a else f"{name}.supply+"
    if rail not in network.index:
        return
    full_w = spec.output_4ohm_w * spec.channels / max(spec.efficiency_full, 0.05)
    rated_a = full_w / spec.rated_v + spec.idle_a
    for level in AMPLIFIER_LEVELS:
        yield Fault(
            f"amplifier:{name}:{level:g}",
            "amplifier",
            name,
            f"internal fault, {level:g} x rated draw ({level * rated_a:.0f} A)",
            shunt=(rail, f"{name}.supply-", _nominal_v() / (level * rated_a)),
            failed=name,
        )
    yield Fault(
        f"amplifier:{name}:short",
        "amplifier",
        name,
        "internal dead short",
        shunt=(rail, f"{name}.supply-", _ohm("dead_short")),
        failed=name,
    )


def _loose(network: Network) -> Iterator[Fault]:
    gained = _ohm("loosening")
    for k, branch in enumerate(network.branches):
        if branch.kind not in ("wire", "fuse", "contact"):
            continue
        for name, _ in branch.joints:
            yield Fault(f"loose:{name}", "loose joint", name, "joint loosened", raised=((k, gained),))


def _ohm(fault: str) -> float:
    return assumptions.number(f"fault.{fault}", "resistance_mohm") / 1000.0


def _nominal_v() -> float:
    return assumptions.number("fault.nominal", "volts_v")
