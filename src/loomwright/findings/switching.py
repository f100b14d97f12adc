"""Switching on and off: thumps, things that never sleep, things that never wake."""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf

from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.ways import amplifiers
from loomwright.findings.words import amount, listing
from loomwright.rig.model import LoadSpec
from loomwright.rig.shape import shape_of
from loomwright.sound.remotes import remotes_of
from loomwright.sound.switching_results import Thump
from loomwright.study import Study

ORDER = "common practice: the processor wakes first and sleeps last, amplifiers wake last and sleep first"


def _thumps(say: Say, thumps: tuple[Thump, ...], turn: str) -> Iterator[Finding]:
    """One finding for each remedy-giving item: amplifiers with the same culprit and times go together."""
    groups: dict[tuple[object, ...], list[Thump]] = {}
    for t in thumps:
        groups.setdefault((t.culprit, t.from_ms, t.to_ms, t.stated), []).append(t)
    for group in groups.values():
        t = group[0]
        amps = listing(x.amplifier for x in group)
        many = "are" if len(group) > 1 else "is"
        span = f"from {amount(t.from_ms, 'ms')} on" if isinf(t.to_ms) else (
            f"from {amount(t.from_ms, 'ms')} to {amount(t.to_ms, 'ms')}"
        )  # fmt: skip
        moves = "still starts up" if turn == "on" else "goes down unmuted"
        yield say(
            (*(x.amplifier for x in group), t.culprit),
            f"{amps} {many} awake {span} after the key is turned {turn}, while {t.culprit} {moves}.",
            t.remedy.replace(f"{t.amplifier}.remote ", listing(f"{x.amplifier}.remote" for x in group) + " "),
            severity=None if t.stated else "Know",
        )


@check(
    "E926",
    "Thump when switched on",
    "Fix",
    why="An amplifier is awake while its input still settles: what comes out of the processor as it starts is heard as "
    "a thump, and can tear a cone.",
    remedy="Wake amplifiers last: feed their remote wires from the last processor, with its delay.",
    source=ORDER,
    mark="common practice",
    unless="Know where a delay that matters is not stated by the part or the rig.",
)
def thump_on(study: Study, say: Say) -> Iterator[Finding]:
    """Amplifiers awake before their input has settled."""
    yield from _thumps(say, study.sound.switching.on.thumps, "on")


@check(
    "E927",
    "Thump when switched off",
    "Fix",
    why="An amplifier is still awake when the item before it goes down: its outputs collapse, and that is heard as a "
    "thump.",
    remedy="Put amplifiers to sleep first; let the processor hold or mute its outputs longer than they need.",
    source=ORDER,
    mark="common practice",
    unless="Know where a delay that matters is not stated by the part or the rig.",
)
def thump_off(study: Study, say: Say) -> Iterator[Finding]:
    """Amplifiers still awake when their input collapses."""
    yield from _thumps(say, study.sound.switching.off.thumps, "off")


@check(
    "E928",
    "Amplifier that never sleeps",
    "Fix",
    why="Its remote wire hangs on something that is always live. It idles day and night, and the battery is flat "
    "when the engine should start.",
    remedy="Feed its remote wire from a remote output, or from a relay that one switches.",
    source="idle current times hours (calculated)",
    mark="calculated",
)
def never_sleeps(study: Study, say: Say) -> Iterator[Finding]:
    """Amplifiers whose remote line is live for good, by a live feed."""
    moments = study.sound.switching.moments
    for item, spec in amplifiers(study.rig):
        moment = moments.get(f"{item.id}.remote")
        if moment is not None and isinf(moment.on_ms) and moment.on_ms < 0 and isinf(moment.off_ms):
            yield say(
                (item.id,),
                f"{item.id}.remote is live for good: {amount(spec.idle_a, 'A')} idle, {amount(24 * spec.idle_a, 'Ah')} "
                "a day.",
                f"Feed {item.id}.remote from the source's or the processor's remote output.",
            )


@check(
    "E929",
    "Remote line that holds itself live",
    "Fix",
    why="A processor's remote output lies on the line that feeds its own remote input. Once it is on, it keeps itself "
    "on.",
    remedy="Part the two: the source's remote output wakes the processor, the processor's wakes the amplifiers.",
    source="the wiring as described (calculated)",
    mark="calculated",
)
def holds_itself(study: Study, say: Say) -> Iterator[Finding]:
    """Processors that go on with the key and never off."""
    moments = study.sound.switching.moments
    for item in study.rig.family("processor"):
        moment = moments.get(f"{item.id}.remote_in")
        if moment is not None and not isinf(moment.on_ms) and isinf(moment.off_ms) and moment.off_ms > 0:
            yield say(
                (item.id, f"{item.id}.remote_in", f"{item.id}.remote_out"),
                f"{item.id} wakes {amount(moment.on_ms, 'ms')} after the key and never sleeps again.",
                f"Part {item.id}.remote_in from {item.id}.remote_out.",
            )


@check(
    "E930",
    "Processor that nothing wakes",
    "Fix",
    why="It runs only while its remote input is live, and nothing feeds that: no sound, or someone ties it to the feed "
    "and it never sleeps.",
    remedy="Run a remote wire from the source's remote output to it.",
    source="common practice",
    mark="common practice",
)
def never_wakes(study: Study, say: Say) -> Iterator[Finding]:
    """Processors that run by remote and have no live remote line."""
    moments = study.sound.switching.moments
    for item in study.rig.family("processor"):
        spec = item.part.spec
        if not isinstance(spec, LoadSpec) or spec.runs != "remote":
            continue
        moment = moments.get(f"{item.id}.remote_in")
        if moment is None or (isinf(moment.on_ms) and moment.on_ms > 0):
            yield say(
                (item.id,),
                f"0 V on {item.id}.remote_in after either turn of the key.",
                f"Run a remote wire from the source's remote output to {item.id}.remote_in.",
            )


@check(
    "E931",
    "Two remote outputs on one line",
    "Know",
    why="One output feeds back into the other. The line stays live until the last of them lets go, so the order of "
    "switching is not the one that either was set to.",
    remedy="Let one of them feed the line; the other wakes that one.",
    source="common practice",
    mark="common practice",
)
def outputs_tied(study: Study, say: Say) -> Iterator[Finding]:
    """Remote lines with two outputs on them, that do not hold themselves live."""
    for line in remotes_of(shape_of(study.rig)).lines():
        outputs = [f for f in line.feeds if f.kind == "output"]
        own = [f for f in outputs if f"{f.item}.remote_in" in line.terminals]
        if len(outputs) > 1 and not own:
            names = listing(f.terminal for f in outputs)
            yield say(
                tuple(f.terminal for f in outputs), f"{len(outputs)} outputs on one line: {names}.",
                f"Take {outputs[0].terminal} or {outputs[1].terminal} off the line.",
            )  # fmt: skip
