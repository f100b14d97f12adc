"""Remedies that remake a joint as its terminal is made for."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from loomwright.facts import joints
from loomwright.findings.joints import PAINTED
from loomwright.findings.model import Finding
from loomwright.findings.steady import worst_joint
from loomwright.findings.words import listing
from loomwright.protection.graph import is_bolted
from loomwright.remedies.model import Remedy, makes
from loomwright.remedies.stock import Stock, joint_key
from loomwright.rig.changes import Change, ItemKey, WireKey
from loomwright.rig.model import BarSpec, Item, Part, Wire

End = tuple[Wire, str, str]
"""A wire, the terminal that it ends on, and the joint there."""


def _ends(stock: Stock, item_id: str) -> Iterator[End]:
    for wire in stock.rig.wires:
        for ref, name in zip((wire.start, wire.end), wire.joints, strict=True):
            if ref.partition(".")[0] == item_id and not is_bolted(wire):
                yield wire, ref, name


def _remade(stock: Stock, item: Item, ends: list[End], good: Callable[[End, str], bool]) -> tuple[Change, ...]:
    """Each end as its terminal is made for; another part where the terminals themselves are the fault."""
    changes: list[Change] = []
    own = False
    for end in ends:
        wire, ref, name = end
        usual = stock.rig.terminal(ref).joint
        if usual != name and good(end, usual):
            changes.append(WireKey(wire.id, joint_key(wire, ref), usual))
        elif usual == name and item.part.family == "splice":
            own = True
        else:
            return ()
    if not own:
        return tuple(changes)
    part = stock.stand_in(item, lambda p: _crimped(p, item) and all(good(e, p.terminals[0].joint) for e in ends))
    return (ItemKey(item.id, "part", part.id), *changes) if part else ()


def _crimped(part: Part, old: Item) -> bool:
    """Whether a splice may take the place of another: crimped, and at least as strong."""
    spec, before = part.spec, old.part.spec
    crimp = all(joints.joint(t.joint).kind == "crimp" for t in part.terminals)
    return crimp and isinstance(spec, BarSpec) and isinstance(before, BarSpec) and spec.rating_a >= before.rating_a


@makes("E601")
def cool_joint(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The joint that the terminal is made for, if that stays cool with the current that flows."""
    item = stock.rig.items[finding.where[0]]

    def cool(end: End, name: str) -> bool:
        wire, ref, now = end
        state = worst_joint(stock.study, f"{wire.id}@{ref}")
        row = joints.joint(name)
        return row.ok and (state is None or state.loss_w * row.mohm / joints.joint(now).mohm <= row.max_w)

    hot = [e for e in _ends(stock, item.id) if e[0].id in finding.where and not cool(e, e[2])]
    changes = _remade(stock, item, hot, cool)
    if changes:
        wires = listing(dict.fromkeys(w.id for w, _, _ in hot))
        painted = all(name == PAINTED for _, _, name in hot)
        yield Remedy(
            f"Clean the metal under {wires} at {item.id} bright" if painted else f"Remake {wires} at {item.id}", changes
        )


@makes("E602")
def fit_joint(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """Crimped ends, or the joint that the terminal is made for."""
    item = stock.rig.items[finding.where[0]]
    unfit = [e for e in _ends(stock, item.id) if not joints.joint(e[2]).ok and e[2] != PAINTED]
    changes = _remade(stock, item, unfit, lambda _, name: joints.joint(name).ok)
    if changes:
        yield Remedy(f"Remake {listing(dict.fromkeys(w.id for w, _, _ in unfit))} at {item.id}", changes)


@makes("E603")
def crimped(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """Crimped in place of soldered."""
    (wire,) = stock.named(finding.where[:1])
    changes: list[Change] = []
    for ref in finding.where[1:]:
        usual = stock.rig.terminal(ref).joint
        changes.append(WireKey(wire.id, joint_key(wire, ref), usual if usual != "solder splice" else "butt crimp"))
    yield Remedy(f"Crimp {wire.id} at {listing(finding.where[1:])}", tuple(changes))


@makes("E402")
def bare_metal(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The spot cleaned to bright metal."""
    (wire,) = stock.named(finding.where[:1])
    ref = finding.where[1]
    usual = stock.rig.terminal(ref).joint
    bright = usual if joints.joint(usual).ok else "bare frame"
    yield Remedy(f"Clean {ref} to bright metal", (WireKey(wire.id, joint_key(wire, ref), bright),))
