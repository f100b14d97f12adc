"""Remedies that put another part of the catalogue in place of one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from loomwright.findings.model import Finding
from loomwright.findings.ratings import busiest, part_rating_a
from loomwright.findings.steady import worst_joint
from loomwright.findings.words import listing
from loomwright.remedies.model import Remedy, makes
from loomwright.remedies.stock import Stock
from loomwright.rig.changes import Change, ItemKey
from loomwright.rig.model import ConnectorSpec, FuseSpec, Item, Part, RelaySpec

MARGIN = 1.25
"""Rating over what is carried, as the findings ask for it."""
CHANGED = ("connector", "fuse_holder", "fused_block", "plain_block", "bus", "splice", "relay", "switch", "isolator")
"""Families of which another part does the same work."""


def _swap(stock: Stock, items: Iterable[Item], will_do: Callable[[Item, Part], bool]) -> Iterator[Remedy]:
    """Another part for each item, if there is one for every one of them."""
    swaps = [(item, stock.stand_in(item, lambda p, item=item: will_do(item, p))) for item in items]  # type: ignore[misc]
    changes: list[Change] = [ItemKey(item.id, "part", part.id) for item, part in swaps if part is not None]
    if swaps and len(changes) == len(swaps):
        titles = listing(dict.fromkeys(part.title for _, part in swaps if part is not None))
        yield Remedy(f"Fit another part as {listing(i.id for i, _ in swaps)}: {titles}", tuple(changes))


def _contact_a(stock: Stock, item: Item) -> float:
    """Most that any contact of a connector carries up to `loud` [A]."""
    spec = item.part.spec
    count = spec.contacts if isinstance(spec, ConnectorSpec) else 0
    states = [worst_joint(stock.study, f"contact:{item.id}.{n}") for n in range(1, count + 1)]
    return max((abs(s.amps_a) for s in states if s is not None), default=0.0)


def no_weaker(item: Item, part: Part) -> bool:
    """Whether a part is at least what an item's part is: rating, contacts, sealing, type of fuse."""
    old, new = item.part.spec, part.spec
    if isinstance(old, ConnectorSpec):
        strong = isinstance(new, ConnectorSpec) and new.contacts >= old.contacts and new.contact_a >= old.contact_a
        return strong and (getattr(new, "sealed", False) or not old.sealed)
    if isinstance(old, FuseSpec):
        same = isinstance(new, FuseSpec) and new.type == old.type and part.ways == item.part.ways
        return same and getattr(new, "max_rating_a", 0.0) >= old.max_rating_a
    if isinstance(old, RelaySpec):
        return isinstance(new, RelaySpec) and new.contact_rating_a >= old.contact_rating_a and new.diode >= old.diode
    return type(new) is type(old) and part_rating_a(part) >= part_rating_a(item.part)


@makes("E607")
def sealed(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """A sealed connector with as many contacts, for as much current."""
    item = stock.rig.items[finding.where[0]]
    need_a = MARGIN * _contact_a(stock, item)

    def will_do(old: Item, part: Part) -> bool:
        spec = part.spec
        return isinstance(spec, ConnectorSpec) and spec.sealed and spec.contact_a >= need_a and no_weaker(old, part)

    yield from _swap(stock, [item], will_do)


@makes("E604")
def larger_contacts(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """A connector whose contacts carry the current with a margin."""
    item = stock.rig.items[finding.where[0]]
    need_a = MARGIN * _contact_a(stock, item)
    yield from _swap(
        stock, [item], lambda old, p: no_weaker(old, p) and getattr(p.spec, "contact_a", 0.0) >= need_a
    )


@makes("E605")
def takes_the_wire(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """A part that takes the wires, and is no weaker."""
    item = stock.rig.items[finding.where[0]]
    if item.part.family in CHANGED:
        yield from _swap(stock, [item], no_weaker)


@makes("E211")
def strong_enough(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """A part of the same kind that carries the current with a margin."""
    item = stock.rig.items[finding.where[0]]
    need_a = MARGIN * busiest(stock.study, item)[0]

    def will_do(old: Item, part: Part) -> bool:
        same = getattr(part.spec, "kind", None) == getattr(old.part.spec, "kind", None)
        return same and no_weaker(old, part) and part_rating_a(part) >= need_a

    yield from _swap(stock, [item], will_do)


@makes("E902")
def with_a_diode(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """Relays with a diode, whose coils draw no more."""
    relays = [stock.rig.items[ref] for ref in finding.where[1:]]

    def will_do(old: Item, part: Part) -> bool:
        spec, before = part.spec, old.part.spec
        if not isinstance(spec, RelaySpec) or not isinstance(before, RelaySpec):
            return False
        return spec.diode and spec.coil_ma <= before.coil_ma and no_weaker(old, part)

    yield from _swap(stock, relays, will_do)
