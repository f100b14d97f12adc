"""Which demands cannot be met together: a minimal set of them, found by leaving them out one by one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from tomlkit.toml_document import TOMLDocument

from loomwright.draft import equipment, speakers
from loomwright.draft.equipment import EquipmentList
from loomwright.draft.posts import audio, starting
from loomwright.draft.results import Conflict, Demand
from loomwright.draft.sheet import Sheet
from loomwright.draft.solving import Say, Tried, quiet, solve
from loomwright.errors import InputError
from loomwright.rig import edit
from loomwright.rig.model import AmplifierSpec, Item

WIDE_V = 5.0
SHORT_H = 0.1


@dataclass(frozen=True)
class Wanted:
    """A demand with how it is given up in the text of the list."""

    demand: Demand
    give_up: Callable[[TOMLDocument], None]


def conflict(given: EquipmentList, tried: Tried, say: Say) -> Conflict:
    """A minimal set of demands that cannot be met together, with the arithmetic of the nearest attempt."""
    reasons = list(tried.reasons[:3])
    if tried.nearest is not None:
        reasons = [f"{f.code} {f.title}: {f.evidence}" for f in tried.nearest.faults[:4]] + reasons
    wanted = demands(given)
    if not feasible(given, wanted, say):
        return Conflict(_least(given), (*reasons, "not even without every wish, with one amplifier alone"))
    kept = list(wanted)
    for one in wanted:
        say(f"Without: {one.demand.words}")
        rest = [w for w in kept if w is not one]
        if not feasible(given, [w for w in wanted if w not in rest], say):
            kept = rest
    return Conflict(tuple(w.demand for w in kept), tuple(dict.fromkeys(reasons)))


def feasible(given: EquipmentList, gone: Iterable[Wanted], say: Say = quiet) -> bool:
    """Whether a rig that passes can be drafted once some demands are given up.

    Where a list has more loudspeakers than its channels carry, only that is asked.
    """
    try:
        relaxed = without(given, gone)
        if not carried(given):
            return carried(relaxed)
        return solve(relaxed, say, first=True).solved is not None
    except (speakers.TooMany, InputError):
        return False


def carried(given: EquipmentList) -> bool:
    """Whether the channels can carry the loudspeakers at all."""
    try:
        speakers.allocate(Sheet(given))
    except speakers.TooMany:
        return False
    return True


def without(given: EquipmentList, gone: Iterable[Wanted]) -> EquipmentList:
    """The list with some demands given up."""

    def change(document: TOMLDocument) -> None:
        for one in gone:
            one.give_up(document)

    return equipment.again(given, edit.with_document(given.text, change))


def demands(given: EquipmentList) -> list[Wanted]:
    """Every demand of a list that can be given up: wishes, limits, then amplifiers with their loudspeakers."""
    if not carried(given):
        return _loudspeakers(given)
    wishes, limits = given.wishes, given.rig.limits
    found: list[Wanted] = []

    def wish(key: str, words: str) -> None:
        found.append(Wanted(Demand(f"wishes.{key}", words), lambda d, k=key: _drop(d, "wishes", k)))  # type: ignore[misc]

    if wishes.min_amp_v is not None:
        wish("min_amp_v", f"at least {wishes.min_amp_v:g} V at every amplifier, engine {wishes.engine}, "
             f"{wishes.programme}")  # fmt: skip
    if wishes.budget is not None:
        wish("budget", f"a budget of {wishes.budget:g}")
    if wishes.stock:
        wish("stock", f"only the sizes in stock: {', '.join(wishes.stock)}")
    if wishes.block_places:
        wish("block_places", f"fused blocks only at {', '.join(wishes.block_places)}")
    if wishes.returns == "frame":
        wish("returns", "amplifiers return through the frame")
    if wishes.drives:
        wish("drives", "loudspeakers on the amplifiers that the list names")
    if wishes.metal is not None:
        wish("metal", f"wires of {wishes.metal}")
    if wishes.comes_off:
        wish("comes_off", f"{', '.join(wishes.comes_off)} must come off")
    if wishes.keep is not None or given.rig.wires:
        found.append(Wanted(Demand("wishes.keep", "the wires of the list stay as they are"), _loosen))
    found.append(
        Wanted(
            Demand("limits.drop_v", f"at most {limits.drop_v:g} V lost between battery and amplifier at loud"),
            lambda d: _set(d, "limits", "drop_v", WIDE_V),
        )
    )
    found.append(
        Wanted(
            Demand(
                "limits.session_h",
                f"{limits.session_h:g} h of {limits.session_programme}, engine {limits.session_engine}, after which it "
                "still cranks",
            ),
            _shorten,
        )
    )
    return [*found, *_equipment(given)]


def _loudspeakers(given: EquipmentList) -> list[Wanted]:
    """Each loudspeaker as a demand."""
    drivers = [d for g in speakers.groups(Sheet(given)) for d in g.drivers]
    return [
        Wanted(Demand(f"item.{d}", f"loudspeaker {d}"), lambda doc, n=d: _remove(doc, [n]))  # type: ignore[misc]
        for d in drivers
    ]


def _equipment(given: EquipmentList) -> list[Wanted]:
    """Amplifiers with what they drive, the weakest first; one of them stays, for a list wants one."""
    uses = speakers.allocate(Sheet(given))
    made = [
        Wanted(
            Demand(f"item.{i.id}", f"{i.id} ({i.part.title[:1].lower()}{i.part.title[1:]})"),
            lambda doc, n=i.id: _remove(doc, [n]),  # type: ignore[misc]
        )
        for i in (*given.rig.family("processor"), *_second(given))
    ]
    amps = sorted(given.rig.family("amplifier"), key=lambda i: (_watts(given, i.id), i.id))
    for amp in amps[:-1]:
        mine = [d for u in uses if u.amplifier == amp.id for d in u.group.drivers]
        names = [amp.id, *mine]
        spec = amp.part.spec
        assert isinstance(spec, AmplifierSpec)
        made.append(
            Wanted(
                _driving(given, amp, mine),
                lambda doc, n=names: _remove(doc, n),  # type: ignore[misc]
            )
        )
    return made


def _driving(given: EquipmentList, amp: Item, drivers: Sequence[str]) -> Demand:
    """An amplifier as a demand, with what it drives."""
    what = ", ".join(drivers) or "no loudspeaker"
    return Demand(f"item.{amp.id}", f"{amp.id} ({_watts(given, amp.id):g} W) with {what}")


def _least(given: EquipmentList) -> tuple[Demand, ...]:
    """What is left when every other demand is given up: the battery that cranks, and the strongest amplifier."""
    sheet = Sheet(given)
    battery = starting(sheet)
    amp = max(given.rig.family("amplifier"), key=lambda i: (_watts(given, i.id), i.id))
    mine = [d for u in speakers.allocate(sheet) if u.amplifier == amp.id for d in u.group.drivers]
    return (
        Demand(f"item.{battery.id}", f"{battery.id} ({battery.part.title[:1].lower()}{battery.part.title[1:]})"),
        _driving(given, amp, mine),
    )


def _second(given: EquipmentList) -> tuple[Item, ...]:
    """The battery that does not crank, and what charges it, where there are two."""
    sheet = Sheet(given)
    start, second = starting(sheet), audio(sheet)
    return () if second.id == start.id else (second,)


def _watts(given: EquipmentList, name: str) -> float:
    spec = given.rig.items[name].part.spec
    return spec.channels * spec.output_4ohm_w if isinstance(spec, AmplifierSpec) else 0.0


def _drop(document: TOMLDocument, table: str, key: str) -> None:
    held: Any = document.get(table)
    if held is not None and key in held:
        held.remove(key)


def _set(document: TOMLDocument, table: str, key: str, value: object) -> None:
    if table not in document:
        document[table] = {}
    held: Any = document[table]
    held[key] = value


def _shorten(document: TOMLDocument) -> None:
    _set(document, "limits", "session_h", SHORT_H)
    _set(document, "limits", "session_engine", "cruise")


def _loosen(document: TOMLDocument) -> None:
    _set(document, "wishes", "keep", [])


def _remove(document: TOMLDocument, names: Sequence[str]) -> None:
    """Take items out, with the wires that land on them and the wishes that name them."""
    items: Any = document["item"]
    for name in names:
        if name in items:
            items.remove(name)
    wires: Any = document.get("wire", [])
    for n in range(len(wires) - 1, -1, -1):
        if {str(wires[n].get(k, "")).partition(".")[0] for k in ("from", "to")} & set(names):
            del wires[n]
    wishes: Any = document.get("wishes", {})
    for owner, drivers in list(wishes.get("drives", {}).items()):
        left = [d for d in drivers if d not in names]
        if owner in names or not left:
            wishes["drives"].remove(owner)
        else:
            wishes["drives"][owner] = left
    if "comes_off" in wishes:
        wishes["comes_off"] = [n for n in wishes["comes_off"] if n not in names]
