"""Long work in stages: studies, diagrams and papers. Each is a pure function of texts, so its content is its name.
``own`` is the text of the shop's own catalogue that a rig is read with.

A piece of work is made by a generator that names each stage before it begins, so that whoever runs it can tell how far
it is, and can leave it between two stages.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Generator
from dataclasses import astuple, dataclass
from functools import lru_cache
from hashlib import sha256
from typing import TYPE_CHECKING, Literal, Protocol

from loomwright.rig.model import EngineState, Programme

if TYPE_CHECKING:
    from loomwright.drawing.hookup import View
    from loomwright.findings.model import Finding
    from loomwright.loom.stock_file import Spool
    from loomwright.papers.order import Order
    from loomwright.papers.paper import PaperSize
    from loomwright.steps.results import BuildPlan
    from loomwright.study import Study
    from loomwright.web.work.build_sheets import Shown

CHART_MM = 240.0
KEYS = 64
"""Pieces whose names are at hand: pages ask for the same one again and again."""
KEPT = 12
"""Studies that a worker keeps for the papers and diagrams that follow."""
PARTS = (("Sizes and ratings", "rig"), ("Volts and heat", "power"), ("Faults", "protection"), ("Sound", "sound"))
"""What a study is worked out in, each part a stage of its own; the findings come after them."""
STUDIED = len(PARTS) + 1
"""Stages that lie behind a piece of work once it has its study."""


@dataclass(frozen=True, slots=True)
class Stage:
    """What is being done: ``done`` of ``total`` stages lie behind it."""

    words: str
    done: int
    total: int


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a page needs of a rig that is worked out. ``diagram`` is an ``svg`` element, empty where there is none."""

    study: Study
    findings: tuple[Finding, ...]
    diagram: str


@dataclass(frozen=True, slots=True)
class Building:
    """The steps of a build, and the sheets to look at. ``key`` is the same for the same steps."""

    plan: BuildPlan
    sheets: tuple[Shown, ...]
    key: str


Stages = Generator[Stage, None, object]


class Piece(Protocol):
    """A piece of long work."""

    def __hash__(self) -> int:
        """By content."""

    @property
    def title(self) -> str:
        """What a reader calls it."""

    @property
    def file(self) -> str:
        """The name of the file that it makes; empty where it makes none."""

    def stages(self, kept: Kept) -> Stages:
        """Do it: yields each stage before it begins, returns the result."""


@lru_cache(KEYS)
def key_of(piece: Piece) -> str:
    """The name of a piece: the same for the same content."""
    content = "\0".join([type(piece).__name__, *map(repr, astuple(piece))])  # type: ignore[call-overload]
    return sha256(content.encode("utf-8", "surrogatepass")).hexdigest()[:40]


class Kept:
    """The studies that were made last, for what is asked about the same rigs next."""

    def __init__(self, most: int = KEPT) -> None:
        self._most = most
        self._known: OrderedDict[tuple[str, str, str], tuple[Study, tuple[Finding, ...]]] = OrderedDict()
        self._next: list[Callable[[], object]] = []

    def study(
        self, text: str, name: str, own: str, total: int, done: int = 0
    ) -> Generator[Stage, None, tuple[Study, tuple[Finding, ...]]]:
        """The study of a text and its findings; :data:`STUDIED` stages of ``total``, ``done`` before them."""
        known = self._known.get((text, name, own))
        if known is None:
            from loomwright.findings.run import check
            from loomwright.rig.file import parse
            from loomwright.steps.plan import build_steps
            from loomwright.study import Study
            from loomwright.web.catalogues import read_with

            study = Study(parse(text, name, read_with(own)))
            for k, (words, part) in enumerate(PARTS):
                yield Stage(words, done + k, total)
                getattr(study, part)
            yield Stage("Findings", done + len(PARTS), total)
            known = (study, check(study))
            before = next((s for (_, n, o), (s, _) in reversed(self._known.items()) if (n, o) == (name, own)), None)
            ahead = before is not None and "loom" in before.__dict__ and _differ_in_lengths(study, before)
            self._next = [lambda: build_steps(study), lambda: study.loom] if ahead else []
        self._known[text, name, own] = known
        self._known.move_to_end((text, name, own))
        while len(self._known) > self._most:
            self._known.popitem(last=False)
        return known

    def go_on(self) -> bool:
        """While nobody waits: one part of what the pages of the last rig will ask for next. False when all is done.

        Nothing that takes long: a harness is made ahead where one was asked for before, and the boards stay as they
        are.
        """
        if self._next:
            self._next.pop()()
        return bool(self._next)


def _differ_in_lengths(one: Study, other: Study) -> bool:
    """True where two rigs have the same wires on the same boards, but for how long the wires are."""
    wires, others = ([(w.id, w.start, w.end, w.kind, w.size, w.route) for w in s.rig.wires] for s in (one, other))
    return wires == others and one.boards == other.boards


@dataclass(frozen=True, slots=True)
class Studied:
    """A rig worked out: study, findings and the usual diagram. Its result is an :class:`Outcome`."""

    text: str
    name: str
    own: str = ""

    @property
    def title(self) -> str:
        return "Study"

    @property
    def file(self) -> str:
        return ""

    def stages(self, kept: Kept) -> Stages:
        study, findings = yield from kept.study(self.text, self.name, self.own, STUDIED + 1)
        yield Stage("Diagram", STUDIED, STUDIED + 1)
        return Outcome(study, findings, _drawn(study, "cruise", "music", "power"))


@dataclass(frozen=True, slots=True)
class Drawn:
    """One view of the diagram for one case, as an ``svg`` element."""

    text: str
    name: str
    engine: EngineState
    programme: Programme
    view: View
    own: str = ""

    @property
    def title(self) -> str:
        return f"Diagram, engine {self.engine}, {self.programme}"

    @property
    def file(self) -> str:
        return ""

    def stages(self, kept: Kept) -> Stages:
        study, _ = yield from kept.study(self.text, self.name, self.own, STUDIED + 1)
        yield Stage("Diagram", STUDIED, STUDIED + 1)
        return _drawn(study, self.engine, self.programme, self.view)


@dataclass(frozen=True, slots=True)
class Ways:
    """Every way to wire some drivers to some channels: ``amp.ch1``, a bridged pair by its first channel."""

    text: str
    name: str
    drivers: tuple[str, ...]
    channels: tuple[str, ...]
    own: str = ""

    @property
    def title(self) -> str:
        return f"Ways to wire {len(self.drivers)} drivers"

    @property
    def file(self) -> str:
        return ""

    def stages(self, kept: Kept) -> Stages:
        from loomwright.sound.wiring_choices import choices

        study, _ = yield from kept.study(self.text, self.name, self.own, STUDIED + 1)
        yield Stage("Ways to wire", STUDIED, STUDIED + 1)
        places = [(c.rpartition(".ch")[0], int(c.rpartition(".ch")[2])) for c in self.channels]
        return choices(study.rig, self.drivers, places)


@dataclass(frozen=True, slots=True)
class Built:
    """The build, step by step. ``before`` is the text of the rig as found; empty where there is none that can be read.

    Its result is a :class:`Building`.
    """

    text: str
    name: str
    before: str
    own: str = ""

    @property
    def title(self) -> str:
        return "Build steps"

    @property
    def file(self) -> str:
        return ""

    def stages(self, kept: Kept) -> Stages:
        from loomwright.rig.file import parse
        from loomwright.steps.plan import build_steps
        from loomwright.web.catalogues import read_with
        from loomwright.web.work.build_sheets import drawn

        total = STUDIED + 3
        study, _ = yield from kept.study(self.text, self.name, self.own, total)
        yield Stage("Harness", STUDIED, total)
        _ = study.loom
        yield Stage("Steps", STUDIED + 1, total)
        before = parse(self.before, "as found", read_with(self.own)) if self.before else None
        plan = build_steps(study, before)
        yield Stage("Drawings", STUDIED + 2, total)
        return Building(plan, drawn(study), sha256(repr(plan).encode("utf-8", "surrogatepass")).hexdigest()[:16])


@dataclass(frozen=True, slots=True)
class Rig:
    """A rig on paper: its text and all that its pack says beside it. ``before`` is the text of an earlier stage,
    ``between`` text and name of rigs that come after that one and before this.
    """

    text: str
    name: str
    sheet: PaperSize
    length: Literal["mm", "in"] = "mm"
    temperature: Literal["C", "F"] = "C"
    own: str = ""
    spools: tuple[Spool, ...] | None = None
    before: str = ""
    before_name: str = ""
    between: tuple[tuple[str, str], ...] = ()

    @property
    def studied(self) -> int:
        """Stages that lie behind it once it has its studies."""
        return STUDIED * ((2 if self.before else 1) + len(self.between))

    def order(self, kept: Kept, total: int) -> Generator[Stage, None, Order]:
        """What to print; :attr:`studied` stages of ``total``."""
        from loomwright.papers.order import Order
        from loomwright.papers.units import Units

        earlier, done = None, 0
        if self.before:
            earlier = yield from kept.study(self.before, self.before_name, self.own, total)
            done = STUDIED
        between = []
        for text, name in self.between:
            found = yield from kept.study(text, name, self.own, total, done)
            between.append(found)
            done += STUDIED
        study, findings = yield from kept.study(self.text, self.name, self.own, total, done)
        digest = sha256(self.text.encode("utf-8", "surrogatepass")).hexdigest()
        shown = Units(self.length, self.temperature)
        return Order(study, findings, self.sheet, shown, earlier, self.spools, digest, tuple(between))


@dataclass(frozen=True, slots=True)
class Pack:
    """Every paper of a rig in one PDF."""

    rig: Rig

    @property
    def title(self) -> str:
        return "The pack"

    @property
    def file(self) -> str:
        return "pack.pdf"

    def stages(self, kept: Kept) -> Stages:
        from loomwright.papers import pack, paper

        begun, total = self.rig.studied, self.rig.studied + 3
        order = yield from self.rig.order(kept, total)
        yield Stage("Diagrams", begun, total)
        _ = order.diagrams
        yield Stage("Tables and charts", begun + 1, total)
        files = pack.files(order, pack.gather(order), whole=True)
        yield Stage("Setting the pages", begun + 2, total)
        return paper.pdf(files)


@dataclass(frozen=True, slots=True)
class PackPart:
    """One part of the pack as PDF. Empty where the rig has nothing for it."""

    rig: Rig
    part: str

    @property
    def title(self) -> str:
        from loomwright.papers import pack

        return pack.part(self.part).title

    @property
    def file(self) -> str:
        return f"{self.part}.pdf"

    def stages(self, kept: Kept) -> Stages:
        from loomwright.papers import pack

        begun, total = self.rig.studied, self.rig.studied + 1
        order = yield from self.rig.order(kept, total)
        yield Stage("Setting the pages", begun, total)
        return pack.one_part(order, self.part) or b""


@dataclass(frozen=True, slots=True)
class Compared:
    """Rigs side by side, each by its text and name. Its result: the comparison as data, and its picture as an ``svg``
    element, empty where there are no amplifiers.
    """

    rigs: tuple[tuple[str, str], ...]
    own: str = ""

    @property
    def title(self) -> str:
        return f"{len(self.rigs)} rigs side by side"

    @property
    def file(self) -> str:
        return ""

    def stages(self, kept: Kept) -> Stages:
        from loomwright.drawing import svg
        from loomwright.papers import compare
        from loomwright.papers.paper import plain

        total = STUDIED * len(self.rigs) + 1
        studies, found = [], []
        for n, (text, name) in enumerate(self.rigs):
            study, findings = yield from kept.study(text, name, self.own, total, STUDIED * n)
            studies.append(study)
            found.append(findings)
        yield Stage("Comparing", total - 1, total)
        drawn = compare.chart(studies, CHART_MM)
        picture = "" if drawn is None else svg.render(drawn, css_colours=True).partition("\n")[2]
        return plain(compare.gather(studies, found)), picture


@dataclass(frozen=True, slots=True)
class SingleLine:
    """The diagram as a sheet of paper: ``pdf``, ``svg`` or ``png``. Empty where the rig is too large to draw."""

    text: str
    name: str
    ending: str
    own: str = ""

    @property
    def title(self) -> str:
        return f"Diagram, {self.ending.upper()}"

    @property
    def file(self) -> str:
        return f"single_line.{self.ending}"

    def stages(self, kept: Kept) -> Stages:
        from loomwright.drawing import pages, single_line

        study, _ = yield from kept.study(self.text, self.name, self.own, STUDIED + 2)
        yield Stage("Diagram", STUDIED, STUDIED + 2)
        try:
            sheet = single_line.draw(study, study.rig.engine_states()[-1])
        except single_line.TooLarge:
            return b""
        yield Stage("Setting the sheet", STUDIED + 1, STUDIED + 2)
        return pages.content(sheet, self.ending)


def _drawn(study: Study, engine: EngineState, programme: Programme, view: View) -> str:
    from loomwright.web.picture import drawn

    return drawn(study.rig, view, study, engine, programme)
