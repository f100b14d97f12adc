"""What the fault drill showed, gathered by place: one finding for many faults of one cause."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from math import isinf

from loomwright.facts.adiabatic import copper_melts_c
from loomwright.facts.assumptions import number
from loomwright.findings.feeds import BARE_MM, leads
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.sizes import too_hot_wires
from loomwright.findings.trees import tree
from loomwright.findings.words import amount, count, listing, num, span
from loomwright.power.session import LEFT_ON
from loomwright.protection.results import FaultResult, Verdict
from loomwright.study import Study

SINGLE = ("chafe", "amplifier")
"""Kinds of fault that fuses are there for; the others ask what happens when something else was done wrong."""
SOURCE = "fault drill on this rig; gates of component data sheets, adiabatic limits of IEC 60364-4-43"


def _judged(study: Study, verdict: Verdict) -> list[FaultResult]:
    """Chafes and amplifier faults that ended in one way.

    Left out are wires that lie before the first device and may: the distance rule allows so much. Left out too are
    faults that only heat a wire which carries nothing where it lies: that place is the cause. A fault that no device
    sees at all stays.
    """
    hot = too_hot_wires(study.rig)
    stubs = {g.wire for g in study.protection.guards.values() if isinf(g.rating_a) or g.tap_to}
    too_long = {w for lead in leads(study.rig) if lead.too_long for w in lead.way.wires}
    return [
        f
        for f in study.protection.drill
        if f.kind in SINGLE and f.verdict == verdict and (f.where not in stubs or f.where in too_long)
        and (f.hottest_wire not in hot or (verdict == "not cleared" and f.where in too_long))
    ]


def _hot(celsius: float) -> str:
    """A temperature as far as it means something."""
    if celsius >= copper_melts_c():
        return f"the melting point of copper ({num(copper_melts_c())} °C)"
    return f"{num(celsius)} °C"


def _guards(study: Study, fault: FaultResult, nearest: Mapping[str, tuple[str, ...]]) -> str:
    """Which devices guard the place of a fault, as one name to gather by; none where a wire that none guards burns."""
    guard, burnt = (study.protection.guards.get(w) for w in (fault.where, fault.hottest_wire or ""))
    if burnt is not None and isinf(burnt.rating_a) and burnt.stub_mm > BARE_MM and _over(fault) > 0:
        guard = burnt
    devices = nearest.get(fault.where, ()) if guard is None else guard.devices
    return ", ".join(sorted(devices)) or "nothing"


def _gathered(study: Study, faults: Iterable[FaultResult]) -> Mapping[str, list[FaultResult]]:
    groups: dict[str, list[FaultResult]] = defaultdict(list)
    nearest = tree(study).nearest
    for fault in faults:
        groups[_guards(study, fault, nearest)].append(fault)
    return {k: groups[k] for k in sorted(groups)}


def _where(group: Iterable[FaultResult], guard: str) -> tuple[str, ...]:
    places = sorted({f.where for f in group})
    return tuple(dict.fromkeys((guard.split(", ") if guard != "nothing" else []) + places))


def _kinds(group: Iterable[FaultResult]) -> str:
    names = Counter(f.kind for f in group)
    words = {"chafe": "rubbed-through wire", "amplifier": "fault inside an amplifier"}
    many = {"chafe": "rubbed-through wires", "amplifier": "faults inside amplifiers"}
    return listing(f"{n} {words[k] if n == 1 else many[k]}" for k, n in sorted(names.items()))


def _cure(guard: str, otherwise: str) -> str:
    return "Fit a device within 178 mm of the battery." if guard == "nothing" else otherwise


def _over(fault: FaultResult) -> float:
    return fault.hottest_c - fault.limit_c


@check(
    "E301",
    "Faults that nothing clears",
    "Stop",
    why="A fault current that no device sees goes on until something burns, or the battery is flat. The currents "
    "just under a rating are the dangerous ones.",
    remedy="Fit a device that sees the fault: smaller, nearer the load, or at all.",
    source=SOURCE,
    mark="calculated",
    unless="Fix where no wire passes its limit",
)
def not_cleared(study: Study, say: Say) -> Iterator[Finding]:
    """Chafes and amplifier faults that no device clears, gathered by the device that should."""
    faults = _judged(study, "not cleared")
    for guard, group in _gathered(study, faults).items():
        worst = max(group, key=lambda f: (_over(f), f.id))
        hot = worst.hottest_wire is not None and _over(worst) > 0
        yield say(
            _where(group, guard),
            f"{_kinds(group)} not cleared. Worst: {worst.where}, {worst.detail}: {worst.reason.rstrip('.')}.",
            _cure(guard, f"Fit a smaller device than {guard}, or one for each branch below it."),
            severity=None if hot else "Fix",
            provisional=any(f.provisional for f in group),
        )


@check(
    "E302",
    "Wires burned before the fault clears",
    "Stop",
    why="The device opens, but too late: the wire has passed the temperature that its insulation stands for that time.",
    remedy="Fit a faster or smaller device, or a thicker wire.",
    source=SOURCE,
    mark="calculated",
    unless="Fix where only the slowest opening burns it",
)
def burned(study: Study, say: Say) -> Iterator[Finding]:
    """Chafes and amplifier faults in which a wire passes its limit; Fix where only the slowest opening does it."""
    faults = _judged(study, "burned")
    for guard, group in _gathered(study, faults).items():
        worst = max(group, key=lambda f: (_over(f), f.id))
        surely = any(f.hottest_best_c > f.limit_c for f in group)
        yield say(
            _where(group, guard),
            f"{_kinds(group)} burn a wire. Worst: {worst.where}, {worst.detail}: {worst.hottest_wire or 'a wire'} "
            f"reaches {_hot(worst.hottest_c)} at the slowest opening, {_hot(worst.hottest_best_c)} at the quickest; "
            f"limit {num(worst.limit_c)} °C.",
            _cure(guard, f"Fit a smaller or faster device as {guard}, or a thicker {worst.hottest_wire}."),
            severity=None if surely else "Fix",
            provisional=any(f.provisional for f in group),
        )


@check(
    "E303",
    "Faults that take other branches down",
    "Fix",
    why="A fault in one branch should leave the others playing, and lights and pumps alive.",
    remedy="Make the device above slower or larger, or that of the branch smaller.",
    source=SOURCE,
    mark="calculated",
)
def spread(study: Study, say: Say) -> Iterator[Finding]:
    """Chafes and amplifier faults that are cleared at the cost of others, gathered by device.

    Counted are faults in which more opens than the nearest device; what shares that one is its branch. A remote
    wire that rubs through silences what it wakes: that lies in its nature.
    """
    remote = {w.id for w in study.rig.wires if w.kind == "remote"}
    nearest = tree(study).nearest
    faults = []
    for f in _judged(study, "spread"):
        own = _guards(study, f, nearest).split(", ")
        if not f.typical_only and f.where not in remote and any(o.device not in own for o in f.openings):
            faults.append(f)
    for guard, group in _gathered(study, faults).items():
        worst = max(group, key=lambda f: (len(set(f.dark) - set(f.own_branch)), f.id))
        others = sorted({i for f in group for i in f.dark if i not in f.own_branch})
        opened = sorted({o.device for f in group for o in f.openings})
        yield say(
            _where(group, guard),
            f"{_kinds(group)} also take down {listing(others)}; opening: {listing(opened)}. Worst: {worst.where}, "
            f"{worst.detail}: {amount(worst.fault_a, 'A')}.",
            f"Give {listing(sorted({f.where for f in group}))} a device of its own that opens before "
            f"{listing(opened)}.",
            provisional=any(f.provisional for f in group),
        )


@check(
    "E304",
    "A lost return sends current through signal screens",
    "Know",
    why="With unbalanced line leads the screens tie the returns of items together. When a return comes loose the "
    "current takes that way, no fuse sees it, and thin screens and input stages burn.",
    remedy="Secure each return with a locking joint, or use balanced or differential inputs.",
    source="network solution with the return open; common practice",
    mark="calculated",
)
def lost_return(study: Study, say: Say) -> Iterator[Finding]:
    """The lost return that sends most current through line screens, in one line."""
    lines = {w.id for w in study.rig.wires if w.kind == "line"}
    found = []
    for fault in study.protection.drill:
        if fault.kind == "lost return":
            through = {w: abs(a) for w, a in fault.detour_a.items() if w in lines and abs(a) >= 1.0}
            if through:
                found.append((max(through.values()), fault.where, through))
    if found:
        worst_a, where, through = max(found, key=lambda x: (x[0], x[1]))
        screen = max(through, key=lambda w: (through[w], w))
        returns = sorted({w for _, w, _ in found})
        yield say(
            returns,
            f"With {where} open the screen of {screen} carries {amount(worst_a, 'A')} and no fuse opens; "
            f"{count(len(returns), 'return')} of this kind.",
            f"Fit {listing(returns)} with crimped rings and locking washers, pull-test them, and mark them; or use "
            "balanced inputs.",
        )


@check(
    "E305",
    "A joint that works loose heats unseen",
    "Know",
    why="A loose joint makes heat without drawing more current: no fuse sees it.",
    remedy="Tighten to the maker's torque, mark the nut, and feel it again after an hour at full level.",
    source=f"fault drill; each joint in turn gains {amount(number('fault.loosening', 'resistance_mohm'), 'mohm')} "
    "(choice of this program)",
    mark="calculated",
)
def loose_joint(study: Study, say: Say) -> Iterator[Finding]:
    """The joint that would make most heat if it worked loose, in one line."""
    faults = [f for f in study.protection.drill if f.kind == "loose joint" and f.verdict in ("not cleared", "burned")]
    if faults:
        worst = max(faults, key=lambda f: (f.fault_a, f.id))
        yield say(
            sorted({_joint_item(f.where) for f in faults}),
            f"{count(len(faults), 'joint')} would heat with no device to see it. Worst: {_joint(worst.where)}: "
            f"{worst.reason[:1].lower()}{worst.reason[1:].rstrip('.')}.",
            f"Tighten and mark {_joint(worst.where)} first.",
        )


def _joint(key: str) -> str:
    """A joint as a technician says it: ``P3 at block.out1``, ``the clips of block.1``."""
    kind, _, ref = key.partition(":")
    if ref:
        return f"the {'clips' if kind == 'fuse' else 'contact'} of {ref}"
    return key.replace("@", " at ")


def _joint_item(key: str) -> str:
    """The wire or the item that a joint belongs to."""
    _, _, ref = key.partition(":")
    return ref.rpartition(".")[0] or ref if ref else key.rpartition("@")[0]


@check(
    "E306",
    "A larger fuse would leave its wire unguarded",
    "Know",
    why="Someone will fit what lies in the glove box. Where the next rating up no longer saves the wire, the rating "
    "must stand on the block.",
    remedy="Mark every way with its rating, and leave spares of the right rating.",
    source=SOURCE,
    mark="calculated",
)
def wrong_fuse(study: Study, say: Say) -> Iterator[Finding]:
    """Ways in which a larger fuse would let a wire burn, in one line."""
    hot = too_hot_wires(study.rig)
    faults = [
        f
        for f in study.protection.drill
        if f.kind == "wrong fuse" and f.verdict in ("not cleared", "burned") and f.hottest_wire not in hot
    ]
    if faults:
        worst = max(faults, key=lambda f: (_over(f), f.id))
        yield say(
            sorted({f.where for f in faults}),
            f"At {count(len({f.where for f in faults}), 'way')} a larger fuse lets a wire burn. Worst: {worst.where}, "
            f"{worst.detail}: {worst.reason.rstrip('.')}.",
            "Mark the rating beside each way and leave two spares of each.",
            provisional=any(f.provisional for f in faults),
        )


@check(
    "E307",
    "Remote left on empties the battery",
    "Know",
    why="Amplifiers draw their idle current for as long as the remote line is live, engine running or not.",
    remedy="Feed the source from the ignition, or fit a cut-off by voltage.",
    source="fault drill on this rig",
    mark="calculated",
)
def remote_left_on(study: Study, say: Say) -> Iterator[Finding]:
    """How long the battery lasts with everything awake and the engine off."""
    for fault in study.protection.drill:
        if fault.kind == "remote left on" and fault.verdict not in ("no harm", "cleared"):
            hours = next(s.hours_to_no_crank_h for s in study.power.sessions if (s.engine, s.programme) == LEFT_ON)
            end = f"cranks no more after {span(hours)}" if hours > 0 else "will not crank even now"
            state = f"{fault.detail[:1].upper()}{fault.detail[1:]}"
            told = f"{state}: {amount(fault.fault_a, 'A')} idle away; the engine {end}."
            sources = [i.id for i in study.rig.family("source")]
            yield say(sources or (fault.where,), told, "Feed the source unit from the ignition.")
