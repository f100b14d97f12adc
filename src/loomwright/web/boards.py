"""Panels for a page: the board as it lies, drawn for a screen, and what a move would break."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Sequence
from typing import Any

from loomwright.drawing import board, svg
from loomwright.findings.model import Finding
from loomwright.findings.run import check_panels
from loomwright.panel.bodies import all_bodies, lay
from loomwright.panel.layout import laid_items
from loomwright.panel.links import cost, links
from loomwright.panel.results import Laid, Where
from loomwright.panel.rules import broken
from loomwright.rig.model import Rig
from loomwright.study import Study
from loomwright.web.service import Opened

KEPT = 8
_kept: OrderedDict[tuple[str, str], Study] = OrderedDict()
_lock = threading.Lock()


def study_of(opened: Opened) -> Study | None:
    """The study of a rig, its sizes settled but nothing else waited for; None where the text is no whole rig."""
    if opened.worked.ready:
        return opened.worked.study
    rig = opened.worked.rig
    if rig is None or not rig.items:
        return None
    key = opened.revision.text, opened.own
    with _lock:
        study = _kept.get(key)
        if study is None:
            study = _kept[key] = Study(rig)
            _ = study.rig
        _kept.move_to_end(key)
        while len(_kept) > KEPT:
            _kept.popitem(last=False)
    return study


def drawn(layout: Laid, chosen: str, layer: int) -> tuple[str, float]:
    """The board as an ``svg`` element in the page's colours, and its scale [mm of the board to a unit]."""
    sheet, scale = board.face(layout, chosen, layer)
    return svg.render(sheet, css_colours=True).partition("\n")[2], scale


def shown(layout: Laid, scale: float) -> dict[str, Any]:
    """What the page's script needs to know of a board."""
    width, height = layout.panel.size_mm
    return {
        "panel": layout.panel.id, "scale": scale, "width_mm": width, "height_mm": height,
        "layers": layout.panel.spacer_mm is not None,
        "items": {
            i.id: {"at_mm": i.at_mm, "size_mm": i.size_mm, "turn_deg": i.turn_deg, "layer": i.layer, "fixed": i.fixed}
            for i in layout.items
        },
    }  # fmt: skip


def findings(study: Study, panel: str) -> tuple[Finding, ...]:
    """What the checks say of one panel."""
    return tuple(f for f in check_panels(study) if panel in f.where)


def tried(rig: Rig, panel_id: str, where: Where) -> dict[str, Any]:
    """What a layout with one item elsewhere breaks, and what it costs. No lead is laid."""
    panel, bodies = rig.panels[panel_id], all_bodies(rig)[panel_id]
    body = next(b for b in bodies if b.id == where.item)
    items = [
        lay(body, panel, where.at_mm, where.turn_deg, where.layer) if i.id == where.item else i
        for i in laid_items(rig, panel, bodies)
    ]
    if all(i.id != where.item for i in items):
        items.append(lay(body, panel, where.at_mm, where.turn_deg, where.layer))
    found = broken(panel, bodies, items)
    return {
        "item": where.item, "at_mm": where.at_mm, "broken": found,
        "cost": cost(panel, bodies, links(rig, panel, bodies), items),
    }  # fmt: skip


def breakers(layout: Laid) -> Sequence[str]:
    """Items that break a rule."""
    return tuple(dict.fromkeys(i for b in layout.broken for i in b.items))
