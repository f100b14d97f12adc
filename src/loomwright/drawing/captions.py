"""What the power diagram says: the words of boxes and wires, from one case of the study."""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.drawing import figures, fonts
from loomwright.drawing.boxes import LINE_MM, TEXT_MM
from loomwright.drawing.flow import Drawn
from loomwright.drawing.marks import Dash, Stroke, weight_for_mm2
from loomwright.drawing.shapes import Content
from loomwright.power.results import CaseResult
from loomwright.rig.model import BatterySpec, Item, Kind, Wire
from loomwright.study import Study

LABEL_GAP_MM = 1.1
_BOLTED_MM = 1.0
_WIDEST_MM = 1.4  # the thickest line: a label keeps its place as its wire's size changes
_SIZE = "0/0 AWG"  # and room for any usual size
_AMPS = f"→ 0.0{figures.THIN_SPACE}A"  # either way, or at rest
DEVICE_WORDS = {
    "post_mount": "post", "glass_5x20": "glass", "breaker_1": "type I", "breaker_2": "type II", "breaker_3": "type III",
}  # fmt: skip
_DASHES: dict[Kind, Dash] = {"ground": "long", "remote": "dotted"}
_NODES = ("fuse_holder", "breaker", "switch", "fused_block", "plain_block", "bus", "frame", "splice")


@dataclass(frozen=True, slots=True)
class Label:
    """Words on a wire: over it, under it, and the room they take with the wire in the middle."""

    above: tuple[str, ...]
    below: str
    width_mm: float
    height_mm: float


def stroke(wire: Wire) -> Stroke:
    """The line of a wire: the more metal the wider; returns broken, remote leads dotted, all others full."""
    width = weight_for_mm2(wire.size.area_mm2) if wire.size else 0.35
    if wire.size is not None and wire.size.system == "bolted":
        width = _BOLTED_MM
    return Stroke(width, "ink", _DASHES.get(wire.kind, "solid"))


def content(study: Study | None, item: Item, case: CaseResult | None, terminals: list[str]) -> Content:
    """The words of a box: figures of the case, and its over-current devices as they stand, or as written."""
    said: list[str] = []
    spec = item.part.spec
    if case and item.part.family in _NODES and terminals:
        known = case.node_v.get(f"{item.id}.{'in' if item.part.family.endswith('block') else terminals[0]}")
        if known is not None:
            said.append(figures.volts(known))
    if isinstance(spec, BatterySpec):
        said.append(f"{spec.capacity_ah:g}{figures.THIN_SPACE}Ah, {item.charge_pct:.0f}{figures.THIN_SPACE}% full")
    state = case.items.get(item.id) if case else None
    if state is not None:
        flow_a = abs(state.amps_a)
        if item.part.family == "battery":
            way = "takes" if state.amps_a > 0.05 else "gives" if state.amps_a < -0.05 else "at rest,"
            said.append(f"{figures.volts(state.volts_v)}, {way} {figures.amps(flow_a)}")
        else:
            said.append(f"{figures.volts(state.volts_v)}, {figures.amps(flow_a)}")
        if item.part.family == "amplifier":
            said.append(f"{state.watts_w:.0f}{figures.THIN_SPACE}W in, {state.output_w:.0f}{figures.THIN_SPACE}W out")
        if state.below_minimum:
            said.append("below its least volts")
    devices, empty = _devices(study, item) if study is not None else _written(item)
    return Content(item, tuple(said), devices, empty)


def _written(item: Item) -> tuple[tuple[str, ...], tuple[int, ...]]:
    """The fuses of an item as its rig file gives them: a rating, ``auto``, or nothing."""
    said = [f if f == "auto" else figures.rating(f) if f else "empty" for f in item.fuses_a]
    if item.part.family != "fused_block":
        return tuple(f"fuse {s}" for s in said), ()
    said += ["empty"] * (item.part.ways - len(said))
    return tuple(f"{n}: {s}" for n, s in enumerate(said, 1)), tuple(n for n, s in enumerate(said, 1) if s == "empty")


def _devices(study: Study, item: Item) -> tuple[tuple[str, ...], tuple[int, ...]]:
    """The over-current devices of an item in words, and the ways that are empty."""
    found = {d.way: d for d in study.devices.values() if d.item == item.id}
    if item.part.family == "fused_block":
        words = {w: f"{w}: {device_words(d.type, d.rating_a)}" for w, d in found.items()}
        ways = range(1, item.part.ways + 1)
        return tuple(words.get(w, f"{w}: empty") for w in ways), tuple(w for w in ways if w not in words)
    texts = []
    for way, device in sorted(found.items()):
        count = f"{device.count} × " if device.count > 1 else ""
        own = "own fuse " if way == 0 else ""
        texts.append(f"{own}{count}{device_words(device.type, device.rating_a)}")
    if not texts and item.part.family in ("fuse_holder", "breaker"):
        texts.append("no fuse fitted")
    return tuple(texts), ()


def device_words(kind: str, rating_a: float) -> str:
    """Type and rating of an over-current device, as short as they are said."""
    return f"{DEVICE_WORDS.get(kind, kind)} {figures.rating(rating_a)}"


def amps(amps_a: float, d: Drawn) -> str:
    """Amperes of a wire with an arrow the way they go on the sheet; none at rest."""
    to_right = (amps_a >= 0) != d.turned
    words = figures.amps(abs(amps_a))
    return words if abs(amps_a) < 0.05 else f"→ {words}" if to_right else f"{words} ←"


def label(d: Drawn, case: CaseResult | None) -> Label:
    """Size and length over the wire, amperes with their direction under it."""
    wire = d.wire
    length = figures.length(wire.length_mm) if wire.length_mm else "length open"
    if wire.size is None:
        above: tuple[str, ...] = ("size open", length)
    elif wire.size.system == "bolted":
        above = ("bolted",)
    else:
        metal = "" if wire.metal == "copper" else f" {wire.metal.upper() if wire.metal.startswith('cca') else 'tinned'}"
        above = (f"{wire.size.label}{metal}", length)
    state = case.wires.get(wire.id) if case else None
    below = ""
    if state is not None:
        below = amps(state.amps_a, d)
    texts = (*above, below, *((_AMPS,) if below else ()), *((_SIZE,) if len(above) > 1 else ()))
    widest = max(fonts.width_mm(text, TEXT_MM) for t in texts for text in (t, figures.roomy(t)))
    half = _WIDEST_MM / 2 + LABEL_GAP_MM + TEXT_MM + LINE_MM * (len(above) - 1) + 0.6
    return Label(above, below, widest + 2.0, 2 * half)
