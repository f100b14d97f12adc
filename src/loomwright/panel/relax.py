"""Why a panel cannot hold its items, and the smallest changes that would make them fit."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from loomwright.facts import panel as facts
from loomwright.panel.bodies import Body, all_bodies
from loomwright.panel.model import Model, solved
from loomwright.panel.results import Placement, Relaxation, Where
from loomwright.panel.shapes import board
from loomwright.rig.catalogue import Catalogue
from loomwright.rig.model import AmplifierSpec, Part, Rig
from loomwright.rig.plan import SIDES, Panel

EFFORT = 3.0
MOST_MORE_MM = 600
SPACERS_MM = (20, 25, 30, 35, 40, 50, 60)
MOST_PARTS = 6


def cannot(panel: Panel, bodies: Sequence[Body]) -> tuple[str, ...]:
    """What shows by itself: an item too high for the space, or larger than the board however it is turned."""
    out = []
    lid = panel.space_mm - facts.room("lid_mm")
    width, height = panel.size_mm
    for b in bodies:
        if b.height_mm > lid:
            out.append(f"{b.id} is {b.height_mm:g} mm high; under {panel.space_mm:g} mm it may be {lid:g} mm.")
        elif b.height_mm + b.plan.reach_mm > panel.space_mm:
            out.append(
                f"{b.id} needs {b.height_mm + b.plan.reach_mm:g} mm of height to pull a fuse or work its handle; "
                f"the space has {panel.space_mm:g} mm."
            )
        needs = [_needs(panel, b, t) for t in b.turns]
        if all(w > width or h > height for w, h in needs):
            w, h = min(needs, key=lambda n: (max(n[0] - width, 0) + max(n[1] - height, 0), n))
            out.append(
                f"{b.id} is larger than the board: with its wires and screws it needs {w:g} x {h:g} mm, the board has "
                f"{width:g} x {height:g} mm."
            )
    if not out:
        area = sum(_own_mm2(b) for b in bodies if not b.may_stand or panel.spacer_mm is None)
        there = board(panel).area_mm2
        if area > there:
            out.append(f"The items need {area / 100:.0f} cm2 with their wires; the board has {there / 100:.0f} cm2.")
    return tuple(out)


def _needs(panel: Panel, b: Body, turn: int) -> tuple[float, float]:
    w, d = b.size_mm(turn)
    m = {s: b.margin_mm(panel, s, turn) for s in SIDES}
    return w + m["left"] + m["right"], d + m["top"] + m["bottom"]


def _own_mm2(b: Body) -> float:
    """The area that is its own, at any turn: body and the wires' room, which may not lie in another's."""
    room = {s: b.need_mm(s, 0, "wires", "plug") for s in SIDES}
    return (
        b.width_mm * b.depth_mm
        + b.depth_mm * (room["left"] + room["right"])
        + b.width_mm * (room["top"] + room["bottom"])
    )


def explain(
    rig: Rig, panel: Panel, bodies: Sequence[Body], fixed: Mapping[str, Where], why: Sequence[str],
    catalogue: Catalogue | None,
) -> Placement:  # fmt: skip
    """A placement that cannot be: the reason, the fewest items that clash, and what would help."""
    clash = _clash(panel, bodies, fixed)
    reason = tuple(why) or (f"Every way to lay these out was looked at and none is free: {', '.join(clash)}.",)
    return Placement(
        panel.id, "cannot fit", (), None, math.inf, 1.0, reason, clash,
        tuple(_relaxations(rig, panel, bodies, fixed, clash, catalogue)),
    )  # fmt: skip


def fits(panel: Panel, bodies: Sequence[Body], fixed: Mapping[str, Where], spacer_mm: float | None = None) -> bool:
    """Whether a layout is found with moderate effort."""
    value, _ = solved(Model(panel, bodies, fixed=fixed, spacer_mm=spacer_mm), EFFORT)
    return value is not None


def _clash(panel: Panel, bodies: Sequence[Body], fixed: Mapping[str, Where]) -> tuple[str, ...]:
    """A set of items that cannot lie together, none of which could be left out: one after the other is tried."""
    left = list(bodies)
    for b in sorted(bodies, key=lambda b: (b.width_mm * b.depth_mm, b.id)):
        rest = [o for o in left if o is not b]
        if rest and solved(Model(panel, rest, fixed=_only(fixed, rest)), EFFORT)[1] == "infeasible":
            left = rest
    return tuple(b.id for b in left)


def _only(fixed: Mapping[str, Where], bodies: Sequence[Body]) -> dict[str, Where]:
    return {b.id: fixed[b.id] for b in bodies if b.id in fixed}


def _relaxations(
    rig: Rig, panel: Panel, bodies: Sequence[Body], fixed: Mapping[str, Where], clash: Sequence[str],
    catalogue: Catalogue | None,
) -> Iterator[Relaxation]:  # fmt: skip
    as_it_is, besides, space_mm = panel, "", 0.0
    top_mm = _top_mm(bodies)
    if top_mm > panel.space_mm:
        space_mm = float(math.ceil(top_mm))
        panel = replace(panel, space_mm=space_mm)
        if fits(panel, bodies, fixed):
            short = math.ceil(top_mm - as_it_is.space_mm)
            yield Relaxation(
                "taller space", f"{short} mm more height: a space of {space_mm:g} mm.", amount_mm=float(short)
            )
            return
        besides = f"A space of {space_mm:g} mm, and "  # by itself it does not do
    for kind in ("wider", "higher"):
        more = _more(panel, bodies, fixed, kind)
        if more is not None:
            wide = kind == "wider"
            size = panel.size_mm[0 if wide else 1] + more
            what, how = ("width", "wide") if wide else ("height", "high")
            text = f"{besides}{more} mm more {what}: a board {size:g} mm {how}{_moved(panel, wide)}."
            yield Relaxation("wider" if wide else "higher", text, amount_mm=float(more), space_mm=space_mm)
    if panel.spacer_mm is None:
        for spacer in SPACERS_MM:
            if any(b.may_stand for b in bodies) and fits(panel, bodies, fixed, float(spacer)):
                text = f"{besides or 'A '}{'a ' if besides else ''}second layer on spacers of {spacer} mm."
                yield Relaxation("second layer", text, amount_mm=float(spacer), space_mm=space_mm)
                break
    if catalogue is not None:
        yield from _other_parts(rig, as_it_is, fixed, clash, catalogue)
    for name in clash:
        rest = [b for b in bodies if b.id != name]
        low = _top_mm(rest) <= as_it_is.space_mm
        if rest and name not in fixed and fits(as_it_is if low else panel, rest, _only(fixed, rest)):
            text = f"{'' if low else besides}{name} mounted elsewhere."
            yield Relaxation("leave out", text, item=name, space_mm=0.0 if low else space_mm)


def _moved(panel: Panel, wide: bool) -> str:
    """What has to move along where a board grows: holes and the cable entry beyond its middle, off the grown edge."""
    size = panel.size_mm[0 if wide else 1]
    spans = ((p.box_mm[0], p.box_mm[2]) if wide else (p.box_mm[1], p.box_mm[3]) for p in board(panel).pieces)
    if any(size < low + high < 2.0 * size for low, high in spans):
        return f", holes and cable entry {'right of' if wide else 'below'} its middle moved along"
    return ""


def _top_mm(bodies: Sequence[Body]) -> float:
    """The free height that these ask for, with a hand's room above fuses and handles [mm]."""
    return max((b.height_mm + max(b.plan.reach_mm, facts.room("lid_mm")) for b in bodies), default=0.0)


def _more(panel: Panel, bodies: Sequence[Body], fixed: Mapping[str, Where], kind: str) -> int | None:
    """The least that the board must grow by; None where growing does not help."""
    wide = kind == "wider"
    model = Model(
        panel, bodies, fixed=fixed, wider=MOST_MORE_MM if wide else 0, higher=0 if wide else MOST_MORE_MM
    )  # fmt: skip
    grown = model.more_x if wide else model.more_y
    model.model.minimize(grown)
    value, _ = solved(model, 2.0 * EFFORT)
    return None if value is None else int(value(grown))


def _other_parts(
    rig: Rig, panel: Panel, fixed: Mapping[str, Where], clash: Sequence[str], catalogue: Catalogue
) -> Iterator[Relaxation]:
    """A smaller part that does the same, one item at a time."""
    for name in clash:
        item = rig.items[name]
        for part in sorted(_smaller(rig, name, catalogue), key=lambda p: (_area(p), p.id), reverse=True)[:MOST_PARTS]:
            changed = replace(rig, items={**rig.items, name: replace(item, part=part)})
            bodies = all_bodies(changed)[panel.id]
            if not cannot(panel, bodies) and fits(panel, bodies, fixed):
                size = "x".join(f"{v:g}" for v in part.size_mm or ())
                yield Relaxation(
                    "other part", f"{part.title} ({part.id}, {size} mm) as {name}.", item=name, part=part.id
                )
                break


def _area(part: Part) -> float:
    return part.plan.width_mm * part.plan.depth_mm if part.plan is not None else 0.0


def _smaller(rig: Rig, name: str, catalogue: Catalogue) -> Iterator[Part]:
    item = rig.items[name]
    used = {r.partition(".")[2] for w in rig.wires for r in (w.start, w.end) if r.partition(".")[0] == name}
    for part_id in catalogue.ids():
        part = catalogue.part(part_id)
        if part.family != item.part.family or part.plan is None or _area(part) >= _area(item.part):
            continue
        if not used <= {t.name for t in part.terminals} or part.ways < item.part.ways:
            continue
        old, new = item.part.spec, part.spec
        if isinstance(old, AmplifierSpec) and isinstance(new, AmplifierSpec) and (
            new.output_4ohm_w < 0.8 * old.output_4ohm_w or new.min_load_ohm > old.min_load_ohm
            or (item.bridged and new.bridged_4ohm_w is None)
        ):  # fmt: skip
            continue
        if not isinstance(old, AmplifierSpec) and getattr(new, "rating_a", 0.0) != getattr(old, "rating_a", 0.0):
            continue
        yield part
