"""The work on the bench: parts onto their panels, wires cut, ended and labelled, contacts, splices, the pull test."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace

from loomwright.loom.results import Bundle, LoomWire, WireEnd
from loomwright.steps.cautions import cautions
from loomwright.steps.job import CLASSES, IN_LOOM, Job, Notes, blank, counted, listed, look_at
from loomwright.steps.results import After, Measure, Step
from loomwright.steps.starting import MARK
from loomwright.steps.times import duration

PULL = "pull:samples"
MOSTLY_THERE = ("charger", "battery")
"""Families that the vehicle mostly brings with it."""


def panel(job: Job, notes: Notes) -> Iterator[Step]:
    """Parts onto their panels, place by place; ground studs on the frame."""
    gone = {f"take out:{p}" for p in job.rig.places} & set(notes.of("take out"))
    by_place: dict[str, list[str]] = defaultdict(list)
    for item in job.rig.items.values():
        if item.id not in job.kept_items and item.part.family not in (*IN_LOOM, "frame"):
            by_place[item.place].append(item.id)
    for place in job.rig.places:
        if place not in by_place:
            continue
        ids = by_place[place]
        there = [i for i in ids if job.rig.items[i].part.family in MOSTLY_THERE]
        text = [f"Mount, so that fuses and adjusters can be reached: {listed(ids)}."]
        if there:
            text.append(f"Where the vehicle has it already, only look it over: {listed(there)}.")
        text += [
            "Screws of the maker's length, locked against shaking; nothing under a screw but its own lug.",
            "No wire yet: parts first, so that the harness is made to what is there.",
        ]
        after = [After(MARK, "Parts go where the marks are.")]
        if f"take out:{place}" in gone:
            after.append(After(f"take out:{place}", "The place must be clear."))
        batteries = any(job.rig.items[i].part.family == "battery" for i in ids)
        step = blank(f"panel:{place}", "panel", f"Mount the parts at {place}", text)
        yield replace(
            step, after=tuple(after), items=tuple(ids), tools=("drill with depth stop", "drivers", "spanners"),
            consumables=("screws, washers and locking nuts as the makers of the parts say",),
            cautions=cautions(job.rig, "drill", *(("weight",) if batteries else ())), time=duration(mount=len(ids)),
            look=look_at(job, items=ids),
        )  # fmt: skip
    for frame in job.rig.family("frame"):
        lands = [w.id for w in job.made for ref in (w.start, w.end) if ref.startswith(f"{frame.id}.")]
        if lands:
            yield _studs(job, frame.id, lands)


def _studs(job: Job, frame: str, wires: list[str]) -> Step:
    studs = sorted({
        ref.partition(".")[2] for w in job.made for ref in (w.start, w.end) if ref.startswith(f"{frame}.")
    })  # fmt: skip
    text = [
        f"Choose {counted(len(studs), 'place')} on thick, welded metal of {frame}: {listed(studs)}.",
        (
            "Grind to bright metal as wide as the lug, drill, fit the stud with a star washer. Not on a bracket, a "
            "hinge or a seat bolt."
        ),
        "Once the lug is on and tight: paint or grease over all of it.",
    ]
    step = blank(f"studs:{frame}", "panel", f"Ground studs on {frame}", text)
    return replace(
        step, after=(After(MARK, "Drilled only where someone has looked behind."),), items=(frame,),
        wires=tuple(wires), tools=("drill with depth stop", "file or grinding disc", "spanners"),
        consumables=(f"{len(studs)} x stud, nut and star washer", "paint or grease"),
        cautions=cautions(job.rig, "drill", "fuel"), time=duration(stud=len(studs)), look=look_at(job, wires),
    )  # fmt: skip


def making(job: Job) -> Iterator[Step]:
    """One step for the wires of each kind between two places; then contacts, splices, samples."""
    groups: dict[str, list[LoomWire]] = defaultdict(list)
    for w in job.made:
        places = "~".join(dict.fromkeys(job.end_places(w)))
        groups[f"make:{places}:{CLASSES[w.kind]}"].append(w)
    maker = {w.id: name for name, ws in groups.items() for w in ws}
    for name, wires in groups.items():
        yield _make(job, name, wires)
    for item in job.rig.family("connector", "splice"):
        wires_there = [w for w in job.made if item.id in (w.start.partition(".")[0], w.end.partition(".")[0])]
        if not wires_there:
            continue
        makers = dict.fromkeys(maker[w.id] for w in wires_there)
        after = tuple(After(n, "Its wires must have their ends.") for n in makers)
        if item.part.family == "connector":
            yield _contacts(job, item.id, wires_there, after)
        else:
            yield _splice(job, item.id, wires_there, after)
    samples = _samples(job.made)
    if samples:
        yield _pull(job, samples, tuple(groups))


def _make(job: Job, name: str, wires: list[LoomWire]) -> Step:
    kind = {"power": "feeds and returns", "signal": "line and remote leads", "speaker": "speaker leads"}
    places, _, what = name.removeprefix("make:").rpartition(":")
    where = " to ".join(places.split("~"))
    text = [_words(w) for w in wires]
    text.append("Shrink and label go on before the second end. Coil, tie and tag the wires of this step together.")
    ends = [e for w in wires for e in w.ends if e.strip_mm > 0.0]
    step = blank(name, "make", f"Make the {kind[what]}, {where}", text)
    return replace(
        step, after=(After(MARK, "Lengths are cut to the vehicle, not to the drawing."),),
        wires=tuple(w.id for w in wires), makes=tuple(w.id for w in wires), tools=_tools(ends),
        consumables=(*_lengths(wires), *_small(wires)), cautions=cautions(job.rig, "tools"),
        time=duration(cut=len(wires), end=2 * len(wires)), look=look_at(job, [w.id for w in wires]),
    )  # fmt: skip


def _words(w: LoomWire) -> str:
    ends = "; ".join(
        f"at {e.terminal} {e.end}" + (f", strip {e.strip_mm:g} mm" if e.strip_mm else "")
        if e.fits else f"at {e.terminal} {e.end} does not fit, use {e.would_fit}"
        for e in w.ends
    )  # fmt: skip
    return f"{w.id}: cut {w.cut_mm:.0f} mm of {w.size} {w.metal}, {w.colour}; {ends}."


def _tools(ends: list[WireEnd]) -> tuple[str, ...]:
    names = " ".join(e.end for e in ends)
    kinds = (
        ("ring lug", "crimp tool for tube lugs"), ("ferrule", "crimp tool for ferrules"),
        ("contact", "crimp tool for the contacts"), ("splice", "crimp tool for insulated splices"),
        ("blade", "crimp tool for blades"), ("solder", "soldering iron"),
    )  # fmt: skip
    heat = ("hot air tool",) if any(e.shrink for e in ends) else ()
    crimps = [tool for word, tool in kinds if word in names]
    return ("cutter", "stripper", *crimps, *heat, "label printer", "tape measure")


def _lengths(wires: list[LoomWire]) -> list[str]:
    total: Counter[str] = Counter()
    for w in wires:
        total[f"{w.size} {w.metal}, {w.colour}"] += round(w.cut_mm)
    return [f"{mm / 1000.0:.2f} m of {what}" for what, mm in sorted(total.items())]


def _small(wires: list[LoomWire]) -> list[str]:
    ends = Counter(e.end for w in wires for e in w.ends if e.fits and e.strip_mm > 0.0)
    sleeves = Counter(f"heat-shrink {e.shrink}, {e.shrink_mm:g} mm" for w in wires for e in w.ends if e.shrink)
    return [f"{n} x {what}" for found in (ends, sleeves) for what, n in sorted(found.items())] + [
        f"{2 * len(wires)} x label"
    ]


def _contacts(job: Job, item: str, wires: list[LoomWire], after: tuple[After, ...]) -> Step:
    pins = sorted(
        ((ref.partition(".")[2], w) for w in wires for ref in (w.start, w.end) if ref.partition(".")[0] == item),
        key=lambda p: (p[0][0], int(p[0][1:]) if p[0][1:].isdigit() else 0, p[1].id),
    )
    text = [f"{name}: {w.id}, {w.colour}." for name, w in pins]
    text.append("Each contact in until it clicks, then a pull at its wire. Blind plugs into empty holes, locks shut.")
    disconnect = next((d for d in job.loom.disconnects if d.id == item), None)
    if disconnect is not None and disconnect.sockets and disconnect.live:
        live = listed(disconnect.live)
        text.append(f"Half {disconnect.sockets} carries the sockets; half {live} stays live when parted.")
    text += [
        f"Its body does not pass the hole of run {b.run}: fit the housing of that half once the wires are through."
        for b in job.loom.bundles if b.connector == item and _too_tight(b)
    ]  # fmt: skip
    step = blank(f"contacts:{item}", "make", f"Contacts into {item}", text)
    ids = tuple(dict.fromkeys(w.id for _, w in pins))
    return replace(
        step, after=after, wires=ids, items=(item,), joints=tuple(f"{w.id}@{item}.{n}" for n, w in pins),
        tools=("pick to release contacts",), consumables=(f"{len(pins)} x contact, as crimped",),
        time=duration(contact=len(pins)), look=look_at(job, ids, (item,)),
    )  # fmt: skip


def _too_tight(b: Bundle) -> bool:
    free_mm = b.grommet_mm or b.hole_there_mm
    return b.connector_mm is not None and free_mm is not None and b.connector_mm > free_mm


def _splice(job: Job, item: str, wires: list[LoomWire], after: tuple[After, ...]) -> Step:
    ids = tuple(w.id for w in wires)
    joints = tuple(f"{w.id}@{ref}" for w in wires for ref in (w.start, w.end) if ref.partition(".")[0] == item)
    text = [
        f"Join {listed(ids)} in {item}: all strands inside, none cut, each wire pulled at once it is closed.",
        "Sleeve with adhesive over it, wider than the joint on both sides; away from any bend.",
    ]
    step = blank(f"splice:{item}", "make", f"Splice {item}", text)
    return replace(
        step, after=after, wires=ids, items=(item,), joints=joints, tools=("crimp tool for splices", "hot air tool"),
        consumables=("1 x splice", "1 x heat-shrink with adhesive"), cautions=cautions(job.rig, "tools"),
        time=duration(splice=1), look=look_at(job, ids, (item,)),
    )  # fmt: skip


def _samples(wires: Iterable[LoomWire]) -> dict[tuple[str, str], WireEnd]:
    """Kinds of crimps, by end and size of wire, that have a figure to stand."""
    found: dict[tuple[str, str], WireEnd] = {}
    for w in wires:
        for e in w.ends:
            if e.pull_n is not None:
                found.setdefault((e.end, w.size), e)
    return dict(sorted(found.items()))


def _pull(job: Job, samples: dict[tuple[str, str], WireEnd], groups: tuple[str, ...]) -> Step:
    text = [
        "Pull by hand at every crimp of the harness: none may give.",
        (
            "Crimp one sample of each kind below with the same tool and die, and pull it to its figure. A sample that "
            "gives means that every crimp of its kind is made again."
        ),
    ]
    measures = tuple(
        Measure(
            f"pull:{end}:{size}", f"{end} on {size}", "N", None, round(e.pull_n or 0.0), None,
            "Steady pull along the wire, held for a minute.", e.pull_source,
        )
        for (end, size), e in samples.items()
    )  # fmt: skip
    step = blank(PULL, "make", "Pull test", text)
    return replace(
        step, after=tuple(After(g, "Its crimps are pulled.") for g in groups), tools=("pull gauge or spring scale",),
        consumables=tuple(f"1 x {end}, offcut of {size}" for end, size in samples), cautions=cautions(job.rig, "tools"),
        measures=measures, time=duration(pull=len(samples)),
    )  # fmt: skip
