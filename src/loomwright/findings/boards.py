"""Boards: what the material stands, how far it may be off, what holds in it, what it is cut from."""

from __future__ import annotations

import math
from collections.abc import Iterator

from loomwright.facts import boards as facts
from loomwright.facts import panel as rooms
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.words import amount, listing
from loomwright.panel.results import Laid
from loomwright.study import Study

NEAR_K = 5.0
"""So near to the limit of a material is worth a word."""


def hottest_c(study: Study, board: Laid) -> float:
    """The hottest that a board becomes: the air at its place, and more where something warm stands on it [C]."""
    air = study.rig.places[board.panel.place].temperature_c
    return air + (facts.rule("beside_warm_k") if any(i.warm for i in board.items) else 0.0)


@check(
    "E982", "Board over the heat that its material stands", "Fix",
    why="It sags under the weight of an amplifier, screws pull through, and what was upright lies on its wires. The "
        "softening point on a data sheet is no service limit.",
    remedy="Cut it from a material that stands the heat, or take the heat away.",
    source="makers' data sheets of sheet goods; panel building trade: a board beside a working amplifier is 15 K "
           "over the air",
    mark="common practice", unless="Know where it is within 5 K of the limit.",
)  # fmt: skip
def too_hot(study: Study, say: Say) -> Iterator[Finding]:
    """Boards whose place, with the amplifiers on them, gets hotter than their material stands."""
    for board in study.boards:
        panel, hot = board.panel, hottest_c(study, board)
        row = facts.material(panel.material)
        limit = row.number("service_c")
        if hot <= limit - NEAR_K:
            continue
        warm = [i.id for i in board.items if i.warm]
        air = study.rig.places[panel.place].temperature_c
        by = f", {amount(hot, 'C')} beside {listing(warm)}" if warm else ""
        better = [
            m for m in ("plywood", "HDPE", "aluminium") if facts.material(m).number("service_c") >= hot + NEAR_K
        ]  # fmt: skip
        yield say(
            (panel.id, panel.place, *warm),
            f"{amount(air, 'C')} at {panel.place}{by}; {panel.material} stands {amount(limit, 'C')}.",
            f"Cut {panel.id} from {' or '.join(better) if better else 'metal'}, shade it and let air through, or "
            f"move what is hot.",
            severity="Fix" if hot > limit else "Know", provisional=row.provisional,
        )  # fmt: skip


@check(
    "E983", "Board larger than a usual sheet", "Know",
    why="What no full sheet holds has to be joined, and a joint needs backing.",
    remedy="Make it in two parts on a common frame, or ask for an oversize sheet.",
    source="timber and sheet trade: full sheets of 2440 x 1220 mm", mark="common practice",
)  # fmt: skip
def larger_than_a_sheet(study: Study, say: Say) -> Iterator[Finding]:
    """Boards that do not fit a usual sheet at any quarter turn."""
    long, short = (facts.rule(k) - 2.0 * facts.rule("sheet_margin_mm") for k in ("sheet_width_mm", "sheet_height_mm"))
    for board in study.boards:
        a, b = sorted(board.panel.size_mm, reverse=True)
        if a > long or b > short:
            yield say(
                (board.panel.id,), f"{a:g} x {b:g} mm; a usual sheet leaves {long:g} x {short:g} mm in its margins.",
                f"Make {board.panel.id} in two parts on a common frame.",
            )  # fmt: skip


@check(
    "E984", "Wood screws with little to hold in", "Know",
    why="A screw holds by the thread that is in sound material. In thin plywood and in foamed sheet it shakes loose.",
    remedy="Bolt through with large washers, or set inserts.",
    source="joinery practice: twice the screw's diameter in plywood; foamed sheet holds poorly", mark="common practice",
)  # fmt: skip
def poor_hold(study: Study, say: Say) -> Iterator[Finding]:
    """Boards too thin for the screws of their items, as thin as their sheet may be; foamed sheet always."""
    for board in study.boards:
        panel = board.panel
        thin = panel.thickness_mm - facts.material(panel.material).number("thin_mm")
        if panel.material == "expanded PVC":
            poor, why = [i.id for i in board.items if i.drills], "foamed sheet holds screws poorly"
        elif panel.material == "plywood":
            poor = [i.id for i in board.items if any(thin < facts.rule("hold_ratio") * d.hole_mm for d in i.drills)]
            why = f"it may be {amount(thin, 'mm')} thin, less than {facts.rule('hold_ratio'):g} diameters of the screw"
        else:
            continue
        if poor:
            yield say(
                (panel.id, *poor), f"{panel.material} of {amount(panel.thickness_mm, 'mm')}: {why}.",
                f"Bolt {listing(poor)} through with large washers, or set inserts.",
            )  # fmt: skip


@check(
    "E985", "Board that grows more than its holes give", "Know",
    why="A board that is held all round and grows bulges, or bends the screws that hold it.",
    remedy="Hold it at one point; make the other holes slots.",
    source="makers' data sheets: growth with heat", mark="calculated",
)  # fmt: skip
def grows(study: Study, say: Say) -> Iterator[Finding]:
    """Boards whose longest side grows by more than round holes give, between the bench and the hottest day."""
    for board in study.boards:
        panel, hot = board.panel, hottest_c(study, board)
        row = facts.material(panel.material)
        more = max(panel.size_mm) / 1000.0 * row.number("growth_mm_per_m_k") * (hot - facts.rule("cut_c"))
        if more > facts.rule("hole_play_mm"):
            yield say(
                (panel.id,),
                f"{panel.material}, {max(panel.size_mm):g} mm: {amount(more, 'mm')} longer at {amount(hot, 'C')} than "
                f"at the bench; round holes give {amount(facts.rule('hole_play_mm'), 'mm')}.",
                f"Hold {panel.id} at one point, slot the other holes, and leave {amount(math.ceil(more), 'mm')} at "
                f"its ends.",
                provisional=row.provisional,
            )  # fmt: skip


@check(
    "E986", "Lid that a thick sheet would touch", "Know",
    why="Sheets are not as thick as they are called. What is measured to the tenth of a millimetre does not close.",
    remedy="Measure the sheet before cutting, or leave more room under the lid.",
    source="thickness tolerance of sheet goods", mark="common practice",
)  # fmt: skip
def tight_lid(study: Study, say: Say) -> Iterator[Finding]:
    """Boards whose highest item clears the lid by less than the sheet may be too thick."""
    lid = rooms.room("lid_mm")
    for board in study.boards:
        panel = board.panel
        if not board.items:
            continue
        row = facts.material(panel.material)
        high = max(board.items, key=lambda i: (i.foot_mm + i.height_mm, i.id))
        spare = panel.space_mm - lid - high.foot_mm - high.height_mm
        if 0.0 <= spare < row.number("thick_mm"):
            yield say(
                (panel.id, high.id),
                f"{high.id} leaves {amount(spare, 'mm')} to spare under the lid; {panel.material} may be "
                f"{amount(row.number('thick_mm'), 'mm')} thicker than its name.",
                f"Measure the sheet, and cut {panel.id} from one that is no thicker than "
                f"{amount(panel.thickness_mm + spare, 'mm')}.",
                provisional=row.provisional,
            )  # fmt: skip


@check(
    "E987", "Metal board under terminals", "Know",
    why="A nut that falls, a strand that stands off or a wire that chafes at a hole meets the frame's metal at once.",
    remedy="Edge guard or a grommet in every hole, caps on live terminals; and never the board as a return.",
    source="panel building trade", mark="common practice",
)  # fmt: skip
def metal_board(study: Study, say: Say) -> Iterator[Finding]:
    """Boards of aluminium with terminals on them."""
    for board in study.boards:
        live = [i.id for i in board.items if i.terminals]
        if board.panel.material == "aluminium" and live:
            yield say(
                (board.panel.id, *live), f"{board.panel.id} is metal, with the terminals of {listing(live)} on it.",
                "Guard the edge of every hole, cap live terminals, and set mats under bare ones.",
            )  # fmt: skip
