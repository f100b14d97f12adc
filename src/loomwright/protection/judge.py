"""The verdict on one fault, with its reason in one sentence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.facts import adiabatic, assumptions, joints, workmanship
from loomwright.power.circuit import Floats
from loomwright.power.network import Network
from loomwright.protection.faults import Fault
from loomwright.protection.graph import graph_of
from loomwright.protection.results import Device, FaultResult, Guard, Opening, Verdict
from loomwright.protection.sequence import Followed, Trace
from loomwright.protection.states import Currents
from loomwright.rig.model import AmplifierSpec, LoadSpec, Rig
from loomwright.rig.shape import shape_of

WARM_C = 0.5
"""Over a limit by more than this counts."""


class Judge:
    """Turns traces into verdicts for one rig."""

    def __init__(
        self,
        rig: Rig,
        network: Network,
        devices: Mapping[str, Device],
        guards: Mapping[str, Guard],
        whole: Currents,
    ) -> None:
        """``whole`` is the same network without a fault."""
        self.rig, self.network, self.graph = rig, network, graph_of(shape_of(rig))
        self.devices, self.guards, self.whole_a = devices, guards, whole.branch_a[0]
        self._screen_limit_a = assumptions.number("line_lead.screen_limit", "current_a")
        self._awake_v = assumptions.number("remote.awake", "volts_v")
        self._stub_mm = workmanship.device_distance_mm()
        self._served: dict[str, frozenset[str]] = {}
        self._fed = _loads(rig, network)
        lacking = self._lacking(np.nan_to_num(whole.solution.node_v))[0].tolist()
        self._on_before = self.graph.on_when_whole - self._without(lacking, set())

    def verdicts(self, faults: Sequence[Fault], followed: Followed) -> list[FaultResult]:
        """Judge every fault, each by its state."""
        lacking = self._lacking(followed.node_v).tolist()
        return [self._verdict(fault, followed, k, lacking[k]) for k, fault in enumerate(faults)]

    def _verdict(self, fault: Fault, followed: Followed, k: int, lacking: list[bool]) -> FaultResult:
        """Judge state ``k``."""
        trace = followed.traces[k]
        dark = self._dark(fault, followed, k, lacking)
        own = self._own(fault, dark)
        detour = self._detour(fault, followed, k)
        others = tuple(i for i in dark if i not in own)
        screens = {w: a for w, a in detour.items() if self.rig.wire(w).kind == "line" and a > self._screen_limit_a}
        verdict, reason = self._decide(fault, trace, others, screens, followed, k)
        wire, worst, best, limit = self._hottest(trace, verdict)
        return FaultResult(
            id=fault.id,
            kind=fault.kind,
            where=fault.where,
            detail=fault.detail,
            verdict=verdict,
            reason=reason,
            openings=tuple(trace.openings),
            fault_a=trace.fault_a,
            hottest_wire=wire,
            hottest_c=worst,
            hottest_best_c=best,
            limit_c=limit,
            dark=dark,
            own_branch=tuple(sorted(own)),
            dips_v=self._dips(fault, trace, own),
            detour_a=detour,
            provisional=self._provisional(trace, verdict, wire, bool(screens)),
            typical_only=trace.typical_only and verdict == "cleared",
        )

    def _decide(
        self,
        fault: Fault,
        trace: Trace,
        others: tuple[str, ...],
        screens: Mapping[str, float],
        followed: Followed,
        k: int,
    ) -> tuple[Verdict, str]:
        if fault.kind == "loose joint":
            return self._loose(fault, followed, k)
        first = trace.openings
        if trace.hottest is not None and trace.margin_c > WARM_C:
            wire, worst, best, limit = trace.hottest
            return "burned", (
                f"{_opens(first)}; {wire} reaches {_c(worst)} at worst ({_c(best)} at the quick end), "
                f"its limit is {limit:.0f} °C."
            )
        if trace.lasting is not None and trace.lasting_margin_c > WARM_C:
            return self._lasting(fault, trace, first)
        if trace.grey is not None and not self._conventional(trace.grey, fault.where):
            device = self.devices[trace.grey]
            return "not cleared", (
                f"{trace.grey} ({device.rating_a * device.count:g} A) may hold this for ever, and a wire it guards is "
                "not sized for that (IEC 60364-4-43 433.1)."
            )
        if screens:
            wire, amps = max(screens.items(), key=lambda p: p[1])
            return "not cleared", f"{amps:.1f} A now comes back through the screen of line lead {wire}; nothing opens."
        if not first:
            if others:
                return "spread", f"Nothing opens, yet {_list(others)} lost supply or remote."
            return "no harm", self._calm(fault, trace)
        if others:
            return "spread", f"{_opens(first)}; {_list(others)} went dark with it."
        if trace.grey is not None:
            return "no harm", f"{_opens(first)}; no wire is past its limit either way."
        return "cleared", f"{_opens(first)}; only {_list(self._own_names(fault))} went dark."

    def _lasting(self, fault: Fault, trace: Trace, first: Sequence[Opening]) -> tuple[Verdict, str]:
        assert trace.lasting is not None
        wire, settled, limit = trace.lasting
        struck = self.guards.get(fault.where) if fault.kind == "chafe" else None
        guard, whose = struck or self.guards.get(wire), fault.where if struck else wire
        hot = self.guards.get(wire)
        if hot is not None and not hot.devices and hot.stub_mm > self._stub_mm:
            guard, whose = hot, wire  # what it lies behind sees nothing of it
        if guard is None or not guard.devices:
            why = f"no device guards {whose}"
            if guard is not None and 0.0 < guard.stub_mm <= self._stub_mm:
                why += f", whose {guard.stub_mm:.0f} mm lie within the {self._stub_mm:.0f} mm that may go without"
        else:
            name = guard.devices[0]
            device = self.devices[name]
            why = f"{name} ({device.rating_a * device.count:g} A) does not see it"
        before = f"{_opens(first)}, but " if first else ""
        return "not cleared", f"{before}{wire} settles at {_c(settled)} (limit {limit:.0f} °C): {why}."

    def _loose(self, fault: Fault, followed: Followed, k: int) -> tuple[Verdict, str]:
        at, gained = fault.raised[0]
        amps = abs(float(followed.first_branch_a[k, at]))
        watts = amps * amps * gained
        limit = self._joint_limit_w(fault.where)
        text = f"At {amps:.1f} A a joint that gained {gained * 1000:.0f} mΩ makes {watts:.3g} W"
        if watts > limit:
            return "not cleared", f"{text}, more than the {limit:g} W it sheds cool; no device can see it."
        return "no harm", f"{text}; it sheds {limit:g} W cool."

    def _joint_limit_w(self, name: str) -> float:
        """Watts that a joint sheds before it runs hot, by the kind of joint it is."""
        wire_id, at, ref = name.rpartition("@")
        if not at:
            device = self.devices.get(name.removeprefix("fuse:"))
            bolted = device is not None and device.type in ("SF30", "SF51", "post_mount")
            return joints.joint("bolted" if bolted else "blade").max_w
        wire = self.rig.wire(wire_id)
        if wire.size is not None and wire.size.system == "bolted":
            return joints.joint("bolted").max_w
        return joints.joint(wire.joints[0 if ref == wire.start else 1]).max_w

    def _calm(self, fault: Fault, trace: Trace) -> str:
        if fault.kind == "lost return":
            return "The current finds no harmful way round; nothing is past its limit."
        if trace.fault_a < 0.5:
            return "Next to no current flows."
        return f"{trace.fault_a:.0f} A flows and no wire is past its limit, however long it lasts."

    def _provisional(self, trace: Trace, verdict: Verdict, wire: str | None, screens: bool) -> bool:
        """Whether the verdict rests on memory: on a device that opened or that should have, or on a limit."""
        named = {o.device for o in trace.openings}
        if verdict == "not cleared" and wire is not None and wire in self.guards:
            named.update(self.guards[wire].devices)
        lasted_s = trace.openings[-1].slowest_s if trace.openings else 0.0
        by_limit = verdict == "burned" and adiabatic.limit_provisional(lasted_s)
        return screens or by_limit or any(self.devices[d].provisional for d in named if d in self.devices)

    def _conventional(self, device: str, struck: str) -> bool:
        """Whether every wire that a device guards stands its rating; short taps count where they are struck."""
        d = self.devices[device]
        rating = d.rating_a * d.count
        guarded = [g for g in self.guards.values() if device in g.devices and (not g.tap_to or g.wire == struck)]
        return all(adiabatic.conventional_ok(rating, g.ampacity_a) for g in guarded)

    def _hottest(self, trace: Trace, verdict: Verdict) -> tuple[str | None, float, float, float]:
        if verdict == "not cleared" and trace.lasting is not None and trace.lasting_margin_c > WARM_C:
            wire, settled, limit = trace.lasting
            return wire, settled, settled, limit
        if trace.hottest is not None:
            return trace.hottest
        if trace.lasting is not None:
            wire, settled, limit = trace.lasting
            return wire, settled, settled, limit
        return None, 0.0, 0.0, 0.0

    def _dark(self, fault: Fault, followed: Followed, k: int, lacking: list[bool]) -> tuple[str, ...]:
        if not followed.found[k]:
            return tuple(sorted(p.item for p in self.network.loads))
        dark = self._without(lacking, {o.device for o in followed.traces[k].openings}) & self._on_before
        if fault.failed is not None:
            dark |= {fault.failed}
        return tuple(sorted(dark))

    def _lacking(self, node_v: Floats) -> np.ndarray:
        """Which loads lack supply or remote at these node volts (S, N), (S, loads) bool."""
        found = np.zeros((len(node_v), len(self._fed)), dtype=bool)
        for n, load in enumerate(self._fed):
            minus = node_v[:, load.minus]
            found[:, n] = node_v[:, load.plus] - minus < load.least_v
            for remote in load.remotes:
                found[:, n] |= node_v[:, remote] - minus < self._awake_v
        return found

    def _without(self, lacking: list[bool], opened: set[str]) -> frozenset[str]:
        """Items that lack supply or remote, or whose own fuses are gone."""
        if not opened and True not in lacking:
            return frozenset()
        fed = zip(self._fed, lacking, strict=True)
        return frozenset(load.item for load, lacks in fed if lacks or f"{load.item}.own" in opened)

    def _own(self, fault: Fault, dark: tuple[str, ...]) -> frozenset[str]:
        """What the fault itself may take down: the amplifier itself, or what the wire feeds or switches."""
        if fault.failed is not None:
            return frozenset({fault.failed})
        if fault.kind == "lost return":
            return frozenset(dark)
        if fault.kind == "chafe" and self.rig.wire(fault.where).kind != "ground":
            if fault.where not in self._served:
                zone = self.graph.zone_of[self.graph.wire_nodes[fault.where][0]]
                outputs = [g.ref for g, _, b in self.graph.gates if g.kind == "electronic" and b == zone]
                cut = self.graph.served_by(fault.where)
                self._served[fault.where] = cut | self.graph.dark(outputs)
            return self._served[fault.where]
        return frozenset()

    def _own_names(self, fault: Fault) -> tuple[str, ...]:
        return tuple(sorted(self._own(fault, ()))) or (fault.where,)

    def _dips(self, fault: Fault, trace: Trace, own: frozenset[str]) -> dict[str, float]:
        if trace.lowest_v is None:
            return {}
        return {
            p.item: float(trace.lowest_v[k])
            for k, p in enumerate(self.network.loads)
            if p.role == "amplifier" and p.item not in own and p.item != fault.failed
        }

    def _detour(self, fault: Fault, followed: Followed, k: int) -> dict[str, float]:
        """Where a lost return's current goes: wires and screens that carry at least 0.2 A more than before."""
        if fault.kind != "lost return":
            return {}
        found: dict[str, float] = {}
        for n, branch in enumerate(self.network.branches):
            if branch.kind not in ("wire", "screen") or branch.ref == fault.where:
                continue
            now = abs(float(followed.branch_a[k, n]))
            if now > abs(float(self.whole_a[n])) + 0.2:
                found[branch.ref] = now
        return dict(sorted(found.items()))


@dataclass(frozen=True, slots=True)
class _Load:
    """Where one load's supply and remote lie among the nodes, and the volts it needs."""

    item: str
    plus: int
    minus: int
    remotes: tuple[int, ...]
    least_v: float


def _loads(rig: Rig, network: Network) -> tuple[_Load, ...]:
    landed = {ref for w in rig.wires for ref in (w.start, w.end)}
    index, found = network.index, []
    for port in network.loads:
        name, spec = port.item, rig.items[port.item].part.spec
        assert isinstance(spec, AmplifierSpec | LoadSpec)
        remotes = [r for t in ("remote", "remote_in") if (r := f"{name}.{t}") in landed and r in index]
        found.append(
            _Load(
                name, index[f"{name}.supply+"], index[f"{name}.supply-"], tuple(index[r] for r in remotes), spec.min_v
            )
        )
    return tuple(found)


def _opens(openings: Sequence[Opening]) -> str:
    """What opened first, and when; the others by name."""
    if not openings:
        return "Nothing opens"
    opening = openings[0]
    beyond = ", beyond its published gates" if opening.beyond_data else ""
    share = f"({opening.multiple:.1f} x its rating{beyond})"
    after = "".join(f", then {o.device}" for o in openings[1:])
    if opening.slowest_s == float("inf"):
        return f"{opening.device} may open after {seconds(opening.fastest_s)} or hold for ever {share}{after}"
    return f"{opening.device} opens in {seconds(opening.fastest_s)} to {seconds(opening.slowest_s)} {share}{after}"


def seconds(s: float) -> str:
    """A time in the unit that reads best."""
    if s < 0.0995:
        return f"{s * 1000:.2g} ms"
    if s < 99.5:
        return f"{s:.2g} s"
    if s < 5940:
        return f"{s / 60:.2g} min"
    return f"{s / 3600:.3g} h"


def _c(celsius: float) -> str:
    return "past the melting point of copper" if celsius > adiabatic.copper_melts_c() else f"{celsius:.0f} °C"


def _list(names: tuple[str, ...]) -> str:
    if len(names) < 2:
        return "".join(names) or "nothing"
    return f"{', '.join(names[:-1])} and {names[-1]}"
