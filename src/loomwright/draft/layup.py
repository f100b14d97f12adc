"""Combinations for one layout: bounds, the network, and every check on what is left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from loomwright.draft import search
from loomwright.draft.drawn import Drawn, settled
from loomwright.draft.options import Option
from loomwright.draft.probe import Probe, probe
from loomwright.draft.problem import UPPER, Problem, made
from loomwright.draft.sheet import Sheet
from loomwright.draft.wishes import Wishes
from loomwright.draft.writing import write
from loomwright.findings.breaking import BACKED_UP
from loomwright.findings.model import Finding
from loomwright.findings.run import check
from loomwright.power.prospective import prospective_a
from loomwright.protection.devices import devices
from loomwright.remedies.run import Remedies
from loomwright.rig import file
from loomwright.rig.changes import ItemKey
from loomwright.rig.model import AmplifierSpec, Rig
from loomwright.rig.read import read_tables
from loomwright.rig.report import Report
from loomwright.study import Study

MOST_SOLVED = 100
FIRST_SOLVED = 30
MOST_CHECKED = 12
THUMPS = ("E926", "E927")
SIZING = frozenset(
    ("E202", "E203", "E204", "E207", "E208", "E209", "E210", "E211", "E301", "E302", "E303", "E401", "E501", "E502",
     "E601", "E604", "E605", "E611", "E612", "E801", "E802", "E804", "E805")
)  # fmt: skip
"""Findings that another combination of sizes may do away with; every other comes from the list itself."""


@dataclass(frozen=True)
class Checked:
    """A combination with its rig as written and read again, and what the checks say of it."""

    text: str
    rig: Rig
    probe: Probe
    findings: tuple[Finding, ...]

    @property
    def faults(self) -> tuple[Finding, ...]:
        return tuple(f for f in self.findings if f.severity in ("Stop", "Fix"))


class Layup:
    """Finds combinations for one layout that has been drawn up."""

    def __init__(self, drawn: Drawn) -> None:
        self.drawn = drawn
        self.solved = 0
        self.checked = 0
        self.last: Checked | None = None
        self.broken: tuple[str, ...] = ()
        self.weak: frozenset[tuple[str, str]] = frozenset()
        self._group_of = {w.id: g.name for g in self.problem.every for w in g.wires}
        self._group_of |= {d: g.name for g in self.problem.every for d in g.devices}
        self._group_of |= {i: g.name for g in self.problem.every for i in g.plugs}
        self._loads = {g.name: g.loads for g in self.problem.every}
        self._sagging = frozenset(
            i.id for i in drawn.rig.family("amplifier")
            if isinstance(i.part.spec, AmplifierSpec) and i.part.spec.supply == "sagging"
        )  # fmt: skip

    @property
    def problem(self) -> Problem:
        return self.drawn.problem

    @cached_property
    def obstacles(self) -> tuple[str, ...]:
        """Why no combination stands, in words; empty where one may.

        Groups without an option; fuses that cannot break what flows with the least copper of all; amplifiers that miss
        their volts with the most copper of all.
        """
        where = self.drawn.layout.words()
        none = [f"{g.name}: {g.why_none}" for g in self.problem.every if not g.options]
        if none:
            return tuple(none)
        thin = [min(g.options, key=lambda o: o.size.area_mm2) for g in self.problem.every]
        weak = unbreakable(self.made(thin))
        if weak:
            items = {d.rpartition(".")[0] for d in weak}
            self.weak = frozenset(
                (b.type, b.place)
                for b, name in zip(self.drawn.layout.blocks, self._blocks(), strict=True)
                if name in items
            )
            return (f"{where}: with the least copper of all, more can flow after {', '.join(weak)} than it can break",)
        return self._starved(where)

    @property
    def priced(self) -> bool:
        """Whether every option has a price, so that price is what is brought down."""
        return all(o.price is not None for g in self.problem.every for o in g.options)

    def price(self, found: search.Found) -> float | None:
        """What wire, plugs and other drafted parts of a combination cost; None where wire has no price."""
        if found.options is None or any(o.price is None for o in found.options):
            return None
        plugs = {p for o in found.options for p, _ in o.parts}
        sheet = self.drawn.sheet
        rest = sum(sheet.part(i.part).price or 0.0 for i in sheet.items.values() if i.id not in plugs)
        return rest + sum(o.price or 0.0 for o in found.options)

    def _blocks(self) -> tuple[str, ...]:
        """Ids of the layout's blocks, in its order."""
        placed = [g.name.removeprefix("main:") for g in self.problem.groups if g.name.startswith("main:")]
        return tuple(b.item or placed.pop(0) for b in self.drawn.layout.blocks)

    def flat(self) -> str | None:
        """Where no wire would help, for the battery itself has too few volts: in words."""
        wishes, top = self.drawn.sheet.given.wishes, self.problem.top_v
        if wishes.min_amp_v is None or (wishes.engine, wishes.programme) != ("off", "loud") or top >= wishes.min_amp_v:
            return None
        return (
            f"the amplifiers need {wishes.min_amp_v:.2f} V (engine off, loud); the battery's own posts have "
            f"{top:.2f} V at most under that load"
        )

    def _starved(self, where: str) -> tuple[str, ...]:
        """Amplifiers that miss a limit however thick their own way is and however little the others disturb."""
        wishes = self.drawn.sheet.given.wishes
        best = [min(g.options, key=lambda o: o.mohm) for g in self.problem.every]
        told = []
        for name in sorted({b.rpartition(" ")[2] for b in self.probe(self.made(best), wishes).broken}):
            way = self._way(name)
            group = next((g for g in self.problem.groups if g.name == way), None)
            if group is None or name not in self.drawn.rig.items:
                continue
            seen = self.probe(self.made(search.at_best(self.problem, best, (group.name,), self._sagging)), wishes)
            if any(b.endswith(f" {name}") for b in seen.broken):
                size = min(group.options, key=lambda o: o.mohm).size.label
                told.append(self._short(name, seen, size))
        return tuple(f"{where}: {t}" for t in told)

    def _short(self, name: str, seen: Probe, size: str) -> str:
        wishes, limit = self.drawn.sheet.given.wishes, self.drawn.rig.limits.drop_v
        if wishes.min_amp_v is not None and seen.volts_v.get(name, 99.0) < wishes.min_amp_v:
            return (
                f"{name} needs {wishes.min_amp_v:.3f} V (engine {wishes.engine}, {wishes.programme}); best possible "
                f"{seen.volts_v[name]:.3f} V with {size}"
            )
        if seen.drops_v.get(name, 0.0) > limit:
            return f"{name} may lose {limit:.2f} V; at best it loses {seen.drops_v[name]:.2f} V, with {size}"
        return f"{name} stays below its least volts, even with {size}"

    @property
    def common(self) -> float:
        """What the groups cost at least that are the same in every layout."""
        same = [g for g in self.problem.groups if not g.name.startswith(("main:", "sub:", "branch:", "small:"))]
        home = search.Search(self.problem).home(max((min(o.lets_a for o in g.options) for g in same), default=0.0))
        return sum(min(o.cost for o in g.options) for g in same) + sum(o.cost for o in home or ())

    def made(self, chosen: Sequence[Option]) -> Rig:
        return made(self.problem, chosen, self.drawn.sheet)

    def cheapest(
        self, below: float, least_v: float | None = None, most: int = MOST_SOLVED
    ) -> tuple[Checked | None, search.Found]:
        """The cheapest combination that the network and every check confirm, below a cost.

        ``least_v`` in place of the wish for the volts at the amplifiers.
        """
        wishes = self.drawn.sheet.given.wishes
        task = self.problem
        if least_v is not None:
            wishes = replace(wishes, min_amp_v=least_v, engine="off", programme="loud")
            task = replace(task, limits_v={i: min(v, task.top_v - least_v) for i, v in task.limits_v.items()})
        confirmed: list[Checked] = []

        def judge(chosen: tuple[Option, ...]) -> search.Answer:
            seen = self.probe(self.made(chosen), wishes)
            if not seen.broken and (weak := unbreakable(self.made(chosen))):
                return search.Answer(False, self._mains_over(chosen, weak))
            if not seen.broken:
                return self._checked(chosen, seen, confirmed)
            self.broken = seen.broken
            return search.Answer(False, self.ways_that_fail(task, chosen, seen, wishes))

        try:
            found = search.Search(task).run(judge, most, below)
        except _Hopeless:
            return None, search.Found(None, below, False, self.solved)
        return (confirmed[-1] if found.options is not None else None), found

    def ways_that_fail(
        self, task: Problem, chosen: Sequence[Option], seen: Probe, wishes: Wishes
    ) -> tuple[str, ...]:
        """Those ways of a combination that fail even with everything else at what helps them most."""
        ways = tuple(dict.fromkeys(g for b in seen.broken if (g := self._way(b)) is not None))
        if any(b.startswith(("device", "wire")) for b in seen.broken):
            ways = tuple(w for w in ways if not self._loads[w] & self._sagging)
        if not ways:
            return ()
        failed = []
        for way in ways:
            best = self.probe(self.made(search.at_best(task, chosen, (way,), self._sagging)), wishes)
            if any(self._way(b) == way for b in best.broken):
                failed.append(way)
        return tuple(failed)

    def probe(self, rig: Rig, wishes: Wishes) -> Probe:
        self.solved += 1
        return probe(rig, wishes)

    def _way(self, broken: str) -> str | None:
        """The group at the end of the way that something broken lies on."""
        name = broken.rpartition(" ")[2]
        if name in self._group_of:
            return self._group_of[name]
        ends = [g for g in self.problem.groups if name in g.loads]
        return min(ends, key=lambda g: len(g.loads)).name if ends else None

    def _mains_over(self, chosen: Sequence[Option], weak: Sequence[str]) -> tuple[str, ...]:
        """Mains that let too much through, whatever device hangs below them."""
        names = {g for d in weak if (g := self._group_of.get(d)) is not None}
        thin = [
            max(g.options, key=lambda o: o.mohm) if g.name in names and not g.name.startswith(UPPER) else o
            for g, o in zip(self.problem.every, chosen, strict=True)
        ]  # fmt: skip
        still = {g for d in unbreakable(self.made(thin)) if (g := self._group_of.get(d)) is not None}
        return tuple(dict.fromkeys(a for g in sorted(names & still) for a in self.problem.above.get(g, ())))

    def _checked(self, chosen: tuple[Option, ...], seen: Probe, confirmed: list[Checked]) -> search.Answer:
        made = self.check(chosen, seen)
        self.last = made
        if not made.faults:
            confirmed.append(made)
            return search.Answer(True)
        if self.checked >= MOST_CHECKED or not all(self._sized(f) for f in made.faults):
            raise _Hopeless
        ways = tuple(dict.fromkeys(g for f in made.faults for w in f.where if (g := self._group_of.get(w))))
        lower = tuple(g for g in ways if not g.startswith(UPPER))
        return search.Answer(False, lower or ways, sure=False)

    def _sized(self, fault: Finding) -> bool:
        """Whether another combination may do away with a fault: what it is about hangs on a size that is chosen."""
        return fault.code in SIZING and any(self._way(ref) is not None for ref in fault.where)

    def check(self, chosen: Sequence[Option], seen: Probe) -> Checked:
        """Write the rig, read it again, and run every check."""
        self.checked += 1
        made = self._written(chosen, seen)
        return self._written(chosen, seen) if self._waits(made) else made

    def _written(self, chosen: Sequence[Option], seen: Probe) -> Checked:
        text = write(self.drawn.sheet, settled(self.drawn, chosen))
        rig = finished(self.drawn.sheet, text)
        return Checked(text, rig, seen, check(Study(rig)))

    def _waits(self, made: Checked) -> bool:
        """Set the delays of remote outputs that keep amplifiers out of a thump; whether there was one to set."""
        sheet = self.drawn.sheet
        thumps = [f for f in made.faults if f.code in THUMPS]
        remedies = Remedies(Study(made.rig), sheet.given.catalogue) if thumps else None
        found = False
        for finding in thumps if remedies is not None else ():
            for remedy in remedies.of(finding)[:1]:  # type: ignore[union-attr]
                for change in remedy.changes:
                    if isinstance(change, ItemKey) and change.value is not None and change.item in sheet.rig.items:
                        sheet.put(change.item, "drafted: no thump", **{change.key: change.value})
                        sheet.choose(f"{change.item} {change.key}", f"{change.value} ms", finding.title)
                        found = True
        return found


class _Hopeless(Exception):
    """No size does away with what the checks find."""


def unbreakable(rig: Rig) -> tuple[str, ...]:
    """Devices that would have to break more than they can, those that another may back up left out."""
    fault_a = prospective_a(rig)
    return tuple(
        d.id for d in devices(rig).values()
        if d.way and fault_a.get(d.id, 0.0) > BACKED_UP * d.interrupting_a > 0
    )  # fmt: skip


def finished(sheet: Sheet, text: str) -> Rig:
    """The rig in a drafted text, read as any rig file is. Raises InputError."""
    given = sheet.given
    return file.make(
        read_tables(text, given.rig.file), given.rig.file, given.catalogue, given.folder, Report(given.rig.file)
    )
