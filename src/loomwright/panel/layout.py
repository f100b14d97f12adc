"""The panels of a rig as they stand: what lies where, what is against the rules, the leads and their lengths."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from loomwright.panel import rules
from loomwright.panel.bodies import Body, all_bodies, lay
from loomwright.panel.links import cost, links, loose
from loomwright.panel.results import Laid, LaidItem, Lead, PanelLayout, PanelResult, Where, WireOnPanel
from loomwright.rig.alike import alike
from loomwright.rig.model import Rig, Wire
from loomwright.rig.once import once
from loomwright.rig.plan import Panel, Point
from loomwright.rig.shape import places_alone


def study_laid(rig: Rig) -> tuple[Laid, ...]:
    """Every panel of a rig, its items where the rig puts them, no lead laid. The rig's sizes are settled."""
    return _boards(on_panels(rig))


def study_panels(rig: Rig) -> PanelResult:
    """The panels of a rig with their leads."""
    return _panels(on_panels(rig))


@alike()
def on_panels(rig: Rig) -> Rig:
    """The part of a rig that its panels are laid out by: its items, and the wires that land on a panel, by their ends
    and sizes. How long they are and where they go beyond the board, no panel can tell.
    """
    there = {i.id for i in rig.items.values() if i.spot is not None}
    ends = [(w, w.start.partition(".")[0] in there or w.end.partition(".")[0] in there) for w in rig.wires]
    return replace(
        places_alone(rig),
        items=rig.items,
        wires=tuple(replace(w, length_mm=0.0, route=(), via=(), slack_mm=0.0) for w, lands in ends if lands),
        panels=rig.panels,
    )


@once
def _boards(part: Rig) -> tuple[Laid, ...]:
    return tuple(laid(part, p) for p in part.panels)


@once
def _panels(part: Rig) -> PanelResult:
    return PanelResult(tuple(with_leads(part, one) for one in _boards(part)))


def laid(rig: Rig, panel_id: str, spots: Sequence[Where] | None = None) -> Laid:
    """One panel; ``spots`` put its items elsewhere than the rig does."""
    panel, bodies = rig.panels[panel_id], all_bodies(rig)[panel_id]
    items = laid_items(rig, panel, bodies) if spots is None else at_spots(panel, bodies, spots)
    there = {i.id for i in items}
    return Laid(
        panel=panel,
        items=items,
        unplaced=tuple(b.id for b in bodies if b.id not in there),
        broken=rules.broken(panel, bodies, items),
        cost=cost(panel, bodies, links(rig, panel, bodies), items),
        covered=rules.covered(panel, items),
        least=tuple(_least(rig, panel, items)),
    )


def layout(rig: Rig, panel_id: str, spots: Sequence[Where] | None = None) -> PanelLayout:
    """One panel with its leads; ``spots`` put its items elsewhere than the rig does."""
    return with_leads(rig, laid(rig, panel_id, spots))


def with_leads(rig: Rig, board: Laid) -> PanelLayout:
    """A panel with its leads laid."""
    from loomwright.panel.routing import lay_leads

    panel = board.panel
    leads, crossings, beside = lay_leads(rig, panel, links(rig, panel, all_bodies(rig)[panel.id]), board.items)
    return PanelLayout(
        panel=panel, items=board.items, unplaced=board.unplaced, broken=board.broken, cost=board.cost,
        covered=board.covered, least=board.least, leads=leads, crossings=crossings, beside=beside,
        lengths=tuple(n for lead in leads for n in _lengths(rig, panel, lead, board.items)),
    )  # fmt: skip


def laid_items(rig: Rig, panel: Panel, bodies: Sequence[Body]) -> tuple[LaidItem, ...]:
    """Items where the rig puts them; those without a place are left out."""
    out = []
    for b in bodies:
        spot = rig.items[b.id].spot
        if spot is not None and spot.at_mm is not None:
            out.append(lay(b, panel, spot.at_mm, spot.turn_deg, spot.layer or 1))
    return tuple(out)


def at_spots(panel: Panel, bodies: Sequence[Body], spots: Sequence[Where]) -> tuple[LaidItem, ...]:
    """Items where a placement puts them."""
    on = {b.id: b for b in bodies}
    return tuple(lay(on[s.item], panel, s.at_mm, s.turn_deg, s.layer) for s in spots)


def _least(rig: Rig, panel: Panel, items: Sequence[LaidItem]) -> Iterator[WireOnPanel]:
    """How much of each wire lies on the board at the least."""
    at = {t.ref: t.at_mm for i in items for t in i.terminals}
    for w in rig.wires:
        ends = [at[ref] for ref in (w.start, w.end) if ref in at and not loose(rig, ref)]
        one_item = w.start.partition(".")[0] == w.end.partition(".")[0]
        if not ends or one_item or (w.size is not None and w.size.system == "bolted"):
            continue
        (ax, ay), (bx, by) = ends if len(ends) > 1 else (ends[0], panel.entry_mm)
        yield WireOnPanel(w.id, w.kind, panel.id, round(abs(ax - bx) + abs(ay - by), 1), len(ends) > 1)


def _lengths(rig: Rig, panel: Panel, lead: Lead, items: Sequence[LaidItem]) -> list[WireOnPanel]:
    """Each wire of a lead: the lead, and from its own terminal to the lead's."""
    at = {t.ref: t.at_mm for i in items for t in i.terminals}
    out = []
    for wire in (rig.wire(w) for w in lead.wires):
        aside = sum(_aside(wire, at, item, end) for item, end in _ends(lead))
        out.append(WireOnPanel(wire.id, wire.kind, panel.id, round(lead.on_board_mm + aside, 1), lead.to is not None))
    return out


def _ends(lead: Lead) -> list[tuple[str, Point]]:
    first = [(lead.start, lead.points_mm[0])]
    return [*first, (lead.to, lead.points_mm[-1])] if lead.to is not None else first


def _aside(wire: Wire, at: dict[str, Point], item: str, end: Point) -> float:
    refs = [r for r in (wire.start, wire.end) if r.partition(".")[0] == item and r in at]
    return min((math.dist(at[r], end) for r in refs), default=0.0)
