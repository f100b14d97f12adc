"""The whole loom of one rig, put together."""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.facts import harness
from loomwright.loom import nets
from loomwright.loom.bundles import bundles
from loomwright.loom.disconnects import disconnects
from loomwright.loom.ends import ends_of
from loomwright.loom.labels import label
from loomwright.loom.lengths import diameter_mm, length, mass_g_per_m
from loomwright.loom.results import Crossing, LoomResult, LoomWire
from loomwright.loom.ring_out import ring_out
from loomwright.panel.lengths import OnBoards, on_boards
from loomwright.panel.results import PanelResult
from loomwright.power.results import PowerResult
from loomwright.protection.graph import is_bolted
from loomwright.rig.model import Rig, Wire
from loomwright.rig.shape import shape_of

NO_PANELS = PanelResult(())


def study_loom(rig: Rig, power: PowerResult, panels: PanelResult = NO_PANELS) -> LoomResult:
    """Routes, bundles, ends, disconnects, labels and the ring-out. The rig's sizes are settled."""
    wires = loom_wires(rig, panels)
    colours = {w.id: w.colour for w in wires}
    return LoomResult(
        wires=wires,
        bundles=bundles(rig),
        disconnects=disconnects(rig, power, colours),
        crossings=crossings(rig),
        ring_out=ring_out(rig),
    )


def loom_wires(rig: Rig, panels: PanelResult = NO_PANELS) -> tuple[LoomWire, ...]:
    """Every wire that is cut, in the order of the rig; terminals bolted together are none."""
    colours, there = wire_colours(rig), on_boards(panels)
    return tuple(_wire(rig, w, colours[w.id], there.get(w.id)) for w in rig.wires if w.id in colours)


def wire_colours(rig: Rig) -> Mapping[str, str]:
    """Colour of every wire that is cut, by its id: what drawings need to know of the loom before it is worked out."""
    minus = minus_wires(rig)
    return {w.id: w.colour or usual_colour(w, minus) for w in rig.wires if w.size is not None and not is_bolted(w)}


def _wire(rig: Rig, wire: Wire, colour: str, there: OnBoards | None) -> LoomWire:
    assert wire.size is not None
    cut = length(rig, wire, there)
    return LoomWire(
        id=wire.id,
        start=wire.start,
        end=wire.end,
        kind=wire.kind,
        size=wire.size.label,
        metal=wire.metal,
        insulation_c=wire.insulation_c,
        colour=colour,
        colour_given=wire.colour is not None,
        runs=tuple(k + 1 for k in wire.route),
        length_from=cut.source,
        length_mm=cut.length_mm,
        slack_mm=cut.slack_mm,
        cut_mm=cut.cut_mm,
        outside_mm=diameter_mm(wire),
        mass_g=mass_g_per_m(wire) * cut.cut_mm / 1000.0,
        ends=ends_of(rig, wire),
        labels=(label(wire.id, wire.start, wire.end), label(wire.id, wire.end, wire.start)),
    )


def usual_colour(wire: Wire, minus: frozenset[str]) -> str:
    """Colour of a wire where the rig says none: by what it carries; speaker wires on a minus are striped."""
    if wire.kind != "speaker":
        return harness.usual_colour(wire.kind)
    return harness.usual_colour("speaker_minus" if wire.id in minus else "speaker_plus")


def minus_wires(rig: Rig) -> frozenset[str]:
    """Speaker wires that hang on the minus of an output, through connectors and splices too."""
    outs = [
        f"{i.id}.{t.name}"
        for i in rig.family("amplifier", "source")
        for t in i.part.terminals
        if t.kind == "speaker" and t.name.endswith("-")
    ]
    on = nets.reached(nets.links(shape_of(rig), nets.SPEAKER), outs)
    return frozenset(w.id for w in rig.wires if w.kind == "speaker" and w.start in on)


def crossings(rig: Rig) -> tuple[Crossing, ...]:
    """Places where line leads and feeds meet though they share no run there."""
    found = []
    for place in rig.places:
        here = {k for k, run in enumerate(rig.runs) if place in run.between}
        by_run = {
            k: ([w.id for w in rig.wires if k in w.route and w.kind == "line"],
                [w.id for w in rig.wires if k in w.route and w.kind in ("power", "ground")])
            for k in here
        }  # fmt: skip
        line = sorted({w for k in here for w in by_run[k][0] if not by_run[k][1]})
        feeds = sorted({w for k in here for w in by_run[k][1] if not by_run[k][0]})
        if line and feeds:
            found.append(Crossing(place, tuple(line), tuple(feeds)))
    return tuple(found)
