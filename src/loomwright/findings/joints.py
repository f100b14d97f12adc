"""Joints, connectors and studs: heat, fit and fitness."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from loomwright.facts import joints, workmanship
from loomwright.findings.covers import covers_on
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.steady import worst_joint
from loomwright.findings.ways import ways_of
from loomwright.findings.words import amount, count, listing
from loomwright.power.results import JointState
from loomwright.protection.graph import is_bolted
from loomwright.rig.model import ConnectorSpec, Rig, Wire
from loomwright.study import Study

SIZE_SLACK = 1.06
"""Area over what a terminal takes that still goes in: 4 AWG (21.2 mm²) into a 21 mm² clamp, 6 AWG into 13 mm²."""

PAINTED = "painted frame"
"""The joint through paint; returns by it have a check of their own."""

MELTING = 10.0
"""Heat over what a joint sheds from which on plastic around it melts: about 300 K above its surroundings."""


def _ends(wire: Wire) -> tuple[tuple[str, str], ...]:
    return tuple(zip((wire.start, wire.end), wire.joints, strict=True))


@check(
    "E601",
    "Joint that runs hot",
    "Fix",
    why="A joint sheds only a few watts before it runs 30 K above its surroundings. Heat loosens it and raises its "
    "resistance, which makes more heat.",
    remedy="Remake the joint in a kind with less resistance, or share the current between two.",
    source="resistance and heat of joints: bench practice",
    mark="common practice",
    unless="Stop where the heat would melt what is around it",
)
def hot_joint(study: Study, say: Say) -> Iterator[Finding]:
    """Wire ends that make more heat at `loud` than their kind of joint sheds, gathered by item."""
    found: dict[str, list[tuple[float, Wire, str, str, JointState]]] = defaultdict(list)
    for wire in study.rig.wires:
        if is_bolted(wire) or wire.kind not in ("power", "ground"):
            continue
        for ref, name in _ends(wire):
            state = worst_joint(study, f"{wire.id}@{ref}")
            if state is not None and state.loss_w > joints.joint(name).max_w:
                share = state.loss_w / joints.joint(name).max_w
                found[ref.partition(".")[0]].append((share, wire, ref, name, state))
    for item_id, ends in sorted(found.items()):
        share, wire, ref, name, state = max(ends, key=lambda e: (e[0], e[1].id))
        row = joints.joint(name)
        wires = sorted({e[1].id for e in ends})
        yield say(
            (item_id, *wires),
            f"{wire.id} at {ref} ({name}, {amount(row.mohm, 'mohm')}) makes {amount(state.loss_w, 'W')} at "
            f"{amount(abs(state.amps_a), 'A')}; it sheds {amount(row.max_w, 'W')}: {amount(row.hot_a, 'A')} at most.",
            _remade(item_id, ends),
            severity="Stop" if share > MELTING else None,
        )


def _remade(item_id: str, ends: list[tuple[float, Wire, str, str, JointState]]) -> str:
    """What to do with hot joints of an item: bare metal under those on paint, another kind of joint for the rest."""
    painted = sorted({e[1].id for e in ends if e[3] == PAINTED})
    others = sorted({e[1].id for e in ends if e[3] != PAINTED})
    told = [f"Clean the metal under {listing(painted)} at {item_id} bright and bolt the lugs down"] if painted else []
    if others:
        how = "with crimped ring lugs or bolted joints"
        told.append(f"remake {listing(others)} {how}" if told else f"Remake {listing(others)} at {item_id} {how}")
    return f"{'; '.join(told)}."


@check(
    "E602",
    "Joint not fit for its wire",
    "Fix",
    why="Twisted ends, clips that cut in and pins pushed into strands work loose, break strands and let water in.",
    remedy="Crimp a ring lug or a butt joint, and seal it where it is wet.",
    source="common practice",
    mark="common practice",
)
def unfit_joint(study: Study, say: Say) -> Iterator[Finding]:
    """Twisted, clipped, pierced or loose joints, gathered by item; over paint has a check of its own."""
    found: dict[str, list[tuple[Wire, str, str]]] = defaultdict(list)
    for wire in study.rig.wires:
        for ref, name in () if is_bolted(wire) else _ends(wire):
            if not joints.joint(name).ok and name != PAINTED:
                found[ref.partition(".")[0]].append((wire, ref, name))
    for item_id, ends in sorted(found.items()):
        wires = sorted({w.id for w, _, _ in ends})
        states = [(s, w.id) for w, ref, _ in ends if (s := worst_joint(study, f"{w.id}@{ref}")) is not None]
        state, most = max(states, key=lambda s: (s[0].loss_w, s[1]), default=(None, ""))
        drop = amount(abs(state.drop_mv), "mV") if state else ""
        numbers = f"; {amount(abs(state.amps_a), 'A')} in {most} drop {drop} there" if state else ""
        yield say(
            (item_id, *wires),
            f"{listing(wires)} at {item_id}: {listing(sorted({name for _, _, name in ends}))}{numbers}.",
            f"Cut {listing(wires)} back at {item_id} and crimp {count(len(ends), 'new end')}.",
        )


def unfit_splices(rig: Rig) -> frozenset[str]:
    """Splices that E602 has cut out: of what else is wrong with them nothing is told but their heat."""
    return frozenset(
        rig.item_of(ref).id
        for wire in rig.wires if not is_bolted(wire)
        for ref, name in _ends(wire) if rig.item_of(ref).part.family == "splice" and not joints.joint(name).ok
    )  # fmt: skip


@check(
    "E603",
    "Soldered joint in a moving run",
    "Fix",
    why="Solder creeps up the strands and makes them stiff; they break at its edge where the wire moves. Solder "
    "alone must not hold a wire.",
    remedy="Crimp it, or hold the wire on both sides of the joint so that it cannot move.",
    source="ABYC E-11: solder is not the only support (from memory); common practice",
    mark="from memory",
)
def soldered_moving(study: Study, say: Say) -> Iterator[Finding]:
    """Soldered ends of wires whose run moves, without a cover that supports them."""
    rig = study.rig
    supports = set(workmanship.covers("moving"))
    for wire in rig.wires:
        soldered = [ref for ref, name in _ends(wire) if name == "solder splice"]
        moving = [k for k in wire.route if "moving" in rig.runs[k].hazards]
        held = moving and all(supports & set(covers_on(rig, wire, rig.runs[k])) for k in moving)
        if soldered and moving and not held:
            yield say(
                (wire.id, *soldered),
                f"{wire.id} is soldered at {listing(soldered)} and runs through "
                f"{listing(f'run {k + 1}' for k in moving)}, which moves.",
                f"Crimp {wire.id} at {listing(soldered)}, or tie it down within 50 mm on both sides.",
            )


@check(
    "E604",
    "Connector contact overloaded",
    "Fix",
    why="A contact's rating is a rise of 30 K. Above it the spring loses its grip and the housing softens.",
    remedy="Share the current between contacts, or use a connector with larger ones.",
    source="the part's own rating",
    mark="published",
)
def contact_overloaded(study: Study, say: Say) -> Iterator[Finding]:
    """Connector contacts that carry more at `loud` than their rating."""
    for item in study.rig.family("connector"):
        spec = item.part.spec
        if not isinstance(spec, ConnectorSpec):
            continue
        over = []
        for n in range(1, spec.contacts + 1):
            state = worst_joint(study, f"contact:{item.id}.{n}")
            if state is not None and abs(state.amps_a) > spec.contact_a * 1.01:
                over.append((abs(state.amps_a), n))
        if over:
            amps, n = max(over)
            yield say(
                (item.id, *(f"{item.id}.a{k}" for _, k in sorted(over, key=lambda x: x[1]))),
                f"{count(len(over), 'contact')} of {item.id} over {amount(spec.contact_a, 'A')}; most in contact {n}: "
                f"{amount(amps, 'A')}.",
                f"Use a connector with contacts for {amount(amps * 1.25, 'A')}, or two contacts in parallel for each "
                "wire.",
            )


@check(
    "E605",
    "Wire that does not fit its terminal",
    "Fix",
    why="A wire too thick for a terminal is thinned by cutting strands; one too thin for a contact is not gripped.",
    remedy="Use a terminal for that size, or step down on a short tail with a fuse to suit.",
    source="the part's own data",
    mark="published",
)
def does_not_fit(study: Study, say: Say) -> Iterator[Finding]:
    """Wires thicker than their terminal takes, or thinner than a connector's contact grips, gathered by item."""
    rig, unfit = study.rig, unfit_splices(study.rig)
    thick: dict[str, list[tuple[float, Wire, str, float]]] = defaultdict(list)
    thin: dict[str, list[tuple[float, Wire, str, float]]] = defaultdict(list)
    for wire in rig.wires:
        if wire.size is None or is_bolted(wire):
            continue
        area = wire.size.area_mm2
        for ref in (wire.start, wire.end):
            item, most = rig.item_of(ref), rig.terminal(ref).max_mm2
            spec = item.part.spec
            if item.id in unfit:
                continue  # no splice of its kind will do: E602 has it cut out
            if area > most * SIZE_SLACK:
                thick[item.id].append((area / most, wire, ref, most))
            elif isinstance(spec, ConnectorSpec) and area * SIZE_SLACK < spec.min_mm2:
                thin[item.id].append((spec.min_mm2 / area, wire, ref, spec.min_mm2))
    for found, verb in ((thick, "takes {} at most"), (thin, "grips {} or more")):
        for item_id, ends in sorted(found.items()):
            _, wire, ref, limit = max(ends, key=lambda e: (e[0], e[1].id))
            wires = sorted({e[1].id for e in ends})
            area = wire.size.area_mm2 if wire.size else 0.0
            yield say(
                (item_id, *wires),
                f"{wire.id} is {wire.size.label if wire.size else 'no size'} ({amount(area, 'mm2')}); {ref} "
                f"{verb.format(amount(limit, 'mm2'))}.",
                f"Fit a part that takes {amount(area, 'mm2')} as {item_id}, or other wire for {listing(wires)}.",
            )


@check(
    "E606",
    "Too many rings on a stud",
    "Fix",
    why="Each ring more takes thread from the nut and lets the stack settle. Four are the most, the largest at the "
    "bottom.",
    remedy="Move the surplus to a bus bar.",
    source="ABYC E-11 (survey articles)",
    mark="published",
)
def too_many_rings(study: Study, say: Say) -> Iterator[Finding]:
    """Terminals on which more than four ring lugs lie."""
    ways = ways_of(study.rig)
    rings: dict[str, list[str]] = defaultdict(list)
    for wire in study.rig.wires:
        for ref, name in _ends(wire):
            if name in ("ring lug", "bolted", "bare frame", "painted frame") and not is_bolted(wire):
                rings[ref].append(wire.id)
    most = workmanship.rings_per_stud()
    for ref, wires in sorted(rings.items()):
        if len(wires) > most:
            yield say(
                (ref, *wires),
                f"{len(wires)} rings on {ref}: {listing(wires)}; {most} are the most.",
                f"Move {len(ways.wires_at(ref)) - most} of them to a bus bar, and lay the largest at the bottom.",
            )


@check(
    "E607",
    "Open connector in a wet place",
    "Fix",
    why="Water in a connector eats the contacts and leaks current from pin to pin.",
    remedy="Use a sealed connector, or move it to a dry place.",
    source="common practice",
    mark="common practice",
)
def open_connector(study: Study, say: Say) -> Iterator[Finding]:
    """Connectors that do not keep water out, in places that are wet."""
    for item in study.rig.family("connector"):
        spec = item.part.spec
        if isinstance(spec, ConnectorSpec) and not spec.sealed and study.rig.places[item.place].wet:
            yield say(
                (item.id, item.place),
                f"{item.id} is not sealed and sits in {item.place}, which is wet; {count(spec.contacts, 'contact')}.",
                f"Fit a sealed connector of {count(spec.contacts, 'contact')} as {item.id}.",
            )
