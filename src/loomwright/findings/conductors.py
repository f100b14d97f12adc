"""Wires: current, heat, metal, size as sold and as measured."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from math import isinf

from loomwright.facts import conductors, workmanship
from loomwright.findings.covers import places_of, sheathed
from loomwright.findings.feeds import law_binds
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.sizes import CLAD, Sizes, in_copper, too_hot
from loomwright.findings.steady import worst_wire
from loomwright.findings.words import amount, count, listing, num
from loomwright.power.results import WireState
from loomwright.protection.graph import is_bolted
from loomwright.rig.model import Rig, Wire
from loomwright.study import Study


def _worst(study: Study, wire: Wire) -> WireState | None:
    if wire.kind not in ("power", "ground") or is_bolted(wire) or too_hot(study.rig, wire):
        return None  # where a place is too hot for a wire, that is the cause, and told once
    return worst_wire(study, wire.id)


def _label(wire: Wire) -> str:
    return wire.size.label if wire.size else "no size"


@check(
    "E501",
    "Wire past its ampacity",
    "Fix",
    why="Above its ampacity a wire runs hotter than its insulation stands for long. Place and bundle take their "
    "share first.",
    remedy="Fit a thicker wire, cool the way or thin out the bundle.",
    source="33 CFR 183.425 table 5 with sqrt((Tc-Ta)/(Tc-30)); bundle factors of the same table",
    mark="published",
    unless="Stop where it carries more than 125 % of its ampacity",
)
def past_ampacity(study: Study, say: Say) -> Iterator[Finding]:
    """Wires that carry more in the long run than their derated ampacity."""
    sizes = Sizes(study.rig)
    for wire in study.rig.wires:
        state = _worst(study, wire)
        if state is None or abs(state.amps_a) <= state.ampacity_a * 1.005:
            continue
        ratio = abs(state.amps_a) / max(state.ampacity_a, 1e-9)
        yield say(
            (wire.id,),
            f"{wire.id} ({_label(wire)}, {wire.insulation_c} °C insulation) carries {amount(abs(state.amps_a), 'A')} "
            f"at worst; it is good for {amount(state.ampacity_a, 'A')} where it lies.",
            f"Fit {sizes.stronger([wire], abs(state.amps_a))} there.",
            severity="Stop" if ratio > 1.25 else None,
        )


@check(
    "E502",
    "Wire runs hot",
    "Fix",
    why="Insulation ages fast near its rating and softens above it.",
    remedy="Fit a thicker wire, or one with higher-rated insulation.",
    source="heat balance in the manner of IEC 60287 and 33 CFR 183.425 table 5, the more cautious of the two",
    mark="calculated",
)
def hot_wire(study: Study, say: Say) -> Iterator[Finding]:
    """Wires hotter than their insulation allows although the table would let them pass."""
    for wire in study.rig.wires:
        state = _worst(study, wire)
        if state is None or state.temperature_c <= state.limit_c + 0.5 or abs(state.amps_a) > state.ampacity_a * 1.005:
            continue
        yield say(
            (wire.id,),
            f"{wire.id} ({_label(wire)}) reaches {num(state.temperature_c)} °C with {amount(abs(state.amps_a), 'A')}; "
            f"its insulation is rated {num(state.limit_c)} °C.",
            f"Fit a thicker wire as {wire.id}, or one rated {num(state.temperature_c)} °C or more.",
        )


@check(
    "E503",
    "Copper-clad aluminium taken for copper",
    "Fix",
    why="Copper-clad aluminium has 1.55 to 1.6 times the resistance of copper of the same size: more drop, more "
    "heat, and a fuse that is too large for it.",
    remedy="Replace it by copper, or go up two AWG sizes.",
    source="ASTM B566: 62.9 and 64.4 % IACS",
    mark="published",
)
def clad_for_copper(study: Study, say: Say) -> Iterator[Finding]:
    """Wires sold or taken as copper whose metal or measured resistance says copper-clad aluminium."""
    sold: dict[tuple[str, str, str], list[Wire]] = defaultdict(list)
    sizes = Sizes(study.rig)
    for wire in study.rig.wires:
        if wire.size is None or is_bolted(wire):
            continue
        honest = any(word in (wire.as_sold or "").lower() for word in ("cca", "clad", "alumin"))
        if wire.metal in CLAD and wire.as_sold and not honest:
            sold[wire.as_sold, _label(wire), wire.metal].append(wire)
        ratio = _ratio(wire)
        if wire.metal not in CLAD and ratio is not None and 1.38 <= ratio <= 1.8:
            yield say(
                (wire.id,),
                f"{wire.id} is down as {wire.metal}, {_label(wire)}; measured "
                f"{amount(wire.measured_mohm or 0.0, 'mohm')}, {num(ratio)} times what copper gives: copper-clad "
                "aluminium by the look of it.",
                f"Scrape a strand of {wire.id}; if it is silver inside, replace it by copper of {_label(wire)}.",
            )
    for (label, _, metal), wires in sorted(sold.items()):
        ids = listing(w.id for w in wires)
        area = max(w.size.area_mm2 for w in wires if w.size)
        copper = area * conductors.conductivity(metal)
        yield say(
            tuple(w.id for w in wires),
            f"{ids} {'is' if len(wires) == 1 else 'are'} sold as {label}; the metal is copper-clad aluminium: "
            f"{amount(area, 'mm2')} conducts like {amount(copper, 'mm2')} of copper "
            f"({awg(copper)}).",
            f"Replace {_in_copper(study, sizes, wires)}, or by clad wire two AWG sizes thicker.",
        )


def _in_copper(study: Study, sizes: Sizes, wires: list[Wire]) -> str:
    found: dict[str, list[str]] = defaultdict(list)
    for wire in wires:
        found[copper_size(study, sizes, wire)].append(wire.id)
    return ", ".join(f"{listing(ids)} by copper of {size}" for size, ids in found.items())


def copper_size(study: Study, sizes: Sizes, wire: Wire) -> str:
    """The size of copper that a clad wire gives way to: its own, or the larger one that carries its amperes."""
    state = _worst(study, wire)
    row = sizes.smallest(in_copper(wire), abs(state.amps_a)) if state else None
    larger = row is not None and wire.size is not None and row.area_mm2 > wire.size.area_mm2 * 1.005
    return row.label if row is not None and larger else _label(wire)


def awg(area_mm2: float) -> str:
    """The largest AWG size within an area, as a finding names it."""
    try:
        return f"{conductors.awg_equivalent(area_mm2)} AWG"
    except ValueError:
        return f"less than {conductors.sizes('AWG')[0].label}"


def _ratio(wire: Wire) -> float | None:
    """Measured over expected resistance of a wire's conductor at 20 °C; None where nothing was measured."""
    if wire.size is None or wire.measured_mohm is None:
        return None
    per_m = conductors.resistance_mohm_per_m(wire.size.area_mm2, wire.metal, 20.0, wire.size.system)
    expected = per_m * wire.length_mm / 1000.0
    return wire.measured_mohm / expected if expected > 0 else None


@check(
    "E504",
    "SAE size taken for AWG",
    "Know",
    why="The same number in SAE has 3 to 11 % less copper than in AWG. Jackets often say only 'gauge'.",
    remedy="Note the size as SAE, or check that the fuse suits the thinner wire.",
    source="ASTM B258; SAE cable sizes, two cable pages",
    mark="published",
    unless="Fix where its device then lets more through than the wire carries",
)
def sae_for_awg(study: Study, say: Say) -> Iterator[Finding]:
    """Wires sold by gauge whose conductor is an SAE size; Fix where the fuse then no longer suits."""
    sold: dict[tuple[str, str], list[Wire]] = defaultdict(list)
    for wire in study.rig.wires:
        if wire.size is None or is_bolted(wire):
            continue
        if wire.size.system == "SAE" and wire.as_sold and "sae" not in wire.as_sold.lower():
            sold[wire.as_sold, wire.size.label].append(wire)
            continue
        ratio = _ratio(wire)
        if wire.size.system == "AWG" and wire.metal not in CLAD and ratio is not None and 1.08 <= ratio < 1.2:
            yield say(
                (wire.id,),
                f"{wire.id} is down as {wire.size.label}; measured {amount(wire.measured_mohm or 0.0, 'mohm')}, "
                f"{num(ratio)} times what that gives: an SAE size by the look of it.",
                f"Read the jacket of {wire.id} again, and note the size that it has.",
                severity="Fix" if _over_guarded(study, wire) else None,
            )
    for (label, size), wires in sorted(sold.items()):
        ids = listing(w.id for w in wires)
        number = size.removesuffix(" SAE")
        area, full = (conductors.parse_size(f"{number} {s}").area_mm2 for s in ("SAE", "AWG"))
        yield say(
            tuple(w.id for w in wires),
            f"{ids} {'is' if len(wires) == 1 else 'are'} {size}, sold as {label}: {amount(area, 'mm2')}, "
            f"{num(100 * (1 - area / full))} % less than {number} AWG ({amount(full, 'mm2')}).",
            f"Mark {ids} as {size}, and fuse for {amount(area, 'mm2')}.",
            severity="Fix" if any(_over_guarded(study, w) for w in wires) else None,
        )


def _over_guarded(study: Study, wire: Wire) -> bool:
    """Whether the device of a wire lets more through than the wire carries."""
    guard = study.protection.guards.get(wire.id)
    return guard is not None and not isinf(guard.rating_a) and guard.rating_a > guard.ampacity_a * 1.005


@check(
    "E505",
    "Measured resistance does not fit the wire",
    "Fix",
    why="A wire that measures far off its size and length is not what it is taken for, or a joint on it is bad.",
    remedy="Measure joint by joint, then mend the joint or correct the entry.",
    source="IEC 60228 resistance of copper; bench practice",
    mark="calculated",
    unless="Know where it measures less than it should",
)
def measured_off(study: Study, say: Say) -> Iterator[Finding]:
    """Wires that measure more than 1.8 times, or less than 0.8 of, what size and length give."""
    for wire in study.rig.wires:
        ratio = _ratio(wire)
        if ratio is None or is_bolted(wire) or 0.8 <= ratio <= 1.8:
            continue
        high, low = "Measure joint by joint and remake the bad one", "Check the length and the size that are noted"
        yield say(
            (wire.id,),
            f"{wire.id} ({_label(wire)}, {amount(wire.length_mm, 'mm')}) measured "
            f"{amount(wire.measured_mohm or 0.0, 'mohm')}, {num(ratio)} times what that gives.",
            f"{high if ratio > 1 else low}: {wire.id}.",
            severity=None if ratio > 1 else "Know",
        )


@check(
    "E506",
    "Conductor below the least size for strength",
    "Know",
    why="Thin wires break at their ends where they shake.",
    remedy="Use 16 AWG (1.31 mm²) alone, or 18 AWG (0.82 mm²) in a sheath; for loudspeakers 20 AWG (0.52 mm²) at "
    "least, 18 AWG where it moves.",
    source="33 CFR 183.425",
    mark="published",
    unless="Fix for power and ground wires where the boat law binds",
)
def too_thin(study: Study, say: Say) -> Iterator[Finding]:
    """Power and ground wires thinner than the least size, then loudspeaker wires; Fix where the boat law binds."""
    boat = study.rig.vehicle.kind == "boat"
    found: list[Wire] = []
    for wire in study.rig.wires:
        if wire.kind not in ("power", "ground") or wire.size is None or is_bolted(wire):
            continue
        least = workmanship.min_conductor_mm2(in_sheath=sheathed(study.rig, wire) or not boat)
        if wire.size.area_mm2 < least * 0.9:
            found.append(wire)
    if found:
        thin = min(found, key=lambda w: (w.size.area_mm2 if w.size else 0.0, w.id))
        area = thin.size.area_mm2 if thin.size else 0.0
        yield say(
            sorted(w.id for w in found),
            f"{listing(sorted(w.id for w in found))}: the thinnest is {thin.id} with {num(area)} mm².",
            "Run them in 1.31 mm² (16 AWG) or more; 0.82 mm² (18 AWG) will do inside a sheath.",
            severity="Fix" if law_binds(study.rig) else None,
        )
    spoken = [w for w in study.rig.wires if w.kind == "speaker" and w.size]
    weak = [w for w in spoken if w.size and w.size.area_mm2 < 0.9 * least_speaker_mm2(study.rig, w)]
    if weak:
        thin = min(weak, key=lambda w: (w.size.area_mm2 if w.size else 0.0, w.id))
        moving = any(_moves(study.rig, w) for w in weak)
        yield say(
            sorted(w.id for w in weak),
            f"{count(len(weak), 'loudspeaker wire')} ({listing(sorted(w.id for w in weak))}): the thinnest is "
            f"{_label(thin)} ({num(thin.size.area_mm2 if thin.size else 0.0)} mm²)"
            f"{', where it moves' if moving else ''}.",
            f"Run them in {'18 AWG (0.82 mm²)' if moving else '20 AWG (0.52 mm²)'} or more.",
            source="20 AWG for loudspeakers, 18 AWG where it moves; 33 CFR 183.425 asks for 18 AWG or more in a sheath",
            mark="common practice",
        )


def _moves(rig: Rig, wire: Wire) -> bool:
    return any("moving" in rig.runs[k].hazards for k in wire.route)


def least_speaker_mm2(rig: Rig, wire: Wire) -> float:
    """Least copper of a loudspeaker wire for strength [mm2]; more where it moves."""
    if _moves(rig, wire):
        return workmanship.min_conductor_mm2(in_sheath=True)
    return conductors.parse_size("20 AWG").area_mm2


def better_insulation_c(hottest_c: float) -> int | None:
    """The rating of insulation [C] for a place so hot: 15 K above it, 105 at least; None where none is made."""
    return next((c for c in conductors.INSULATION_C if c >= max(105.0, hottest_c + 15.0)), None)


@check(
    "E507",
    "Insulation not rated for its place",
    "Fix",
    why="In a place nearly as hot as its rating the wire has no room left for its own heat.",
    remedy="Use insulation rated 105 °C or more there, or go another way.",
    source="33 CFR 183.425: no 60 °C insulation in engine spaces by ABYC E-11 (secondary)",
    mark="published",
    unless="Stop where the place is as hot as the rating or hotter",
)
def insulation_for_place(study: Study, say: Say) -> Iterator[Finding]:
    """Wires in places within 10 K of their rating, and 60 °C insulation in an engine space.

    Gathered by rating and heat: a wire in a place too hot for it carries nothing, and nothing else is told of it.
    """
    rig = study.rig
    found: dict[tuple[float, float, tuple[str, ...]], list[str]] = defaultdict(list)
    for wire in rig.wires:
        if is_bolted(wire):
            continue
        hottest = rig.wire_temperature_c(wire)
        engine = sorted(p for p in places_of(rig, wire) if rig.places[p].engine_space)
        if hottest + 10.0 > wire.insulation_c or (engine and wire.insulation_c <= 60):
            found[wire.insulation_c, hottest, tuple(engine)].append(wire.id)
    for (rated_c, hottest, engine_places), ids in sorted(found.items()):
        better = better_insulation_c(hottest)
        cure = f"Use insulation rated {num(better)} °C or more for" if better else "Find a cooler way for"
        none = f" {'It carries' if len(ids) == 1 else 'They carry'} nothing there." if hottest >= rated_c else ""
        yield say(
            (*ids, *engine_places),
            f"{count(len(ids), 'wire')} with {num(rated_c)} °C insulation where it is {num(hottest)} "
            f"°C{' in the engine space' if engine_places else ''}: {listing(ids)}.{none}",
            f"{cure} {listing(ids)}{', or cool the place' if none else ''}.",
            severity="Stop" if none else None,
        )
