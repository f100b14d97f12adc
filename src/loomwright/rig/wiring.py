"""The wires of a rig file, between the terminals of what is fitted.

Where all ends are as they were in a file that was read before, their kinds are known, and wires whose tables did not
change are taken as they were made. Where there is anything to complain of, all of it is read from the beginning, so
that the complaints are the same and stand in the same order.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.rig.fitted import Fitted, Joined
from loomwright.rig.keys import WireKeys
from loomwright.rig.model import Item, Wire
from loomwright.rig.read import MAX_WIRES, too_many_wires
from loomwright.rig.report import Report
from loomwright.rig.supply import check_supply
from loomwright.rig.tables import check, dotted, rows
from loomwright.rig.wires import Ends, Row, Ways, check_joins, in_turn, make_wire, read_rows, wire_places

MOST = 8
"""So many ways to wire the same items are remembered."""
MOST_WIRES = 4000
"""So many wires are remembered of each."""


@dataclass(frozen=True, slots=True)
class Wiring:
    """Items with the kinds of their contacts settled, and the wires that can be made."""

    items: Mapping[str, Item]
    wires: tuple[Wire, ...]


def read(data: Mapping[str, object], parts: Fitted, report: Report, *, finished: bool) -> Wiring:
    """The wires of the tables; ``finished`` False where items may still want theirs.

    Raises
    ------
    InputError
        Where there are too many of them.
    """
    raw = rows(data, "wire", report)
    if len(raw) > MAX_WIRES:
        raise too_many_wires(report.file, len(raw))
    ends = repr((finished, [_ends(w) for w in raw]))
    known = None if report.problems else parts.joined.get(ends)
    found = None if known is None else _again(raw, parts, known)
    if found is not None:
        return found
    joined, wires = _anew(raw, parts, report, finished)
    if not report.problems:
        parts.joined[ends] = joined
        if len(parts.joined) > MOST:
            parts.joined.popitem(last=False)
    return Wiring(joined.items, tuple(w for w in wires if w is not None))


def _ends(table: object) -> object:
    """What decides where a wire belongs."""
    return [table.get(key) for key in ("id", "from", "to")] + [_bolted(table)] if isinstance(table, dict) else table


def _bolted(table: Mapping[str, object]) -> bool:
    return str(table.get("size")).strip().lower() == "bolted"


def _again(raw: Sequence[object], parts: Fitted, known: Joined) -> Wiring | None:
    """The wires, those that were made before as they were; None where there is a complaint."""
    report = Report("")
    kinds = [known.kinds.get(link.place) for link in known.links]

    def make(k: int, apart: frozenset[int]) -> Wire | None:
        table, link = raw[k], known.links[k]
        content = repr(table), apart
        found = known.wires.get(content)
        if found is not None or report.problems:
            return found
        keys = check(WireKeys, table, report, dotted(link.place))
        assert isinstance(table, dict)
        row = Row(link.place, str(table.get("id") or ""), table, keys, link)
        made = make_wire(row, known.items, kinds[k], Ways(parts.routes, parts.usable, parts.unsure, apart), report)
        if made is not None and not report.problems:
            if len(known.wires) >= MOST_WIRES:
                known.wires.clear()
            known.wires[content] = made
        return made

    wires = in_turn(kinds, make)
    return None if report.problems else Wiring(known.items, tuple(w for w in wires if w is not None))


def _anew(
    raw: Sequence[object], parts: Fitted, report: Report, finished: bool
) -> tuple[Joined, list[Wire | None]]:
    """The wires from the beginning, every complaint in the report."""
    checked = [check(WireKeys, w, report, dotted(p)) for w, p in zip(raw, wire_places(raw), strict=True)]
    ends = Ends(parts.items, parts.broken)
    found = read_rows(raw, checked, ends, report)
    items, kinds = check_joins(found, ends, report)
    apart_of: dict[int, frozenset[int]] = {}

    def make(k: int, apart: frozenset[int]) -> Wire | None:
        apart_of[k] = apart
        ways = Ways(parts.routes, parts.usable, parts.unsure, apart)
        return make_wire(found[k], items, kinds.get(found[k].place), ways, report)

    wires = in_turn([kinds.get(r.place) for r in found], make)
    if finished and not ends.lost:
        check_supply(items, [r.link for r in found], kinds, ends.doubtful, report)
    known = {(repr(r.raw), apart_of[k]): w for k, (r, w) in enumerate(zip(found, wires, strict=True)) if w is not None}
    return Joined([r.link for r in found], items, kinds, known), wires
