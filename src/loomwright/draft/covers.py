"""Covers: every hazard on a run that wires take is answered."""

from __future__ import annotations

from loomwright.draft.sheet import Sheet
from loomwright.facts import workmanship
from loomwright.findings.covers import unanswered
from loomwright.protection.graph import is_bolted
from loomwright.rig.model import Rig


def draft(sheet: Sheet, rig: Rig) -> None:
    """Add to each run the cover that answers what threatens a wire in it."""
    for k, run in enumerate(rig.runs):
        wires = [w for w in rig.wires if k in w.route and not is_bolted(w)]
        bare = [h for h in run.hazards if any(h in unanswered(rig, w, run) for w in wires)]
        if not bare:
            continue
        more: list[str] = []
        for hazard in bare:
            found = workmanship.covers(hazard)
            if not any(c in more for c in found):
                more.append(found[0])
        cover = tuple(dict.fromkeys([*run.cover, *more]))
        answer = " and ".join(f"{workmanship.covers(h)[0]} against {h}" for h in bare)
        sheet.covers[k + 1] = (cover, f"drafted: {answer}")
        sheet.choose(
            f"run {k + 1}, {run.between[0]} to {run.between[1]}", ", ".join(more), answer,
            tuple(dict.fromkeys(c for h in bare for c in workmanship.covers(h)[:3] if c not in more)),
        )  # fmt: skip
