"""How the leads of a panel lie. Laying them takes a moment: these checks run where the leads are laid anyway."""

from __future__ import annotations

import math
from collections.abc import Iterator

from loomwright.facts import panel as facts
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.words import amount, count
from loomwright.study import Study


@check(
    "E972", "No way on the board that keeps the bends", "Know",
    why="A lead that finds no lane is bent too tightly, or laid over something that must be reached.",
    remedy="Turn an item so that its terminals look at each other, or leave more room between them.",
    source="cable makers: bend radius over outside diameter", mark="common practice",
)  # fmt: skip
def no_way(study: Study, say: Say) -> Iterator[Finding]:
    """Leads for which no way was found."""
    for layout in study.panels.layouts:
        lost = [lead for lead in layout.leads if not lead.held]
        if lost:
            lead = max(lost, key=lambda one: one.radius_mm)
            to = lead.to or "the cable entry"
            yield say(
                (layout.panel.id, *(w for one in lost for w in one.wires)),
                f"{count(len(lost), 'lead')} without a lane; the thickest from {lead.start} to {to}, which bends "
                f"no tighter "
                f"than {amount(lead.least_radius_mm, 'mm')}.",
                f"Turn {lead.start}, or leave {amount(math.ceil(2 * lead.radius_mm), 'mm')} more room in front of it.",
            )


@check(
    "E973", "Power and line level cross on a board", "Know",
    why="Where they cross at right angles little is induced; where they cross at a slant or lie on each other, the "
    "charging whine comes in.",
    remedy="Cross at right angles, or lay one of them another way.",
    source="audio installation trade", mark="common practice",
)  # fmt: skip
def mixed_crossing(study: Study, say: Say) -> Iterator[Finding]:
    """Crossings of a power lead with a line lead, panel by panel."""
    for layout in study.panels.layouts:
        mixed = [c for c in layout.crossings if c.mixed]
        if mixed:
            leads = {lead.id: lead for lead in layout.leads}
            wires = sorted({w for c in mixed for one in c.leads for w in leads[one].wires})
            at = "; ".join(f"[{c.at_mm[0]:.0f}, {c.at_mm[1]:.0f}]" for c in mixed[:4])
            yield say(
                (layout.panel.id, *wires), f"{count(len(mixed), 'crossing')} on {layout.panel.id}, at {at} mm.",
                "Cross there at right angles, and tie both leads down on each side.",
            )  # fmt: skip


@check(
    "E974", "Power and line level along each other on a board", "Know",
    why="Side by side over some way, the ripple of the feed gets into the line lead.",
    remedy="Keep them apart, or on two sides of the items.",
    source="audio installation trade: 50 mm and more", mark="common practice",
)  # fmt: skip
def side_by_side(study: Study, say: Say) -> Iterator[Finding]:
    """Power and line leads that run along each other."""
    for layout in study.panels.layouts:
        if layout.beside:
            leads = {lead.id: lead for lead in layout.leads}
            worst = max(layout.beside, key=lambda b: (b.along_mm, b.power, b.line))
            wires = dict.fromkeys(w for b in layout.beside for one in (b.power, b.line) for w in leads[one].wires)
            yield say(
                (layout.panel.id, *wires),
                f"{count(len(layout.beside), 'pair')} on {layout.panel.id}; the longest "
                f"{amount(worst.along_mm, 'mm')}, "
                f"{amount(worst.apart_mm, 'mm')} apart.",
                f"Lay them {amount(facts.room('power_line_mm'), 'mm')} apart.",
            )
