"""From a rig to its speaker wiring: every wire, joint, contact, passive part and driver as a limb between two nodes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.facts import conductors, joints, loudspeakers
from loomwright.rig.model import AmplifierSpec, BarSpec, ConnectorSpec, DriverSpec, Item, PassiveSpec, Rig, Wire
from loomwright.sound.circuit import LEAST_OHM
from loomwright.sound.frequencies import Complexes, Floats
from loomwright.sound.results import ElementKind

JOINING = ("wire", "contact", "bar")


@dataclass(frozen=True, slots=True)
class Limb:
    """Resistance, inductance and capacitance in series between two nodes; of a driver, only where it lies.

    ``element`` is set for passive parts. ``known`` is False where a value that it needs is not stated.
    """

    id: str
    kind: str                          # wire, contact, bar, part, driver
    ref: str                           # item or wire
    a: str
    b: str
    ohm: float = 0.0
    henry: float = 0.0
    farad: float | None = None         # None: no capacitor in it
    element: ElementKind | None = None
    loss_ohm: float = 0.0              # resistance that a part has against its will: DCR, ESR
    tolerance_pct: float | None = None
    known: bool = True

    @property
    def joins(self) -> bool:
        """Whether it is metal and nothing else."""
        return self.kind in JOINING

    def impedance_ohm(self, frequency_hz: Floats, *, ideal: bool = False) -> Complexes:
        """(F,) [ohm]; ``ideal`` leaves out the resistance and inductance of metal, and the losses of parts."""
        if ideal and self.joins:
            return np.full(len(frequency_hz), LEAST_OHM, dtype=np.complex128)
        jw = 2j * np.pi * frequency_hz
        ohm = max(self.ohm + (0.0 if ideal else self.loss_ohm), LEAST_OHM)
        z = ohm + jw * self.henry
        return np.asarray(z if self.farad is None else z + 1.0 / (jw * self.farad), dtype=np.complex128)


@dataclass(frozen=True, slots=True)
class Outlet:
    """Two terminals that drive speakers: a channel, a bridged pair, a source's speaker output."""

    item: str
    channels: tuple[int, ...]
    plus: str
    minus: str


@dataclass(frozen=True, slots=True)
class Wiring:
    """All that hangs on an outlet, and the other outlets that hang there too."""

    outlet: Outlet
    limbs: tuple[Limb, ...]
    others: tuple[Outlet, ...]


def wirings(rig: Rig) -> tuple[Wiring, ...]:
    """The wiring of every outlet of a rig, in the order of the file."""
    found = pieces(limbs(rig))
    where = {node: k for k, piece in enumerate(found) for limb in piece for node in (limb.a, limb.b)}
    every = outlets(rig)
    result = []
    for outlet in every:
        numbers = {where[n] for n in (outlet.plus, outlet.minus) if n in where}
        own = tuple(limb for k in sorted(numbers) for limb in found[k])
        others = tuple(o for o in every if o is not outlet and numbers & {where.get(o.plus), where.get(o.minus)})
        result.append(Wiring(outlet, own, others))
    return tuple(result)


def limbs(rig: Rig) -> tuple[Limb, ...]:
    """All limbs of a rig's speaker wiring, in the order of the file: wires, then items."""
    wires = [_wire(rig, w) for w in rig.wires if w.kind == "speaker"]
    return (*wires, *(limb for item in rig.items.values() for limb in _item(item)))


def outlets(rig: Rig) -> tuple[Outlet, ...]:
    """Everything that can drive a speaker, in the order of the file."""
    found = []
    for item in rig.items.values():
        spec = item.part.spec
        stem = "ch" if isinstance(spec, AmplifierSpec) else "spk"
        partner = dict(item.bridged)
        second = {b for _, b in item.bridged}
        for terminal in item.part.terminals:
            if not (terminal.kind == "speaker" and terminal.name.startswith(stem) and terminal.name.endswith("+")):
                continue
            n = int(terminal.name[len(stem) : -1])
            if n in second:
                continue
            last = partner.get(n, n)
            channels = (n, last) if n in partner else (n,)
            found.append(Outlet(item.id, channels, f"{item.id}.{stem}{n}+", f"{item.id}.{stem}{last}-"))
    return tuple(found)


def pieces(found: Sequence[Limb]) -> tuple[tuple[Limb, ...], ...]:
    """Limbs that hang together, piece by piece, in order."""
    near: dict[str, list[int]] = defaultdict(list)
    for k, limb in enumerate(found):
        near[limb.a].append(k)
        near[limb.b].append(k)
    seen: set[int] = set()
    result = []
    for k in range(len(found)):
        if k in seen:
            continue
        seen.add(k)
        todo, piece = [k], []
        while todo:
            j = todo.pop()
            piece.append(j)
            for node in (found[j].a, found[j].b):
                for other in near[node]:
                    if other not in seen:
                        seen.add(other)
                        todo.append(other)
        result.append(tuple(found[j] for j in sorted(piece)))
    return tuple(result)


def conductors_joined(found: Sequence[Limb]) -> dict[str, str]:
    """Nodes that metal alone joins, each with one name for all of them."""
    parent: dict[str, str] = {}

    def root(n: str) -> str:
        while parent.setdefault(n, n) != n:
            parent[n] = parent[parent[n]]
            n = parent[n]
        return n

    for limb in found:
        a, b = root(limb.a), root(limb.b)
        if limb.joins and a != b:
            parent[max(a, b)] = min(a, b)
    return {n: root(n) for n in parent}


def wire_ohm(rig: Rig, wire: Wire) -> float:
    """A speaker wire from end to end at its own temperature, its joints included [ohm]."""
    if wire.size is None:
        return 0.0
    if wire.measured_mohm is not None:
        return wire.measured_mohm / 1000.0 + joints_ohm(wire)
    per_m = conductors.resistance_mohm_per_m(
        wire.size.area_mm2, wire.metal, rig.wire_temperature_c(wire), wire.size.system
    )
    return per_m * wire.length_mm / 1e6 + joints_ohm(wire)


def joints_ohm(wire: Wire) -> float:
    """The joints at both ends of a wire [ohm]."""
    return sum(joints.joint(name).mohm for name in wire.joints) / 1000.0


def wire_henry(wire: Wire) -> float:
    """Inductance of a speaker wire, its partner beside it [H]."""
    return loudspeakers.lead_uh_per_m() * 1e-6 * wire.length_mm / 1000.0


def pad_ohm(load_ohm: float, attenuation_db: float) -> tuple[float, float]:
    """Series and shunt resistor of a pad that keeps the load it shows: Rs = Z (1 - K), Rp = Z K / (1 - K)."""
    k = float(10.0 ** (-attenuation_db / 20.0))
    return load_ohm * (1.0 - k), load_ohm * k / (1.0 - k)


def _wire(rig: Rig, wire: Wire) -> Limb:
    return Limb(
        f"wire:{wire.id}", "wire", wire.id, wire.start, wire.end, ohm=wire_ohm(rig, wire), henry=wire_henry(wire)
    )


def _item(item: Item) -> Iterator[Limb]:
    spec, name = item.part.spec, item.id

    def at(terminal: str) -> str:
        return f"{name}.{terminal}"

    if isinstance(spec, DriverSpec):
        yield Limb(f"driver:{name}", "driver", name, at("+"), at("-"), ohm=spec.nominal_ohm)
    elif isinstance(spec, ConnectorSpec):
        for n in range(1, spec.contacts + 1):
            if item.part.terminal(f"a{n}").kind == "speaker":
                yield Limb(
                    f"contact:{name}.{n}", "contact", name, at(f"a{n}"), at(f"b{n}"), ohm=spec.contact_mohm / 1000.0
                )
    elif isinstance(spec, BarSpec):
        for t in item.part.terminals:
            if t.kind == "speaker":
                yield Limb(f"bar:{name}.{t.name}", "bar", name, at(t.name), at("middle"), ohm=spec.path_mohm / 1000.0)
    elif isinstance(spec, PassiveSpec) and item.part.terminal("a").kind == "speaker":
        yield from _passive(name, spec, at("a"), at("b"), at("c"))


def _passive(name: str, spec: PassiveSpec, a: str, b: str, c: str) -> Iterator[Limb]:
    spread = spec.tolerance_pct
    match spec.element:
        case "capacitor":
            yield Limb(
                f"part:{name}", "part", name, a, b, farad=spec.value, element="capacitor",
                loss_ohm=spec.series_mohm / 1000.0, tolerance_pct=spread,
            )  # fmt: skip
        case "coil":
            yield Limb(
                f"part:{name}", "part", name, a, b, henry=spec.value, element="coil", loss_ohm=spec.dcr_ohm,
                tolerance_pct=spread,
            )  # fmt: skip
        case "resistor":
            yield Limb(
                f"part:{name}", "part", name, a, b, ohm=spec.value, element="resistor", tolerance_pct=spread
            )
        case "zobel":
            if spec.capacitance_f is None:
                yield Limb(f"part:{name}", "part", name, a, b, element="zobel", known=False)
            else:
                yield Limb(
                    f"part:{name}", "part", name, a, b, ohm=spec.value, farad=spec.capacitance_f, element="zobel",
                    tolerance_pct=spread,
                )  # fmt: skip
        case "pad":
            if spec.attenuation_db is None:
                yield Limb(f"part:{name}.series", "part", name, a, b, element="pad series", known=False)
                return
            series, shunt = pad_ohm(spec.value, spec.attenuation_db)
            for limb_id, p, q, ohm, element in (
                ("series", a, b, series, "pad series"), ("shunt", b, c, shunt, "pad shunt"),
            ):  # fmt: skip
                yield Limb(
                    f"part:{name}.{limb_id}", "part", name, p, q, ohm=ohm, element=element,  # type: ignore[arg-type]
                    tolerance_pct=spread,
                )  # fmt: skip
