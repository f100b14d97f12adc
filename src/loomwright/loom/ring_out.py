"""The ring-out: what must connect, what must not, how each driver is wired; in the order that finds a fault soonest.

Tests are put in order by the weight of the faults that each would show, over the time it takes. For one fault at an
unknown place that order has the least expected time to find it (Smith's rule, 1956).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations

from loomwright.facts import assumptions, harness, joints
from loomwright.loom.lengths import resistance_mohm
from loomwright.loom.nets import HARNESS, Point, harness_nets, point, shown
from loomwright.loom.polarity import polarity
from loomwright.loom.results import Apart, Joined, RingOut
from loomwright.protection.graph import is_bolted
from loomwright.rig.model import BarSpec, ConnectorSpec, Rig, Wire

KINDS = {"power": "feed", "ground": "return", "remote": "remote", "line": "line", "speaker": "speaker"}


def ring_out(rig: Rig) -> RingOut:
    """The whole sheet for a harness on the bench, its connectors mated, nothing else connected."""
    nets = harness_nets(rig)
    apart = _apart(rig, nets)
    worst: dict[str, float] = defaultdict(float)
    for pair in apart:
        for end in (pair.a, pair.b):
            worst[end] += pair.suspicion
    against = sorted(worst, key=lambda p: (-worst[p], p))
    return RingOut(_joined(rig, nets), tuple(against[:-1]), apart, polarity(rig))


def _joined(rig: Rig, nets: Sequence[tuple[Point, ...]]) -> tuple[Joined, ...]:
    graph = _Graph(rig)
    rows: list[Joined] = []
    for net in nets:
        loose = [p for p in net if p[1]] or list(net)
        hub = loose[0]
        for other in loose[1:] if len(loose) > 1 else [p for p in net if p != hub][:1]:
            wires, mohm, weight = graph.way(hub, other)
            rows.append(_row(rig, hub, other, wires, mohm, weight))
            if wires and all(w.kind == "line" for w in wires):
                per_m = assumptions.number("line_lead.screen", "resistance_mohm_per_m")
                screen = per_m * sum(w.length_mm for w in wires) / 1000.0
                ends = mohm - sum(map(resistance_mohm, wires))
                rows.append(_row(rig, hub, other, wires, screen + ends, weight, ", screen"))
    return tuple(_numbered(rows))


def _row(
    rig: Rig, a: Point, b: Point, wires: Sequence[Wire], mohm: float, weight: float, what: str = ""
) -> Joined:
    seconds = harness.ring_out("probe", "time_s")
    if rig.item_of(a[0]).place != rig.item_of(b[0]).place:
        seconds += harness.ring_out("reach", "time_s")
    most = mohm * harness.ring_out("margin", "factor") + harness.ring_out("leads", "resistance_mohm")
    return Joined(0, shown(a) + what, shown(b) + what, tuple(w.id for w in wires), mohm, most, weight / seconds)


def _numbered(rows: Sequence[Joined]) -> list[Joined]:
    ordered = sorted(rows, key=lambda r: (-r.suspicion, r.a, r.b))
    return [replace(r, order=n) for n, r in enumerate(ordered, 1)]


class _Graph:
    """Points of the bench, and what lies between them: wires, contacts, splices; milliohms and weight of faults."""

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        self.next: dict[Point, list[tuple[Point, Wire | None, float, float]]] = defaultdict(list)
        for wire in rig.wires:
            if wire.size is not None and not is_bolted(wire):
                ends = [joints.joint(j) for j in wire.joints]
                mohm = resistance_mohm(wire) + sum(j.mohm for j in ends)
                weight = sum(_end_weight(wire, j.kind) for j in ends)
                self._link(point(rig, wire.id, wire.start), point(rig, wire.id, wire.end), wire, mohm, weight)
        wrong = harness.ring_out("contact") + harness.ring_out("wrong_hole")
        for item in rig.items.values():
            spec = item.part.spec
            if isinstance(spec, ConnectorSpec):
                for n in range(1, spec.contacts + 1):
                    self._link((f"{item.id}.a{n}", ""), (f"{item.id}.b{n}", ""), None, spec.contact_mohm, wrong)
            elif item.part.family in HARNESS and isinstance(spec, BarSpec):
                legs = [(f"{item.id}.{t.name}", "") for t in item.part.terminals]
                for a, b in combinations(legs, 2):
                    self._link(a, b, None, 2.0 * spec.path_mohm, 0.0)

    def _link(self, a: Point, b: Point, wire: Wire | None, mohm: float, weight: float) -> None:
        self.next[a].append((b, wire, mohm, weight))
        self.next[b].append((a, wire, mohm, weight))

    def way(self, start: Point, end: Point) -> tuple[list[Wire], float, float]:
        """Wires, milliohms and weight of faults between two points of a net, by the way with fewest steps."""
        came: dict[Point, tuple[Point, Wire | None, float, float]] = {}
        todo, seen = [start], {start}
        while todo and end not in seen:
            layer: list[Point] = []
            for here in todo:
                for there, wire, mohm, weight in self.next[here]:
                    if there not in seen:
                        seen.add(there)
                        came[there] = (here, wire, mohm, weight)
                        layer.append(there)
            todo = layer
        wires: list[Wire] = []
        mohm_sum = weight_sum = 0.0
        here = end
        while here != start:
            here, wire, mohm, weight = came[here]
            mohm_sum += mohm
            weight_sum += weight
            if wire is not None:
                wires.insert(0, wire)
        return wires, mohm_sum, weight_sum


def _end_weight(wire: Wire, kind: str) -> float:
    if wire.kind == "line":
        return harness.ring_out("line")
    return harness.ring_out(kind if kind in ("push-on", "clamp", "solder", "frame") else "crimp")


def _apart(rig: Rig, nets: Sequence[tuple[Point, ...]]) -> tuple[Apart, ...]:
    """Every pair of nets, those that could touch most easily first."""
    kind: dict[Point, str] = {}
    of: dict[Point, Wire] = {}
    for wire in rig.wires:
        for ref in (wire.start, wire.end):
            spot = point(rig, wire.id, ref)
            kind[spot] = KINDS[wire.kind]
            of.setdefault(spot, wire)
    rows = tuple(
        _Net(shown(net[0]), kind.get(net[0], "contact"), frozenset(k for p in net if p in of for k in of[p].route))
        for net in nets
    )
    return _pairs(rows, tuple(_neighbours(rig, nets).items()))


@dataclass(frozen=True, slots=True)
class _Net:
    """Where a net is touched, what it is, and the runs that its wires lie in."""

    at: str
    kind: str
    runs: frozenset[int]


@lru_cache(maxsize=64)
def _pairs(nets: tuple[_Net, ...], beside: tuple[tuple[tuple[int, int], str], ...]) -> tuple[Apart, ...]:
    side = dict(beside)
    near, run, far = (harness.ring_out(f"touch_{w}") for w in ("near", "run", "far"))
    seconds = harness.ring_out("probe", "time_s")
    found: list[tuple[float, str, str, str]] = []
    for i, j in combinations(range(len(nets)), 2):
        a, b = nets[i], nets[j]
        weight, why = far, ""
        shared = a.runs & b.runs
        if shared:
            weight, why = run, f"run {min(shared) + 1}"
        if (i, j) in side:
            weight, why = near + weight, f"side by side in {side[i, j]}"
        said = f"{a.kind} against {b.kind}"
        found.append((-weight / seconds, a.at, b.at, f"{said}, {why}" if why else said))
    found.sort(key=lambda p: p[:3])
    return tuple(Apart(n, a, b, why, -least) for n, (least, a, b, why) in enumerate(found, 1))


def _neighbours(rig: Rig, nets: Sequence[tuple[Point, ...]]) -> Mapping[tuple[int, int], str]:
    """Pairs of nets that lie side by side in a connector, with its name."""
    net_of = {p: k for k, net in enumerate(nets) for p in net}
    found: dict[tuple[int, int], str] = {}
    for item in rig.family("connector"):
        spec = item.part.spec
        assert isinstance(spec, ConnectorSpec)
        for n in range(1, spec.contacts):
            sides = [{net_of[p] for h in "ab" if (p := (f"{item.id}.{h}{m}", "")) in net_of} for m in (n, n + 1)]
            for i in sides[0]:
                for j in sides[1]:
                    if i != j:
                        found.setdefault((min(i, j), max(i, j)), item.id)
    return found
