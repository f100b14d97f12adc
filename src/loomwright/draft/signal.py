"""Remote and line: who wakes whom, and which output feeds which input."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.draft.sheet import Sheet
from loomwright.draft.speakers import Feeding
from loomwright.findings.words import count
from loomwright.rig.model import AmplifierSpec, Item, LoadSpec

REMOTE = "remote"
LINE = "line leads, screened"
REMOTE_SIZE = "18 AWG"
RELAY_SIZE = "16 AWG"
LINE_SIZE = "0.35 mm2"


def remotes(sheet: Sheet, block: str | None, bus: str | None) -> None:
    """Remote lines: the source wakes the processor, the processor the amplifiers; a relay where that is too much."""
    sources, processors = sheet.families("source"), sheet.families("processor")
    main = next(iter(processors), None)
    giver = main or next(iter(sources), None)
    if main is not None and sources and not sheet.wired(f"{main.id}.remote_in"):
        sheet.pull("remote", f"{sources[0].id}.remote_out", f"{main.id}.remote_in", "M", REMOTE, size=REMOTE_SIZE)
    wake = [i for i in sheet.families("amplifier") if not sheet.wired(f"{i.id}.remote")]
    wake_refs = [f"{i.id}.remote" for i in wake]
    wake_refs += [f"{p.id}.remote_in" for p in processors[1:] if not sheet.wired(f"{p.id}.remote_in")]
    if not wake_refs:
        return
    need_ma = sum(_takes_ma(sheet.rig.items[r.partition(".")[0]]) for r in wake_refs)
    if giver is None:
        _by_hand(sheet, block, wake_refs)
        return
    spec = giver.part.spec
    assert isinstance(spec, LoadSpec)
    out, size = f"{giver.id}.remote_out", REMOTE_SIZE
    if need_ma > spec.remote_out_max_ma and block is not None and bus is not None:
        out, size = _relay(sheet, giver, block, bus, need_ma, spec.remote_out_max_ma), RELAY_SIZE
    else:
        sheet.choose(
            "remote", f"{out} wakes {count(len(wake_refs), 'item')}",
            f"{need_ma:g} mA of the {spec.remote_out_max_ma:g} mA that it gives: no relay is needed", ("a relay",),
        )  # fmt: skip
    fan_out(sheet, out, wake_refs, size)


def _takes_ma(item: Item) -> float:
    spec = item.part.spec
    if isinstance(spec, AmplifierSpec):
        return spec.remote_ma
    return spec.remote_in_ma if isinstance(spec, LoadSpec) else 0.0


def _by_hand(sheet: Sheet, block: str | None, refs: Sequence[str]) -> None:
    if block is None:
        return
    place = sheet.place_of(block)
    why = "nothing in the list wakes the amplifiers"
    switch = sheet.place("remote_switch", "switch_toggle_15a", place, REMOTE, why)
    sheet.choose(switch, "switch_toggle_15a", "no source unit or processor is there to wake the amplifiers")
    sheet.pull("power", sheet.way(block, "small:remote"), f"{switch}.in", "M", REMOTE, size=RELAY_SIZE,
               group="small:remote")  # fmt: skip
    fan_out(sheet, f"{switch}.out", refs, RELAY_SIZE)


def _relay(sheet: Sheet, giver: Item, block: str, bus: str, need_ma: float, gives_ma: float) -> str:
    place = sheet.place_of(block)
    relay = sheet.place("remote_relay", "relay_10a_diode", place, REMOTE, "wakes the amplifiers")
    sheet.choose(
        relay, "relay_10a_diode",
        f"the amplifiers take {need_ma:g} mA, {giver.id} gives {gives_ma:g} mA: its output drives a coil with a diode",
    )  # fmt: skip
    sheet.pull("remote", f"{giver.id}.remote_out", f"{relay}.86", "M", REMOTE, size=REMOTE_SIZE)
    stud = sheet.next_stud(bus)
    assert stud is not None
    sheet.pull("ground", f"{relay}.85", stud, "M", REMOTE, size=RELAY_SIZE)
    sheet.pull("power", sheet.way(block, "small:remote"), f"{relay}.30", "M", REMOTE, group="small:remote")
    return f"{relay}.87"


def fan_out(sheet: Sheet, out: str, refs: Sequence[str], size: str) -> None:
    """Lead one output to several inputs: two wires land on it, further ones on crimped splices."""
    here, left = out, list(refs)
    slots = 2 - sheet.ends.get(out, 0)
    while left:
        if len(left) <= slots:
            for ref in left:
                sheet.pull("remote", here, ref, "M", REMOTE, size=size)
                here = _leg(sheet, here) or here
            return
        if slots > 1 and here == out:
            sheet.pull("remote", here, left.pop(0), "M", REMOTE, size=size)
            slots -= 1
            continue
        joint = sheet.place("remote_joint", "splice_crimp", sheet.place_of(out.partition(".")[0]), REMOTE)
        sheet.pull("remote", here, f"{joint}.leg1", "M", REMOTE, f"{here} joint", size=size)
        here, slots = f"{joint}.leg2", 2
        if len(left) > 2:
            sheet.pull("remote", here, left.pop(0), "M", REMOTE, size=size)
            here, slots = f"{joint}.leg3", 1


def _leg(sheet: Sheet, here: str) -> str | None:
    """The next leg of a splice, where the last one is taken."""
    item, _, name = here.partition(".")
    return f"{item}.leg{int(name[3:]) + 1}" if name.startswith("leg") and name != "leg3" else None


def lines(sheet: Sheet, feedings: Sequence[Feeding]) -> Mapping[str, int]:
    """Line leads from source to processor to amplifiers; which output of the processor feeds each channel.

    Where there are fewer outputs than channels, channels with the same loudspeakers share one, by the switch of the
    amplifier's inputs.
    """
    sources, processors = sheet.families("source"), sheet.families("processor")
    main = next(iter(processors), None)
    if main is not None:
        inputs = [t.name for t in main.part.terminals if t.name.startswith("in")]
        for source in sources:
            outs = [t.name for t in source.part.terminals if t.name.startswith("out")]
            free_out = [f"{source.id}.{o}" for o in outs if not sheet.wired(f"{source.id}.{o}")]
            free_in = [f"{main.id}.{i}" for i in inputs if not sheet.wired(f"{main.id}.{i}")]
            if len(free_out) == len(outs):
                for a, b in zip(free_out[:2], free_in[:2], strict=False):
                    sheet.pull("line", a, b, "L", LINE, size=LINE_SIZE)
    giver = main or next(iter(sources), None)
    if giver is None:
        return {}
    outs = [
        f"{giver.id}.{t.name}" for t in giver.part.terminals
        if t.name.startswith("out") and not sheet.wired(f"{giver.id}.{t.name}")
    ]  # fmt: skip
    wanted = [f for f in feedings if not _fed(sheet, f.amplifier)]
    first = [f for f in wanted if f.leads] if len(wanted) > len(outs) else wanted
    if len(first) > len(outs):
        heads: dict[tuple[str, str], Feeding] = {}
        for f in first:
            heads.setdefault((f.amplifier, sheet.rig.items[f.drivers[0]].part.id), f)
        first = list(heads.values())
    if len(first) > len(outs):
        seen: set[str] = set()
        first = [f for f in first if not (f.amplifier in seen or seen.add(f.amplifier))]  # type: ignore[func-returns-value]
    spare = len(outs) - len(first)
    more = [f for f in wanted if f not in first][: max(spare, 0)]
    chosen = [f for f in wanted if f in first or f in more]
    if len(chosen) < len(wanted):
        sheet.choose(
            "line", f"{len(chosen)} leads for {len(wanted)} channels", f"{giver.id} has {len(outs)} outputs: channels "
            "with the same loudspeakers share a lead; set the amplifier's input switch"
        )  # fmt: skip
    fed: dict[str, int] = {}
    short = len(chosen) - len(outs)
    for n, feeding in enumerate(chosen):
        if n < len(outs) and short <= 0:
            sheet.pull("line", outs[n], feeding.input, "L", LINE, size=LINE_SIZE)
            fed[feeding.channel] = int(outs[n].rpartition("out")[2])
    if short > 0 and outs:
        _split(sheet, outs, [f.input for f in chosen])
    return fed if giver is main else {}


def _fed(sheet: Sheet, amplifier: str) -> bool:
    names = [t.name for t in sheet.rig.items[amplifier].part.terminals if t.name.startswith(("in", "hi"))]
    return any(sheet.wired(f"{amplifier}.{n}") for n in names)


def _split(sheet: Sheet, outs: Sequence[str], inputs: Sequence[str]) -> None:
    """More amplifiers than outputs: the last output goes to several, over splices."""
    for out, ref in zip(outs[:-1], inputs, strict=False):
        sheet.pull("line", out, ref, "L", LINE, size=LINE_SIZE)
    left, here = list(inputs[len(outs) - 1 :]), outs[-1]
    place = sheet.place_of(here.partition(".")[0])
    sheet.choose(here, f"split to {len(left)} amplifiers", "there are fewer outputs than amplifiers")
    while len(left) > 1:
        joint = sheet.place("line_joint", "splice_crimp", place, LINE)
        sheet.pull("line", here, f"{joint}.leg1", "L", LINE, size=LINE_SIZE)
        sheet.pull("line", f"{joint}.leg2", left.pop(0), "L", LINE, size=LINE_SIZE)
        here = f"{joint}.leg3"
    sheet.pull("line", here, left[0], "L", LINE, size=LINE_SIZE)
