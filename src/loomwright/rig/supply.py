"""Whether everything hangs together: feeds that reach a battery, returns that come back to it, no loose ends."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set

from loomwright.rig.joins import Link, Sets
from loomwright.rig.model import FuseSpec, Item, Kind
from loomwright.rig.report import Report
from loomwright.rig.terminals import mate
from loomwright.rig.words import some

UNKNOWN = "?"
"""Stands for every end that could not be resolved."""

_DRAWS = ("amplifier", "processor", "source", "accessory")
_PLUS = {"battery": "plus", "charger": "out", "dcdc": "in", **dict.fromkeys(_DRAWS, "supply+")}
_MINUS = {"battery": "minus", "charger": "ground", "dcdc": "ground", **dict.fromkeys(_DRAWS, "supply-")}


def joined_inside(item: Item) -> Iterator[tuple[str, ...]]:
    """Groups of terminals that metal, a fuse or a contact joins inside an item, as names."""
    names = [t.name for t in item.part.terminals]
    match item.part.family:
        case "fuse_holder" | "breaker" | "switch" | "fused_block" | "plain_block" | "bus" | "frame" | "splice":
            yield tuple(names)
        case "isolator":
            yield ("main", "aux")
        case "dcdc":
            yield ("in", "out")
        case "relay":
            yield ("30", "87")
        case "connector":
            for name in names:
                if name.startswith("a"):
                    yield (name, f"b{name[1:]}")
        case _:
            return


def check_supply(
    items: Mapping[str, Item],
    links: Sequence[Link],
    kinds: Mapping[str, Kind],
    doubtful: Set[str],
    report: Report,
) -> None:
    """Report loose ends, islands without a source, items without a return, systems that share nothing.

    ``kinds`` is by the place of a link; a link without one may carry anything. An end that could not be resolved counts
    as joined to every terminal of the ``doubtful`` items, so that one mistake is not reported twice.
    """
    used = {r for link in links for r in (link.start, link.end) if r is not None}
    feed, back, whole = Sets(), Sets(), Sets()
    for item in items.values():
        for group in joined_inside(item):
            for name in group[1:]:
                for sets in (feed, back, whole):
                    sets.join(f"{item.id}.{group[0]}", f"{item.id}.{name}")
        if item.id in doubtful:
            for terminal in item.part.terminals:
                for sets in (feed, back, whole):
                    sets.join(UNKNOWN, f"{item.id}.{terminal.name}")
    for link in links:
        a, b = link.start or UNKNOWN, link.end or UNKNOWN
        kind = kinds.get(link.place)
        whole.join(a, b)
        if kind in (None, "power", "remote"):
            feed.join(a, b)
        if kind in (None, "ground"):
            back.join(a, b)
    sure = {i.id: i for i in items.values() if i.id not in doubtful}
    _loose_ends(sure, links, report)
    _empty_ways(items, links, report)
    batteries = [i.id for i in items.values() if i.part.family == "battery"]
    if not batteries:
        if UNKNOWN not in whole.parent:
            report.add("item", "at least one battery", "no battery", "Add the battery, with its place and its wires.")
        return
    _islands(sure, used, feed, batteries, report)
    _returns(sure, used, feed, back, batteries, report)
    _one_system(sure, used, whole, report)


def _wired(item: Item, used: set[str]) -> list[str]:
    return [t.name for t in item.part.terminals if f"{item.id}.{t.name}" in used]


def _loose_ends(items: Mapping[str, Item], links: Sequence[Link], report: Report) -> None:
    """Wires that lead nowhere. Loudspeaker and line wires may: what is silent does not stop a check of the power."""
    at: dict[str, list[str]] = {}
    for link in links:
        for ref in (link.start, link.end):
            if ref is not None:
                at.setdefault(ref, []).append(link.id)
    for item in items.values():
        wired = [t.name for t in item.part.terminals if f"{item.id}.{t.name}" in at]
        for missing, loose in _wanting(item, wired) if wired else ():
            if item.part.terminal(missing).kind in ("speaker", "line"):
                continue
            ref = f"{item.id}.{loose[0]}"
            ids = [i for name in loose for i in at[f"{item.id}.{name}"]]
            whose = f"wire {ids[0]} on {ref}, which leads" if len(ids) == 1 else f"wires {some(ids, 6)}, which lead"
            report.add(
                f"item.{item.id}", f"a wire on {item.id}.{missing}", f"{whose} nowhere",
                f"Wire {item.id}.{missing}, or take {'the wire' if len(ids) == 1 else 'these wires'} out.",
            )  # fmt: skip


def _wanting(item: Item, wired: list[str]) -> Iterator[tuple[str, list[str]]]:
    """Bare terminals, each with the wired ones whose wires lead nowhere without it."""
    names = [t.name for t in item.part.terminals]
    match item.part.family:
        case "fuse_holder" | "breaker" | "switch" | "isolator" | "passive":
            yield from ((n, wired) for n in names if n not in wired)
        case "fused_block" | "plain_block":
            if "in" not in wired:
                yield "in", wired
            elif len(wired) == 1:
                yield "out1", wired
        case "relay":
            pairs = (("30", "87"), ("85", "86"))
            yield from ((b, [a]) for p in pairs for a, b in (p, p[::-1]) if a in wired and b not in wired)
        case "connector":
            yield from ((m, [n]) for n in wired if (m := mate(n)) not in wired)
        case "splice" | "bus":
            if len(wired) < 2:
                yield from ((n, wired) for n in names[:2] if n not in wired)
        case _:
            return


def _empty_ways(items: Mapping[str, Item], links: Sequence[Link], report: Report) -> None:
    for link in links:
        for ref in (link.start, link.end):
            item = items[ref.partition(".")[0]] if ref is not None else None
            if ref is None or item is None or not isinstance(item.part.spec, FuseSpec):
                continue
            name = ref.partition(".")[2]
            way = 1 if item.part.family == "fuse_holder" else int(name[3:] or 0) if name != "in" else 0
            if name != "in" and 0 < way <= len(item.fuses_a) and item.fuses_a[way - 1] == 0:
                report.add(
                    f"item.{item.id}.fuses_a[{way}]", f"a rating, for wire {link.id} hangs on it", "0, an empty way",
                    "Give the rating, or take the wire off.",
                )  # fmt: skip


def _islands(
    items: Mapping[str, Item], used: set[str], feed: Sets, batteries: list[str], report: Report
) -> None:
    sourced = {feed.root(f"{b}.plus") for b in batteries} | {feed.root(UNKNOWN)}
    islands: dict[str, list[str]] = {}
    for item in items.values():
        plus = _PLUS.get(item.part.family)
        if plus is None or item.part.family == "battery":
            continue
        ref = f"{item.id}.{plus}"
        if ref not in used:
            report.add(
                f"item.{item.id}", f"a wire on {ref}", "none",
                "Wire its feed, or take the item out.",
            )  # fmt: skip
        elif feed.root(ref) not in sourced:
            islands.setdefault(feed.root(ref), []).append(item.id)
    for island in islands.values():
        report.add(
            f"item.{island[0]}", "a way of power wires to a battery",
            f"an island without a source: {some(island)}", "Wire its feed to a battery, a block or a bus that is fed.",
        )  # fmt: skip


def _returns(
    items: Mapping[str, Item], used: set[str], feed: Sets, back: Sets, batteries: list[str], report: Report
) -> None:
    for item in items.values():
        minus = _MINUS.get(item.part.family)
        if minus is None:
            continue
        ref = f"{item.id}.{minus}"
        if ref not in used:
            report.add(
                f"item.{item.id}", f"a ground wire on {ref}", "none",
                "Wire its return to the ground bus, the frame or the battery's minus.",
            )  # fmt: skip
            continue
        if item.part.family == "battery" or back.root(ref) == back.root(UNKNOWN):
            continue
        plus = feed.root(f"{item.id}.{_PLUS[item.part.family]}")
        mine = [b for b in batteries if plus in (feed.root(f"{b}.plus"), feed.root(UNKNOWN))]
        if mine and not any(back.root(f"{b}.minus") == back.root(ref) for b in mine):
            report.add(
                f"item.{item.id}", f"a return path from {ref} to {' or '.join(f'{b}.minus' for b in mine)}",
                "ground wires that do not reach it", "Join the returns on one ground bus.",
            )  # fmt: skip


def _one_system(items: Mapping[str, Item], used: set[str], whole: Sets, report: Report) -> None:
    """Batteries whose minus posts share nothing have no common reference for volts."""
    posts = [i.id for i in items.values() if i.part.family == "battery" and f"{i.id}.minus" in used]
    unknown = whole.root(UNKNOWN)
    roots = {p: whole.root(f"{p}.minus") for p in posts}
    for other in posts[1:]:
        if unknown not in (roots[other], roots[posts[0]]) and roots[other] != roots[posts[0]]:
            report.add(
                f"item.{other}", f"a return shared with {posts[0]}", "a system of its own",
                "Join the two returns, or describe the two systems in two files.",
            )  # fmt: skip
