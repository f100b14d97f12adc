"""Sheets of some of a rig's wires: power with the figures of one case, and signals with what each channel plays."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from loomwright.drawing import captions, figures, flow, frame, full_wiring, panels, set_marks, shapes, sheet_set
from loomwright.drawing.boxes import End, Shape
from loomwright.drawing.drafts import Draft, Look, on_paper
from loomwright.drawing.flow import Drawn
from loomwright.drawing.marks import Sheet
from loomwright.drawing.pieces import Piece, pieces
from loomwright.drawing.sheet_set import Content, Laid
from loomwright.loom import nets
from loomwright.loom.loom import wire_colours
from loomwright.rig.model import AmplifierSpec, EngineState, Item, Programme, Rig, Wire
from loomwright.rig.shape import shape_of
from loomwright.study import Study

_POWER = "Power single-line diagram"
_SIGNAL = "Signal and remote diagram"


def power(
    study: Study, paper: frame.Paper, engine: EngineState | None = None, programme: Programme = "music"
) -> tuple[Draft, ...]:
    """The power single-line diagram with volts and amperes of one case, on as many sheets as it takes to read it."""
    rig = study.rig
    engine = engine or rig.engine_states()[-1]
    case = study.power.cases.get((engine, programme))

    def make(piece: Piece, west: Sequence[End], east: Sequence[End]) -> Shape:
        content = captions.content(study, piece.item, case, [e.terminal for e in (*east, *west)])
        words = full_wiring.contacts_words(piece.item, piece.contacts) if piece.contacts else ""
        if words:
            content = shapes.Content(piece.item, (words, *content.figures), content.devices, content.empty)
        return shapes.shape(content, west, east)

    def end(d: Drawn, ref: str, west: bool) -> End:
        made = full_wiring.end_of(d, ref, "", west)
        state = case.wires.get(d.wire.id) if case and not west else None
        return made if state is None else replace(made, note=f"{made.note}, {captions.amps(state.amps_a, d)}")

    notes = [
        "Full lines feed, broken lines return. Thicker: more metal.",
        "Volts against the minus post of the reference battery. → way of the current.",
        "In a bow wires cross and do not join; a dot joins.",
    ]
    if case is not None and not case.solved:
        notes.insert(0, f"This case has no operating point: shown at {figures.three(case.load_factor)} of it.")
    if any(p.provisional for p in study.devices.values()):
        notes.append("Some time-current gates rest on memory: provisional.")
    content = Content(pieces(rig, flow.power_wires(rig)), make, end, grouped=False)
    return _drafts(study, content, paper, "single_line", Look(_POWER, f"engine {engine}, {programme}", notes))


def signal(study: Study, paper: frame.Paper) -> tuple[Draft, ...]:
    """Line leads and remote leads; speaker wires only where they bring a signal. Each channel says what it plays."""
    rig = study.rig
    colour = wire_colours(rig)

    def make(piece: Piece, west: Sequence[End], east: Sequence[End]) -> Shape:
        item = piece.item
        if item.part.family in ("amplifier", "processor", "source"):
            return panels.panel(item, west, east, _plays(rig, item), _bands(item))
        return full_wiring.shape(study, piece, west, east)

    def end(d: Drawn, ref: str, west: bool) -> End:
        return replace(full_wiring.end_of(d, ref, colour.get(d.wire.id, ""), west), note="")

    content = Content(pieces(rig, signal_wires(rig)), make, end, grouped=False)
    notes = [
        "Dotted lines are remote leads, full lines carry the signal.",
        "Feeds, returns and wires to loudspeakers are on the wiring diagram.",
        "In a bow wires cross and do not join; a dot joins.",
    ]
    return _drafts(study, content, paper, "signal", Look(_SIGNAL, "", notes))


def signal_wires(rig: Rig) -> tuple[Wire, ...]:
    """Remote and line leads, and speaker wires whose net ends at an input."""
    ins = [
        f"{i.id}.{t.name}" for i in rig.items.values() for t in i.part.terminals
        if t.kind == "speaker" and t.name.startswith("hi")
    ]  # fmt: skip
    along = nets.reached(nets.links(shape_of(rig), nets.SPEAKER), [r for r in ins if rig.wires_at(r)])
    return tuple(
        w for w in rig.wires if w.kind in ("remote", "line") or (w.kind == "speaker" and w.start in along)
    )  # fmt: skip


def _drafts(study: Study, content: Content, paper: frame.Paper, name: str, look: Look) -> tuple[Draft, ...]:
    laid = sheet_set.lay(content, paper)
    return tuple(_draft(study, content, laid, k, name, look) for k in range(len(laid)))


def _draft(study: Study, content: Content, laid: Sequence[Laid], k: int, name: str, look: Look) -> Draft:
    several = len(laid) > 1
    about = f", {k + 1} of {len(laid)}" if several else ""
    elsewhere = ("Broken outline: in the sheet and zone named, 2/B4.",) if several or len(laid[k].strips) > 1 else ()
    here = Look(look.document + about, look.case, (*elsewhere, *look.notes))

    def finish(number: int, total: int) -> Sheet:
        done = sheet_set.referred(laid[k], sheet_set.references(laid, number - k))
        marks = set_marks.marks(content.whole, done)
        return on_paper(study.rig, done.size, here, marks, number, total)

    return Draft(f"{name}_{k + 1}" if several else name, here.document, finish)


def _plays(rig: Rig, item: Item) -> tuple[str, ...]:
    """For each channel of an amplifier or source: what it drives."""
    channels = item.part.spec.channels if isinstance(item.part.spec, AmplifierSpec) else 0
    stems = [f"ch{n}" for n in range(1, channels + 1)]
    stems += sorted({t.name[:-1] for t in item.part.terminals if t.name.startswith("spk")})
    along = nets.links(shape_of(rig), nets.SPEAKER)
    out = []
    for stem in stems:
        there = nets.reached(along, [f"{item.id}.{stem}+"])
        drivers = [i.id for i in rig.family("driver") if f"{i.id}.+" in there or f"{i.id}.-" in there]
        if drivers:
            out.append(f"{stem}: {', '.join(drivers)}")
    return tuple(out)


def _bands(item: Item) -> Mapping[str, str]:
    """By output of a processor: what its filters let through."""
    out = {}
    for band in item.bands if item.part.family == "processor" else ():
        low, high = band.high_pass_hz, band.low_pass_hz
        words = f"{_hz(low)} to {_hz(high)}" if low and high else f"from {_hz(low)}" if low else ""
        words = words or (f"to {_hz(high)}" if high else "")
        out.update({f"out{n}": words for n in band.channels})
    return out


def _hz(value: float | None) -> str:
    assert value is not None
    return figures.unit(f"{value:g}", "Hz") if value < 1000.0 else figures.unit(f"{value / 1000.0:g}", "kHz")
