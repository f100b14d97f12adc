"""One layout drawn up: from sources to loudspeakers, with its sizes still open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from loomwright.draft import covers, feeds, filters, pulling, signal, speakers, supply
from loomwright.draft.equipment import EquipmentList
from loomwright.draft.layout import Layout
from loomwright.draft.options import Option
from loomwright.draft.problem import Problem, groups_of, heads_of, problem
from loomwright.draft.sheet import Sheet
from loomwright.draft.writing import Settled, tables
from loomwright.protection import leads
from loomwright.protection.plan import wire_size
from loomwright.protection.sizing import settle
from loomwright.rig import file
from loomwright.rig.model import FuseSpec, Rig
from loomwright.rig.report import Report


@dataclass(frozen=True)
class Drawn:
    """One layout drawn up: its sheet, its rig with open sizes, its sizing problem."""

    layout: Layout
    sheet: Sheet
    rig: Rig
    problem: Problem
    speaker_sizes: dict[str, str]


def draw(given: EquipmentList, layout: Layout, uses: Sequence[speakers.Use] | None = None) -> Drawn:
    """Draw one layout up, from sources to loudspeakers; ``uses`` where these are allocated already."""
    sheet = Sheet(given)
    uses = speakers.allocate(sheet) if uses is None else uses
    supply.draft(sheet, uses)
    feeds.draft(sheet, layout)
    small = (i.id for i in sheet.items.values() if i.part.startswith("fused_block") and i.part.endswith("_c"))
    block = next(small, None)
    bus = next((i.id for i in sheet.items.values() if i.id.startswith("gnd")), None)
    signal.remotes(sheet, block, bus)
    feedings = speakers.draft(sheet, uses)
    fed = signal.lines(sheet, feedings)
    pulling.realise(sheet)
    filters.draft(sheet, feedings, fed)
    open_rig = _read(sheet)
    covers.draft(sheet, open_rig)
    open_rig = _open(sheet, _read(sheet))
    chosen = leads.choose(open_rig, "AWG")
    wires = tuple(
        replace(w, size=wire_size(chosen[w.id].size)) if w.id in chosen else w for w in open_rig.wires
    )
    rig = _before_fixed_wires(sheet, replace(open_rig, wires=wires))
    return Drawn(
        layout, sheet, rig, problem(sheet, rig), {w: g.size.label for w, g in chosen.items()}
    )


def _read(sheet: Sheet) -> Rig:
    given = sheet.given
    name = given.rig.file
    return file.make(tables(sheet), name, given.catalogue, given.folder, Report(name))


def _open(sheet: Sheet, rig: Rig) -> Rig:
    """The rig with loudspeaker wires of the draft, and wires that need not be kept, open to be sized."""
    mine = {w.id for w in sheet.wires}
    keep = sheet.given.wishes.keep
    loose = set() if keep is None else {w.id for w in sheet.rig.wires if w.id not in keep}
    return replace(
        rig,
        wires=tuple(
            replace(w, size=None)
            if (w.kind == "speaker" and w.id in mine)
            or (w.id in loose and w.kind in ("power", "ground") and w.size and w.size.system != "bolted")
            else w
            for w in rig.wires
        ),
    )


def _before_fixed_wires(sheet: Sheet, rig: Rig) -> Rig:
    """The rig with a rating for each open fuse whose wire has its size already: the one that any rig gets there."""
    heads = {d for ds in heads_of(rig, groups_of(sheet, rig)).values() for d in ds}
    lone = {
        (i.id, n) for i in rig.items.values() if isinstance(i.part.spec, FuseSpec)
        for n, f in enumerate(i.fuses_a, 1) if f == "auto" and f"{i.id}.{n}" not in heads
    }  # fmt: skip
    if not lone:
        return rig
    chosen, _ = settle(rig)
    items = {
        k: replace(
            i,
            fuses_a=tuple(chosen.items[k].fuses_a[n - 1] if (k, n) in lone else f for n, f in enumerate(i.fuses_a, 1)),
        )
        for k, i in rig.items.items()
    }
    return replace(rig, items=items)


def settled(drawn: Drawn, chosen: Sequence[Option]) -> Settled:
    """What a combination writes into the file."""
    sizes, fuses, parts, reasons, wires = {}, {}, {}, {}, dict(drawn.speaker_sizes)
    ratings: dict[str, float] = {}
    for group, option in zip(drawn.problem.every, chosen, strict=True):
        sizes[group.name] = option.size.label
        reasons[group.name] = option.why
        ratings.update(option.ratings)
        parts.update(dict(option.parts))
        for w in group.wires:
            wires[w.id] = option.size.label
    for item in drawn.rig.items.values():
        if isinstance(item.part.spec, FuseSpec) and "auto" in item.fuses_a:
            fuses[item.id] = tuple(
                ratings.get(f"{item.id}.{n}", 0.0) if f == "auto" else float(f) for n, f in enumerate(item.fuses_a, 1)
            )
    insulation = {w.id: w.insulation_c for g in drawn.problem.every for w in g.wires}
    return Settled(sizes, fuses, parts, wires, reasons, insulation)
