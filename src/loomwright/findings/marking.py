"""The harness on the bench: labels that can be told apart, covers that are made, ways that were chosen by hand."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from loomwright.findings.covers import between, run_name
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.words import amount, count, listing
from loomwright.loom.bundles import bundle, diameter_between_mm, not_made, wires_in
from loomwright.loom.labels import MOST, short
from loomwright.protection.graph import is_bolted
from loomwright.rig.model import Rig, Wire
from loomwright.rig.routes import Routes, Way
from loomwright.study import Study

LONG = 1.5
ROOM_MM = 400.0
"""A way led by hand that is 1.5 x the usual one, and 400 mm more, is long."""
_ALIKE = str.maketrans({"O": "0", "o": "0", "I": "1", "l": "1", "|": "1", "-": "", "_": "", " ": "", "/": ""})


@check(
    "E531",
    "Labels that cannot be told apart",
    "Know",
    why="A label is read upside down, with oil on it. O and 0, l and 1, a dash more or less, small or capital letter: "
    "one wire goes where the other belongs.",
    remedy="Number the wires so that a finger over one character does not make them the same; keep the number short.",
    source="common practice",
    mark="common practice",
)
def labels_alike(study: Study, say: Say) -> Iterator[Finding]:
    """Wires whose numbers differ by look-alike characters only, then those that a label cuts short."""
    made = [w for w in study.rig.wires if not is_bolted(w)]
    alike: dict[str, list[str]] = defaultdict(list)
    for wire in made:
        alike[wire.id.translate(_ALIKE).casefold()].append(wire.id)
    for ids in alike.values():
        if len(ids) > 1:
            yield say(
                ids,
                f"{count(len(ids), 'wire')} with numbers that read alike: {listing(ids)}.",
                f"Give {listing(ids[1:])} another number.",
            )
    long = [w.id for w in made if short(w.id) != w.id]
    if long:
        yield say(
            long,
            f"{count(len(long), 'number')} longer than the {MOST} characters of a label, or with signs that it cannot "
            f"show: {listing(map(short, long))}.",
            "Give them short numbers: P1, R1, S1.",
        )


@check(
    "E532",
    "No cover is made for this bundle",
    "Fix",
    why="Sleeves, tubes and grommets are made up to a size. A bundle beyond it is left bare, or squeezed.",
    remedy="Split the bundle in two, or lead some of its wires another way.",
    source="sizes of sleeves, tubes and grommets in the trade, partly from memory",
    mark="from memory",
)
def cover_not_made(study: Study, say: Say) -> Iterator[Finding]:
    """Runs whose covers or grommet are not made for a bundle so thick, or so thin."""
    rig = study.rig
    for k, run in enumerate(rig.runs):
        if not wires_in(rig, k) or not run.cover:
            continue
        if not any(not_made(d, run.cover) for d in diameter_between_mm(rig, k)):
            continue
        b = bundle(rig, k)
        missing = not_made(b.diameter_mm, run.cover)
        if missing:
            yield say(
                (run_name(rig, k),),
                f"{run_name(rig, k)}, {between(run)}: {count(len(b.wires), 'wire')} pack to "
                f"{amount(b.diameter_mm, 'mm')}; no {listing(missing)} is made for that.",
                f"Split the bundle of {run_name(rig, k)}, or cover its wires in two parts.",
                provisional=True,
            )


@check(
    "E533",
    "Line lead led beside the feeds",
    "Know",
    why="What a feed carries is picked up by a line lead that lies along it: whine and clicks follow the engine.",
    remedy="Lead it apart from the feeds, and cross them at right angles.",
    source="common practice",
    mark="common practice",
)
def beside_feeds(study: Study, say: Say) -> Iterator[Finding]:
    """Line leads that `via` leads along more runs with feeds than they would take by themselves."""
    rig = study.rig
    feeds = frozenset(k for w in rig.wires if w.kind in ("power", "ground") for k in w.route)
    for wire, free in _led(rig, feeds):
        if wire.kind != "line":
            continue
        here, before = (sum(rig.runs[k].length_mm for k in way if k in feeds) for way in (wire.route, free.runs))
        if here > before:
            yield say(
                (wire.id,),
                f"{wire.id} is led over {listing(wire.via)}, {amount(here, 'mm')} beside feeds; by itself it would "
                f"take {amount(before, 'mm')} beside them.",
                f"Leave out via on {wire.id}, or lead it over places that no feed passes.",
            )


@check(
    "E534",
    "Wire led the long way round",
    "Know",
    why="Each metre more is volts lost and copper paid for.",
    remedy="Lead it the usual way, unless something stands in it that the rig does not say.",
    source="common practice",
    mark="common practice",
)
def long_way_round(study: Study, say: Say) -> Iterator[Finding]:
    """Wires that `via` makes one and a half times as long as the usual way, and 400 mm more."""
    rig = study.rig
    for wire, free in _led(rig, frozenset()):
        led = sum(rig.runs[k].length_mm for k in wire.route)
        if led > LONG * free.length_mm + ROOM_MM:
            yield say(
                (wire.id,),
                f"{wire.id} is led over {listing(wire.via)}: {amount(led, 'mm')} of runs; the usual way is "
                f"{amount(free.length_mm, 'mm')}.",
                f"Leave out via on {wire.id}, or note what stands in the usual way as a hazard of its run.",
            )


def _led(rig: Rig, apart: frozenset[int]) -> Iterator[tuple[Wire, Way]]:
    """Wires that are led over places, each with the way that it would take by itself; line leads keep ``apart``."""
    routes = Routes(rig.runs)
    for wire in rig.wires:
        if wire.via and wire.route:
            a, b = (rig.item_of(ref).place for ref in (wire.start, wire.end))
            free = routes.way(a, b, apart if wire.kind == "line" else frozenset())
            if free is not None:
                yield wire, free
