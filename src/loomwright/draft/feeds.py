"""Feeds of the audio system: main devices, fused blocks, a branch for each amplifier, returns, the electronics."""

from __future__ import annotations

from loomwright.draft.layout import BLOCK_WAYS, Block, Layout
from loomwright.draft.posts import audio, landing, post
from loomwright.draft.sheet import Sheet
from loomwright.rig.model import FuseSpec, Item

FEED = "audio feed and return"
SMALL = "source unit and processor"


def draft(sheet: Sheet, layout: Layout) -> None:
    """Feeds and returns of every amplifier, source unit and processor that has none yet."""
    battery = audio(sheet)
    blocks = [_block(sheet, b, battery) for b in layout.blocks]
    small = [
        i for i in sheet.families("source", "processor")
        if not (sheet.wired(f"{i.id}.supply+") and sheet.wired(f"{i.id}.supply-"))
    ]  # fmt: skip
    if blocks:
        _electronics(sheet, layout.blocks[0], *blocks[0], small)
    for block, (made, bus) in zip(layout.blocks, blocks, strict=True):
        for name in block.amplifiers:
            _branch(sheet, made, bus, sheet.rig.items[name])
    for name in layout.alone:
        amp = sheet.rig.items[name]
        group = f"branch:{name}"
        fuse = post(sheet, battery.id, f"{name}_fuse", FEED, f"for {name} alone", "P")
        sheet.choose(fuse, "device of its own on the battery post", f"{name} needs more than a way of a block gives")
        sheet.pull("power", f"{fuse}.out", f"{name}.supply+", "P", _chapter(amp), f"feed {name}", group=group)
        sheet.pull(
            "ground", f"{name}.supply-", landing(sheet, battery.id), "R", _chapter(amp), f"feed {name}", group=group
        )


def _chapter(item: Item) -> str:
    return f"{item.id}, {item.place}"


def _block(sheet: Sheet, block: Block, battery: Item) -> tuple[str, str]:
    """The block with its main device, and the ground bus beside it."""
    bus = next((b.id for b in sheet.families("bus") if b.place == block.place and _is_ground(b)), None)
    if block.item is not None:
        made = block.item
        sheet.choose(made, "used as it is", "the list has it, with empty ways")
    main = None
    if block.item is None or not sheet.wired(f"{block.item}.in"):
        main = post(sheet, battery.id, "main", "distribution", "on the battery post", "P")
        sheet.choose(
            main, "fuse cube on the battery post", "no unguarded piece of wire is left; 178 mm are the most without a "
            "sheath, 33 CFR 183.455", ("a bolt-in holder beside the battery",),
        )  # fmt: skip
    if block.item is None:
        many = len(block.amplifiers) + (2 if block.type == "C" else 1)
        many = min((w for w in BLOCK_WAYS if w >= many), default=BLOCK_WAYS[-1])
        part = f"fused_block_{many}way_{block.type.lower()}"
        made = sheet.place("block", part, block.place, "distribution", "one way for each amplifier")
        sheet.choose(made, f"{part} at {block.place}", "one fuse for each amplifier: a fault takes out one branch only")
    group = f"main:{made}"
    if main is not None:
        sheet.pull("power", f"{main}.out", f"{made}.in", "P", FEED, group=group)
    if bus is None:
        bus = sheet.place("gnd", "bus_ground_10", block.place, "distribution", "every audio return ends here")
    if not any(sheet.wired(f"{bus}.{t.name}") for t in sheet.part_of(bus).terminals):
        stud = sheet.next_stud(bus)
        assert stud is not None
        sheet.pull("ground", stud, landing(sheet, battery.id), "R", FEED, group=group)
    return made, bus


def _is_ground(bus: Item) -> bool:
    return bus.part.terminals[0].kind == "ground"


def _branch(sheet: Sheet, block: str, bus: str, amp: Item) -> None:
    group, bundle = f"branch:{amp.id}", f"feed {amp.id}"
    if not sheet.wired(f"{amp.id}.supply+"):
        sheet.pull(
            "power", sheet.way(block, group), f"{amp.id}.supply+", "P", _chapter(amp), bundle, group=group
        )
    if sheet.wired(f"{amp.id}.supply-"):
        return
    frame = next(iter(sheet.families("frame")), None)
    off = sheet.rig.places[amp.place].comes_off or amp.comes_off
    if sheet.given.wishes.returns == "frame" and frame is not None and not off:
        stud = sheet.next_stud(frame.id)
        if stud is not None:
            sheet.pull("ground", f"{amp.id}.supply-", stud, "R", _chapter(amp), bundle, group=group)
            return
    stud = sheet.next_stud(bus)
    assert stud is not None
    sheet.pull("ground", f"{amp.id}.supply-", stud, "R", _chapter(amp), bundle, group=group)


def _electronics(sheet: Sheet, block: Block, made: str, bus: str, small: list[Item]) -> None:
    """A small fuse for each; below a block of bolt-in fuses they share one way and a small block."""
    if not small:
        return
    spec = sheet.part_of(made).spec
    assert isinstance(spec, FuseSpec)
    feed = made
    if spec.type != "C" and any(not sheet.wired(f"{i.id}.supply+") for i in small):
        feed = sheet.place("small", "fused_block_4way_c", block.place, SMALL, "small fuses for the electronics")
        sheet.choose(feed, "fused_block_4way_c", f"fuses of type {spec.type} begin at 30 A: too much for thin wires")
        sheet.pull("power", sheet.way(made, f"sub:{made}"), f"{feed}.in", "P", SMALL, group=f"sub:{made}")
    for item in small:
        group = f"small:{item.id}"
        if not sheet.wired(f"{item.id}.supply+"):
            sheet.pull("power", sheet.way(feed, group), f"{item.id}.supply+", "P", SMALL, f"feed {item.id}",
                       group=group)  # fmt: skip
        if not sheet.wired(f"{item.id}.supply-"):
            stud = sheet.next_stud(bus)
            assert stud is not None
            sheet.pull("ground", f"{item.id}.supply-", stud, "R", SMALL, f"feed {item.id}", group=group)
