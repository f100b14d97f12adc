"""The work on the vehicle: holes and grommets, wires laid, covered, supported, connected; polarity of the drivers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from loomwright.facts import building
from loomwright.loom.results import Bundle, LoomWire
from loomwright.protection.graph import is_bolted
from loomwright.steps.cautions import cautions, hazards
from loomwright.steps.job import IN_LOOM, Job, Notes, blank, counted, listed, look_at
from loomwright.steps.results import After, Step, Torque
from loomwright.steps.ringing import APART
from loomwright.steps.starting import DEAD, MARK
from loomwright.steps.times import duration

LAST = ("battery",)
"""Families whose terminals are connected last of all."""
SCREWED = ("ferrule", "bare", "clamp")
"""Ends that a screw holds, beside ring lugs."""


def fitting(job: Job, notes: Notes) -> Iterator[Step]:
    """Holes first, then the wires way by way, covers, ends."""
    rung = APART if notes.has(APART) else MARK
    holes = {b.run: _hole(job, b, notes) for b in job.loom.bundles if _needs_hole(job, b)}
    yield from holes.values()
    ways: dict[str, list[LoomWire]] = defaultdict(list)
    for w in job.made:
        ways[f"route:{job.way_key(w)}"].append(w)
    laid: dict[str, str] = {}
    for name, wires in ways.items():
        after = [After(rung, "A wire with a fault is found on the bench, not in the vehicle.")]
        runs = dict.fromkeys(r for w in wires for r in w.runs)
        after += [After(holes[k].id, "Grommets before wires.") for k in runs if k in holes]
        after += [
            After(f"panel:{p}", "The wires are cut to the parts.")
            for p in dict.fromkeys(p for w in wires for p in job.end_places(w)) if notes.has(f"panel:{p}")
        ]  # fmt: skip
        laid.update({w.id: name for w in wires})
        yield _lay(job, name, wires, tuple(after))
    for b in job.loom.bundles:
        through = dict.fromkeys(laid[w] for w in b.wires if w in laid)
        if through:
            yield _cover(job, b, tuple(After(n, "All wires of the run lie in it.") for n in through))
    yield from _ends(job, notes, laid)


def _needs_hole(job: Job, b: Bundle) -> bool:
    new = any(w.id in b.wires for w in job.made)
    edged = any(c in ("grommet", "gland", "edge trim") for c in b.covers)
    return new and (edged or b.grommet_mm is not None or "edge" in job.rig.runs[b.run - 1].hazards)


def _hole(job: Job, b: Bundle, notes: Notes) -> Step:
    key = job.run_key(b.run)
    there = f"The hole there is {b.hole_there_mm:g} mm. " if b.hole_there_mm is not None else ""
    text = [f"{there}The bundle of run {b.run} ({' to '.join(b.between)}) needs {b.hole_mm:.0f} mm."]
    small = []
    if b.grommet_mm is not None:
        text.append(f"Deburr both sides, paint the edge, fit the grommet of {b.grommet_mm:g} mm bore.")
        small.append(f"1 x grommet, bore {b.grommet_mm:g} mm")
    else:
        text.append("Deburr both sides, paint the edge; trim or gland over it before any wire goes through.")
    small += [f"1 x {c}" for c in b.covers if c in ("gland", "edge trim")]
    after = [
        After(DEAD, "Nothing live behind the drill."),
        After(MARK, "Drilled only where someone has looked behind."),
    ]
    after += [After(f"panel:{p}", "The hole is set to the parts.") for p in b.between if notes.has(f"panel:{p}")]
    step = blank(f"hole:{key}", "fit", f"Hole and grommet, {' to '.join(b.between)}", text)
    return replace(
        step, after=tuple(after), runs=(b.run,), tools=("hole cutter", "drill with depth stop", "round file"),
        consumables=(*small, "primer or paint"), cautions=cautions(job.rig, "drill", "fuel"), time=duration(drill=1),
        look=look_at(job, b.wires),
    )  # fmt: skip


def _lay(job: Job, name: str, wires: list[LoomWire], after: tuple[After, ...]) -> Step:
    ids = tuple(w.id for w in wires)
    runs = tuple(dict.fromkeys(k for w in wires for k in w.runs))
    places = dict.fromkeys(p for w in wires for p in job.end_places(w))
    text = [f"Lay {listed(ids)}."]
    if runs:
        text[0] = f"Lay {listed(ids)} through {'run' if len(runs) == 1 else 'runs'} {listed(map(str, runs))}."
    bends = [b for b in job.loom.bundles if b.run in runs]
    if bends:
        radius = max(b.bend_mm for b in bends)
        text.append(f"No bend tighter than {radius:.0f} mm; no wire across an edge, none pulled taut.")
    text += [
        f"At {c.place} cross {listed(c.line)} over {listed(c.feeds)} at right angles."
        for c in job.loom.crossings if c.place in places and set(ids) & {*c.line, *c.feeds}
    ]  # fmt: skip
    spare = [w for w in wires if w.slack_mm > 0.0]
    if spare:
        text.append("Leave the spare at each end in an open loop, so that the end can be remade once.")
    title = f"Lay the wires, {' to '.join(dict.fromkeys(job.end_places(wires[0])))}"
    if runs:
        title += f", by {'run' if len(runs) == 1 else 'runs'} {listed(map(str, wires[0].runs))}"
    step = blank(name, "fit", title, text)
    return replace(
        step, after=after, wires=ids, routes=ids, runs=runs, tools=("draw wire", "torch"),
        consumables=("ties, loose for now",), cautions=cautions(job.rig, *hazards(job.rig, runs)),
        time=duration(lay=len(ids)), look=look_at(job, ids),
    )  # fmt: skip


def _cover(job: Job, b: Bundle, after: tuple[After, ...]) -> Step:
    covers = [c for c in b.covers if c not in ("grommet", "gland", "edge trim")]
    text = []
    if covers:
        text.append(f"Over the bundle: {listed(covers)}, {b.length_mm / 1000.0:.2f} m, closed at both ends.")
    text.append(f"A support at least every {b.support_mm:.0f} mm, the first within a hand of each end.")
    text.append(f"{counted(b.ties, 'tie')}, snug and not tight; tails cut flush.")
    met = job.rig.runs[b.run - 1].hazards
    if "moving" in met:
        text.append("Turn and spring everything that moves, from stop to stop: no pull, no pinch.")
    if "hot" in met:
        text.append("A hand's breadth of air to anything that gets hot.")
    step = blank(f"cover:{job.run_key(b.run)}", "fit", f"Cover and support, {' to '.join(b.between)}", text)
    return replace(
        step, after=after, wires=b.wires, runs=(b.run,), tools=("flush cutter", "hot air tool", "drivers"),
        consumables=(*(f"{b.length_mm / 1000.0:.2f} m of {c}" for c in covers), f"{b.ties} x tie", "clips"),
        cautions=cautions(job.rig, *hazards(job.rig, (b.run,)), "fuel"), time=duration(cover=1),
        look=look_at(job, b.wires),
    )  # fmt: skip


def _ends(job: Job, notes: Notes, laid: dict[str, str]) -> Iterator[Step]:
    """The ends at each part, battery posts excepted: those come last. Amplifiers wait for the drivers' polarity."""
    speaking = ("driver", "passive")
    landed = [
        s for i in job.rig.items.values() if i.part.family in speaking and (s := _landing(job, notes, laid, i.id))
    ]
    yield from landed
    polarity = _polarity(job, laid, landed)
    if polarity is not None:
        yield polarity
    for item in job.rig.items.values():
        if item.part.family in (*IN_LOOM, *LAST, *speaking):
            continue
        step = _landing(job, notes, laid, item.id)
        if step is None:
            continue
        if polarity is not None and any(job.rig.wire(w).kind == "speaker" for w in step.wires):
            why = After(polarity.id, "The leads are tried before they go on.")
            step = replace(step, after=(*step.after, why))
        yield step


def _landing(job: Job, notes: Notes, laid: dict[str, str], item: str) -> Step | None:
    ends = [(w.id, ref) for w in job.made for ref in (w.start, w.end) if ref.partition(".")[0] == item]
    if not ends:
        return None
    after = [After(laid[w], "The wire lies in its place.") for w, _ in ends]
    there = (f"panel:{job.rig.items[item].place}", f"studs:{item}")
    after += [After(s, "The part is there.") for s in there if notes.has(s)]
    return _land(job, item, ends, tuple({a.step: a for a in after}.values()))


def _land(job: Job, item: str, ends: list[tuple[str, str]], after: tuple[After, ...]) -> Step:
    first = {
        "fuse_holder": "Take the fuse out first, and keep it out.",
        "fused_block": "Take every fuse out first, and keep them out.",
        "breaker": "Switch it off first.",
    }  # fmt: skip
    family = job.rig.items[item].part.family
    text = [first[family]] if family in first else []
    text += [f"{w} onto {ref.partition('.')[2]}." for w, ref in ends]
    text.append("Read the label before the end goes on. No strand outside, no copper to see, a pull at each.")
    ids = tuple(dict.fromkeys(w for w, _ in ends))
    screwed = tuple(torques(job, [ref for _, ref in ends]))
    step = blank(f"land:{item}", "fit", f"Connect {item}", text)
    return replace(
        step, after=after, wires=ids, items=(item,), joints=tuple(f"{w}@{ref}" for w, ref in ends),
        tools=("torque wrench or driver", "spanners") if screwed else ("pliers",), torques=screwed,
        time=duration(joint=len(ends)), look=look_at(job, ids, (item,)),
    )  # fmt: skip


def torques(job: Job, refs: list[str]) -> Iterator[Torque]:
    """Torque for each terminal with a screw: by its stud where a ring lug goes over one, else as its maker says."""
    lugs = {e.terminal for w in job.loom.wires for e in w.ends if e.end.startswith("ring lug")}
    lugs |= {ref for w in job.rig.wires if is_bolted(w) for ref in (w.start, w.end)}
    screwed = lugs | {e.terminal for w in job.loom.wires for e in w.ends if e.end.startswith(SCREWED)}
    for ref in dict.fromkeys(refs):
        if ref not in screwed:
            continue
        stud = job.rig.terminal(ref).stud_mm
        known = building.lug_torque(stud) if stud is not None and ref in lugs else None
        if known is None:
            yield Torque(ref, f"M{stud:g}" if stud is not None else "", None, "as its maker says", "")
        else:
            said = f"{known.torque_nm:g} Nm, unless its maker says otherwise"
            yield Torque(ref, f"M{known.stud_mm:g}", known.torque_nm, said, known.source)


def _polarity(job: Job, laid: dict[str, str], landed: list[Step]) -> Step | None:
    rows = [p for p in job.loom.ring_out.polarity if p.channel is not None]
    wires = tuple(w.id for w in job.rig.wires if w.kind == "speaker" and w.id in laid)
    if not rows or not wires:
        return None
    ends = [ref for w in map(job.rig.wire, wires) for ref in (w.start, w.end)]
    mated = any(job.rig.item_of(ref).part.family == "connector" for ref in ends)
    text = [
        (
            "Speaker leads off the amplifiers. Touch a 1.5 V cell to each pair for a moment, its plus to the lead "
            "without a stripe."
        ),
        *(["Mate the connectors in between for it, and part them again."] if mated else []),
        *(
            f"{p.driver}, from {p.channel}: the cone moves {'in, as planned' if p.right is False else 'out'}."
            for p in rows
        ),
        "A dome or a horn too small to see, or a capacitor before it: not by the cell, trust the ring-out.",
    ]
    step = blank("polarity:drivers", "fit", "Polarity of the drivers", text)
    return replace(
        step, after=tuple(After(s.id, "Its leads are on.") for s in landed), wires=wires,
        items=tuple(p.driver for p in rows), tools=("1.5 V cell with two leads",), time=duration(test=len(rows)),
        look=look_at(job, wires),
    )  # fmt: skip
