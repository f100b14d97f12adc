"""The draft from end to end: lay out, size, prove, check; or say which demands stand in the way."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from loomwright.draft import bounds, covers, feeds, filters, options, pulling, search, signal, speakers, supply
from loomwright.draft.equipment import EquipmentList
from loomwright.draft.layout import Block, BlockType, Layout, layouts, places
from loomwright.draft.options import Option, Problem
from loomwright.draft.probe import Probe, probe
from loomwright.draft.results import Alternative, Choice, DraftResult, Proof
from loomwright.draft.sheet import Sheet
from loomwright.draft.wishes import Wishes
from loomwright.draft.writing import Settled, tables, write
from loomwright.findings.model import Finding
from loomwright.findings.run import check
from loomwright.protection import leads
from loomwright.rig import file
from loomwright.power.amplifier import supply_w
from loomwright.rig.model import AmplifierSpec, ChargerSpec, FuseSpec, Item, Rig
from loomwright.rig.read import read_tables
from loomwright.rig.report import Report
from loomwright.study import Study

MOST_LAYOUTS = 40
MOST_IN_VAIN = 8
"""Layouts that are drawn up before the list is taken to be at fault."""
MOST_SOLVED = 150
MOST_CHECKED = 12
WAY_LIMIT_A = 100.0
"""Amplifiers whose own fuses are larger than this get a device on the battery post."""
Say = Callable[[str], None]


def quiet(words: str) -> None:
    """Says nothing."""


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
    supply.draft(sheet)
    feeds.draft(sheet, layout)
    uses = speakers.allocate(sheet) if uses is None else uses
    block = next((i.id for i in sheet.items.values() if i.part.startswith("fused_block") and i.part.endswith("_c")), None)
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
        replace(w, size=options.wire_size(chosen[w.id].size)) if w.id in chosen else w for w in open_rig.wires
    )
    rig = replace(open_rig, wires=wires)
    return Drawn(
        layout, sheet, rig, options.problem(sheet, rig), {w: g.size.label for w, g in chosen.items()}
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


SIZING = frozenset(
    "E202 E203 E204 E207 E208 E209 E210 E211 E301 E302 E303 E401 E501 E502 E601 E604 E605 E611 E612 E801 E802 E804 E805"
    .split()
)
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
                (b.type, b.place) for b, name in zip(self.drawn.layout.blocks, self._blocks(), strict=True) if name in items
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
        home = search.Search(self.problem).home(max((min(map(search.rating_a, g.options)) for g in same), default=0.0))
        return sum(min(o.cost for o in g.options) for g in same) + sum(o.cost for o in home or ())

    def made(self, chosen: Sequence[Option]) -> Rig:
        return options.made(self.problem, chosen, self.drawn.sheet)

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
            max(g.options, key=lambda o: o.mohm) if g.name in names and not g.name.startswith(search.UPPER) else o
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
        if self.checked >= MOST_CHECKED or not all(f.code in SIZING for f in made.faults):
            raise _Hopeless
        ways = tuple(dict.fromkeys(g for f in made.faults for w in f.where if (g := self._group_of.get(w))))
        lower = tuple(g for g in ways if not g.startswith(search.UPPER))
        return search.Answer(False, lower or ways, sure=False)

    def check(self, chosen: Sequence[Option], seen: Probe) -> Checked:
        """Write the rig, read it again, and run every check."""
        self.checked += 1
        text = write(self.drawn.sheet, settled(self.drawn, chosen))
        rig = finished(self.drawn.sheet, text)
        return Checked(text, rig, seen, check(Study(rig)))


class _Hopeless(Exception):
    """No size does away with what the checks find."""


def unbreakable(rig: Rig) -> tuple[str, ...]:
    """Devices that would have to break more than they can, those that another may back up left out."""
    from loomwright.findings.breaking import BACKED_UP
    from loomwright.power.prospective import prospective_a
    from loomwright.protection.devices import devices

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


@dataclass(frozen=True)
class Solved:
    """The cheapest rig of all layouts, with what it was proven over."""

    layup: Layup
    checked: Checked
    found: search.Found
    proof: Proof


@dataclass(frozen=True)
class Tried:
    """What became of a list: the cheapest rig, or the nearest to one, and why the layouts fell out."""

    solved: Solved | None
    nearest: Checked | None
    reasons: tuple[str, ...]


def strong(given: EquipmentList) -> tuple[str, ...]:
    """Amplifiers too strong for a way of a block."""
    found = []
    for item in given.rig.family("amplifier"):
        spec = item.part.spec
        assert isinstance(spec, AmplifierSpec)
        if sum(spec.own_fuses_a) > WAY_LIMIT_A:
            found.append(item.id)
    return tuple(found)


def ordered(given: EquipmentList) -> list[tuple[float, Layout]]:
    """Every layout with what it costs at least, the cheapest first."""
    sheet = Sheet(given)
    want = [a for a in given.rig.family("amplifier") if not sheet.wired(f"{a.id}.supply+")]
    spots = places(given.rig, given.wishes.block_places)
    types: tuple[BlockType, ...] = ("C", "SF30")
    alone = [a for a in strong(given) if a in {w.id for w in want}]
    listed = _listed_block(sheet, [a for a in want if a.id not in alone])
    if listed is not None:
        return [(0.0, Layout((listed,), tuple(alone)))]
    made = [(bounds.least_g(sheet, x), n, x) for n, x in enumerate(layouts(given.rig, want, spots, types, alone))]
    return [(g, x) for g, _, x in sorted(made, key=lambda m: m[:2]) if g < float("inf")]


def _listed_block(sheet: Sheet, want: Sequence[Item]) -> Block | None:
    """A block of the list that has empty ways enough."""
    need = len(want) + sum(not sheet.wired(f"{i.id}.supply+") for i in sheet.families("source", "processor"))
    for item in sheet.families("fused_block"):
        spec = item.part.spec
        assert isinstance(spec, FuseSpec)
        free = [t.name for t in item.part.terminals if t.name.startswith("out") and not sheet.wired(f"{item.id}.{t.name}")]
        if len(free) >= need and need:
            return Block(item.place, "C" if spec.type == "C" else "SF30", tuple(a.id for a in want), item.id)
    return None


def solve(given: EquipmentList, say: Say = quiet, *, first: bool = False) -> Tried:
    """The cheapest rig over all layouts; with ``first``, the first one that holds."""
    best: Solved | None = None
    nearest: Checked | None = None
    reasons: list[str] = []
    combos, solved, drawn = 0, 0, 0
    proven, common, passed, priced = True, 0.0, False, False
    weak: set[tuple[str, str]] = set()
    waiting = ordered(given)
    sheet, rough = Sheet(given), None
    uses = speakers.allocate(sheet)
    for least, layout in waiting:
        if best is not None and not priced and common + max(least, bounds.least_g(sheet, layout, rough)) >= best.found.cost:
            continue
        if any((b.type, b.place) in weak for b in layout.blocks):
            passed = True
            continue
        if drawn >= (MOST_LAYOUTS if best is not None else MOST_IN_VAIN):
            proven = False
            break
        say(f"Layout {drawn + 1}: {layout.words()}")
        layup = Layup(draw(given, layout, uses))
        drawn += 1
        combos += layup.problem.combinations
        if (flat := layup.flat()) is not None:
            reasons.append(flat)
            break
        if layup.obstacles:
            reasons += layup.obstacles
            weak |= layup.weak
            continue
        checked, found = layup.cheapest(best.found.cost if best else float("inf"))
        solved += layup.solved
        proven = proven and (found.proven or found.options is not None and found.proven)
        if checked is None:
            nearest = nearest or layup.last
            reasons += [f"{layout.words()}: {b}" for b in layup.broken]
            continue
        common, rough = layup.common, bounds.Rough(layup.problem)
        priced = layup.priced
        best = Solved(layup, checked, found, Proof(True, "", 0, 0, 0, ""))
        if first:
            break
    if best is None:
        return Tried(None, nearest, tuple(dict.fromkeys(reasons)))
    budget = given.wishes.budget
    if budget is not None and (price := best.layup.price(best.found)) is not None and price > budget:
        short = f"wire and drafted parts cost {price:.2f} at least; the budget is {budget:.2f}"
        return Tried(None, None, (short, *dict.fromkeys(reasons)))
    what = "price of wire and plugs" if priced else "mass of copper and power plugs; the catalogue has no prices"
    proof = Proof(
        proven and best.found.proven and not passed, what, len(waiting), combos, solved,
        f"{len(waiting)} layouts of at most two fused blocks, {drawn} of them drawn up and the others dearer by a bound; "
        f"{combos:.3g} combinations of size, rating and plug; feed and return of one size; sizes "
        + (", ".join(given.wishes.stock) if given.wishes.stock else "of the AWG list"),
    )  # fmt: skip
    return Tried(replace(best, proof=proof), nearest, tuple(dict.fromkeys(reasons)))


def draft(given: EquipmentList, most: int = 3, say: Say = quiet) -> DraftResult:
    """Finished rigs for a list, the cheapest first; or which demands cannot be met together.

    Raises
    ------
    InputError
        Where the list wants a run between two places.
    """
    from loomwright.draft.conflicts import conflict

    head = (given.rig.title, given.rig.file)
    notes = charging_notes(given.rig)
    try:
        tried = solve(given, say)
    except speakers.TooMany as error:
        return DraftResult(*head, (), None, conflict(given, Tried(None, None, (str(error),)), say), notes)
    if tried.solved is None:
        return DraftResult(*head, (), None, conflict(given, tried, say), notes)
    best = tried.solved
    found = [alternative("least copper", best.layup, best.checked, best.found)]
    say("Alternatives with more volts")
    found += more_volts(best, most - 1)
    return DraftResult(*head, tuple(found), best.proof, None, notes)


def more_volts(best: Solved, most: int) -> list[Alternative]:
    """Rigs of the same layout with more volts at the amplifiers, each the cheapest for its volts."""
    made: list[Alternative] = []
    if most <= 0:
        return made
    layup = best.layup
    assert best.found.options is not None
    wishes = replace(layup.drawn.sheet.given.wishes, engine="off", programme="loud", min_amp_v=None)
    rich = [
        min(g.options, key=lambda o: o.mohm) if g.name.startswith(("main:", "sub:", "branch:")) else o
        for g, o in zip(layup.problem.every, best.found.options, strict=True)
    ]  # fmt: skip
    low = layup.probe(best.checked.rig, wishes).lowest_v
    high = layup.probe(layup.made(rich), wishes).lowest_v
    for k in range(1, most + 1):
        least = low + (high - low) * k / (most + 1)
        checked, found = layup.cheapest(float("inf"), least, 60)
        if checked is not None and all(a.text != checked.text for a in made):
            made = [a for a in made if a.copper_g < sum(o.copper_g for o in found.options or ()) - 0.01]
            made.append(alternative(f"more volts {len(made) + 1}", layup, checked, found))
    return made


def alternative(name: str, layup: Layup, checked: Checked, found: search.Found) -> Alternative:
    """One finished rig as it is reported."""
    assert found.options is not None
    sizes = tuple(
        Choice(g.name, o.size.label, o.why, tuple(dict.fromkeys(x.size.label for x in g.options if x.size != o.size)))
        for g, o in zip(layup.problem.every, found.options, strict=True)
    )
    return Alternative(
        name=name,
        text=checked.text,
        rig=checked.rig,
        copper_g=sum(o.copper_g for o in found.options),
        price=layup.price(found),
        volts_v=checked.probe.volts_v,
        lowest_v=checked.probe.lowest_v,
        drop_v=checked.probe.drop_v,
        findings=checked.findings,
        choices=(*layup.drawn.sheet.choices, *sizes),
    )


def charging_notes(rig: Rig) -> tuple[str, ...]:
    """Amplifiers that at full output draw more than every charging source gives, with the arithmetic."""
    most = sum(max(c.part.spec.current_a) for c in rig.family("charger") if isinstance(c.part.spec, ChargerSpec))
    notes = []
    for item in rig.family("amplifier"):
        spec = item.part.spec
        assert isinstance(spec, AmplifierSpec)
        full = spec.channels * spec.output_4ohm_w
        draws = spec.idle_a + supply_w(spec, full, 1.0) / FULL_V
        if draws > most > 0:
            notes.append(
                f"{item.id} gives {full:g} W at full output and then draws {draws:.0f} A at {FULL_V:g} V "
                f"({full:g} W / {spec.efficiency_full:g} / {FULL_V:g} V); the charging system gives {most:.0f} A at most: "
                "what is missing comes out of the battery."
            )
    return tuple(notes)


FULL_V = 13.5
