"""The diagram of a rig as a page shows it: which view, and the drawing as an ``svg`` element."""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.drawing import hookup, svg
from loomwright.drawing.hookup import POWER, VIEWS, View, view_of
from loomwright.rig.model import EngineState, Programme, Rig, Wire
from loomwright.study import Study
from loomwright.web import sketch
from loomwright.web.draft import Draft

WORDS: dict[View, str] = {"power": "Power and ground", "signals": "Remote, line, speaker"}


@dataclass(frozen=True, slots=True)
class Tab:
    """One view on offer above the diagram."""

    slug: View
    words: str
    current: bool


def tabs(now: View) -> tuple[Tab, ...]:
    """The views, with the one that is shown."""
    return tuple(Tab(v, WORDS[v], v == now) for v in VIEWS)


def drawn(
    rig: Rig, view: View, study: Study | None = None, engine: EngineState = "cruise", programme: Programme = "music"
) -> str:
    """One view as an ``svg`` element in the page's colours; empty where there is nothing to draw, or too much."""
    sheet = hookup.draw(rig, view, study, engine, programme)
    return "" if sheet is None else svg.render(sheet, css_colours=True).partition("\n")[2]


def sketched(draft: Draft, view: View) -> str:
    """One view of a rig that is not whole yet, without figures."""
    return drawn(sketch.rig(draft), view)


def view_for(rig: Rig, ref: str, asked: str = "") -> View:
    """The view that shows a place: a wire, an item, ``item.terminal``, or ``wire@item.terminal``.

    What was asked for comes first.
    """
    if asked in VIEWS:
        return "signals" if asked == "signals" else "power"
    wire = wire_at(rig, ref)
    if wire is not None:
        return view_of(wire.kind)
    item_id, _, terminal = ref.partition(".")
    item = rig.items.get(item_id)
    if item is None:
        return "power"
    kinds = [t.kind for t in item.part.terminals if t.name == terminal]
    kinds = kinds or [w.kind for w in rig.wires if item_id in (w.start.partition(".")[0], w.end.partition(".")[0])]
    kinds = kinds or [t.kind for t in item.part.terminals]
    return "power" if not kinds or any(k in POWER for k in kinds) else "signals"


def wire_at(rig: Rig, ref: str) -> Wire | None:
    """The wire of an id, or of a joint ``wire@item.terminal``. Ids may hold an @: a joint is looked for whole."""
    return next((w for w in rig.wires if ref in (w.id, f"{w.id}@{w.start}", f"{w.id}@{w.end}")), None)
