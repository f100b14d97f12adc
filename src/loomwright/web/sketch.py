"""A rig that is not whole yet, as far as it can be drawn: its known items, and the wires with two known ends."""

from __future__ import annotations

from loomwright.errors import LoomwrightError
from loomwright.facts import conductors
from loomwright.rig.joins import settle_kinds
from loomwright.rig.model import Rig, Vehicle, Wire, WireSize
from loomwright.rig.report import Report
from loomwright.web import draft
from loomwright.web.draft import Draft


def rig(d: Draft) -> Rig:
    """The draft as a rig, a length of 0 where the runs would give it: for drawing alone, not for calculating."""
    items = draft.parts_of(d)
    known = [f"{i.id}.{t.name}" for i, t in draft.terminals(d)]
    links = draft.links_of(d, known)
    settled, kinds = settle_kinds(items, links, Report(""))
    written = {w.id: w for w in reversed(d.wires)}
    wires = tuple(
        Wire(link.id, link.start, link.end, kinds[link.place], _size(written[link.id].size), "copper",
             _length_mm(written[link.id].length_mm), ())
        for link in links
        if link.start is not None and link.end is not None
    )  # fmt: skip
    return Rig(d.title, "draft", 25.0, Vehicle("other"), {}, (), settled, wires)


def _size(text: str) -> WireSize | None:
    try:
        row = conductors.parse_size(text)
    except LoomwrightError:
        return None
    return WireSize(row.label, row.system, row.area_mm2, row.diameter_mm)


def _length_mm(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        return 0.0
    return value if 0.0 < value < 1e6 else 0.0
