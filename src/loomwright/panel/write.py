"""The places that were found, written into the rig file. Comments stay."""

from __future__ import annotations

from loomwright.panel.results import Placement, Where
from loomwright.rig.edit import Value, set_item
from loomwright.rig.model import Rig


def written(text: str, rig: Rig, placement: Placement) -> str:
    """The text with every item of a placement where it is best; fixed ones are left alone."""
    for where in placement.spots:
        spot = rig.items[where.item].spot
        if spot is None or spot.fixed:
            continue
        keys: dict[str, Value | None] = {
            "at_mm": [_whole(v) for v in where.at_mm],
            "turn_deg": where.turn_deg or None,
        }
        if where.layer == 2 or spot.layer is not None:
            keys["layer"] = where.layer
        text = set_item(text, where.item, **keys)
    return text


def moved(text: str, rig: Rig, where: Where) -> str:
    """The text with one item put somewhere by hand."""
    spot = rig.items[where.item].spot
    keys: dict[str, Value | None] = {"at_mm": [_whole(v) for v in where.at_mm], "turn_deg": where.turn_deg or None}
    if where.layer == 2 or (spot is not None and spot.layer is not None):
        keys["layer"] = where.layer
    return set_item(text, where.item, **keys)


def _whole(value: float) -> float:
    return int(value) if value == int(value) else value
