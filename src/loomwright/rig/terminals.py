"""Which terminals a part has: names by family, and what each accepts.

Defaults are common practice. A part says otherwise by group: ``[part.x.terminal.supply]``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from loomwright.rig import part_keys as k
from loomwright.rig.model import Kind, Terminal


@dataclass(frozen=True, slots=True)
class Group:
    """Terminals of one part that are alike: the name of the group and what is usual for it."""

    name: str
    max_mm2: float
    max_wires: int
    joint: str
    stud_mm: float | None = None


POST = Group("post", 120.0, 4, "ring lug", 6.0)
OUT = Group("out", 50.0, 2, "ring lug", 6.0)
GROUND = Group("ground", 50.0, 2, "ring lug", 6.0)
MAIN = Group("main", 70.0, 2, "ring lug", 8.0)
SUPPLY = Group("supply", 21.2, 1, "screw clamp")
REMOTE = Group("remote", 4.0, 2, "screw clamp")
LINE = Group("line", 1.5, 1, "blade")
SPEAKER = Group("speaker", 6.0, 2, "screw clamp")
LEAD = Group("supply", 6.0, 2, "butt crimp")
ENDS = Group("ends", 35.0, 2, "ring lug", 6.0)
FEED = Group("in", 50.0, 2, "ring lug", 6.0)
WAY = Group("ways", 10.0, 1, "ring lug", 5.0)
CONTACT = Group("contact", 6.0, 2, "blade")
COIL = Group("coil", 4.0, 2, "blade")
STUD = Group("stud", 50.0, 4, "ring lug", 6.0)
FRAME = Group("stud", 70.0, 4, "bare frame", 8.0)
PIN = Group("pin", 150.0, 1, "sealed contact")
LEG = Group("leg", 21.2, 1, "butt crimp")
TAG = Group("tag", 6.0, 2, "blade")
WIRE_END = Group("end", 6.0, 2, "solder splice")


def groups(part: k.PartKeys) -> Iterator[tuple[Group, str, Kind]]:
    """Group, name and kind of every terminal of a part, in the order of the family."""
    match part:
        case k.BatteryKeys():
            yield POST, "plus", "power"
            yield POST, "minus", "ground"
        case k.ChargerKeys():
            yield OUT, "out", "power"
            yield GROUND, "ground", "ground"
        case k.DcdcKeys():
            yield FEED, "in", "power"
            yield OUT, "out", "power"
            yield GROUND, "ground", "ground"
        case k.IsolatorKeys():
            yield MAIN, "main", "power"
            yield MAIN, "aux", "power"
        case k.AmplifierKeys():
            yield from _supply(SUPPLY)
            yield REMOTE, "remote", "remote"
            yield from _many(LINE, "in", part.inputs or part.channels, "line")
            yield from _pairs("hi", part.speaker_inputs)
            yield from _pairs("ch", part.channels)
        case k.ProcessorKeys():
            yield from _supply(LEAD)
            yield REMOTE, "remote_in", "remote"
            yield REMOTE, "remote_out", "remote"
            yield from _many(LINE, "in", part.inputs, "line")
            yield from _pairs("hi", part.speaker_inputs)
            yield from _many(LINE, "out", part.outputs, "line")
        case k.SourceKeys():
            yield from _supply(LEAD)
            yield REMOTE, "remote_out", "remote"
            yield from _many(LINE, "out", part.outputs, "line")
            yield from _pairs("spk", part.speaker_outputs)
        case k.AccessoryKeys():
            yield from _supply(LEAD)
        case k.HolderKeys() | k.BreakerKeys() | k.SwitchKeys():
            yield ENDS, "in", "power"
            yield ENDS, "out", "power"
        case k.FusedBlockKeys() | k.PlainBlockKeys():
            yield FEED, "in", "power"
            yield from _many(WAY, "out", part.ways, "power")
        case k.RelayKeys():
            yield CONTACT, "30", "power"
            yield CONTACT, "87", "power"
            yield COIL, "85", "remote"
            yield COIL, "86", "remote"
        case k.BusKeys():
            yield from _many(STUD, "stud", part.studs, part.kind)
        case k.FrameKeys():
            yield from _many(FRAME, "stud", part.studs, "ground")
        case k.ConnectorKeys():
            pin = Group("pin", part.max_mm2, 1, PIN.joint)
            for n in range(1, part.contacts + 1):
                yield pin, f"a{n}", "power"
                yield pin, f"b{n}", "power"
        case k.SpliceKeys():
            yield from _many(LEG, "leg", part.legs, "power")
        case k.DriverKeys():
            yield TAG, "+", "speaker"
            yield TAG, "-", "speaker"
        case k.PassiveKeys():
            supply = part.across == "supply"
            yield (OUT if supply else WIRE_END), "a", ("power" if supply else "speaker")
            yield (OUT if supply else WIRE_END), "b", ("ground" if supply else "speaker")
            if part.element == "pad" and not supply:
                yield WIRE_END, "c", "speaker"
        case k.WireStockKeys():
            return
        case _:  # pragma: no cover
            raise TypeError(type(part).__name__)


def terminals(part: k.PartKeys) -> tuple[Terminal, ...]:
    """The terminals of a part, with what it says of its own."""
    return tuple(_terminal(part, group, name, kind) for group, name, kind in groups(part))


def _terminal(part: k.PartKeys, group: Group, name: str, kind: Kind) -> Terminal:
    own = part.terminal.get(group.name)
    if own is None:
        return Terminal(name, kind, group.max_mm2, group.max_wires, group.joint, group.stud_mm)
    return Terminal(
        name,
        kind,
        group.max_mm2 if own.max_mm2 is None else own.max_mm2,
        group.max_wires if own.max_wires is None else own.max_wires,
        group.joint if own.joint is None else own.joint,
        group.stud_mm if own.stud_mm is None else own.stud_mm,
    )


def _supply(group: Group) -> Iterator[tuple[Group, str, Kind]]:
    yield group, "supply+", "power"
    yield group, "supply-", "ground"


def _many(group: Group, stem: str, count: int, kind: Kind) -> Iterator[tuple[Group, str, Kind]]:
    for n in range(1, count + 1):
        yield group, f"{stem}{n}", kind


def _pairs(stem: str, count: int) -> Iterator[tuple[Group, str, Kind]]:
    for n in range(1, count + 1):
        yield SPEAKER, f"{stem}{n}+", "speaker"
        yield SPEAKER, f"{stem}{n}-", "speaker"


def mate(contact: str) -> str:
    """The contact of the other half that a connector's contact meets: ``a3`` for ``b3``."""
    return ("b" if contact[0] == "a" else "a") + contact[1:]
