"""What is to be printed, and what a part of the pack is made of."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

from loomwright.drawing import layout
from loomwright.drawing.frame import large
from loomwright.drawing.marks import Sheet
from loomwright.drawing.sheets import Sheet as Diagram
from loomwright.drawing.sheets import with_boards
from loomwright.findings.model import Finding
from loomwright.findings.run import check
from loomwright.loom.cut_plan import CutPlan, Piece, pieces, plan
from loomwright.loom.stock_file import Spool
from loomwright.papers.paper import MARGINS_MM, PAPERS, PaperSize
from loomwright.papers.units import METRIC, Units
from loomwright.steps.plan import build_steps
from loomwright.steps.results import BuildPlan
from loomwright.study import Study

if TYPE_CHECKING:
    from concurrent.futures import Future

    from loomwright.advice.chances import Chances
    from loomwright.advice.equipment import Position
    from loomwright.advice.results import Help


@dataclass(frozen=True, slots=True)
class Advice:
    """What the advice says of a rig; ``chances`` is None where nothing holds that could be drawn."""

    help: Help
    amplifiers: tuple[Position, ...]
    chances: Chances | None


@dataclass(frozen=True)
class Order:
    """A study, and how it is wanted on paper.

    ``found`` are its findings where they are known already; ``before`` an earlier stage with its findings, ``between``
    any that come after that one and before this; ``spools`` the wire in stock, None where nobody has said what there
    is; ``digest`` the SHA-256 of the rig file; ``advice`` what would help, where somebody has asked; ``begun`` the
    drawings, where somebody has begun with them.
    """

    study: Study
    found: Sequence[Finding] | None = None
    paper: PaperSize = "a4"
    units: Units = METRIC
    before: tuple[Study, Sequence[Finding]] | None = None
    spools: tuple[Spool, ...] | None = None
    digest: str = ""
    between: tuple[tuple[Study, Sequence[Finding]], ...] = ()
    advice: Advice | None = None
    begun: Future[tuple[Diagram, ...]] | None = None

    @property
    def width_mm(self) -> float:
        """Width of the text [mm]."""
        return PAPERS[self.paper][0] - MARGINS_MM

    @cached_property
    def findings(self) -> Sequence[Finding]:
        """What the checks found, in order of urgency."""
        return check(self.study) if self.found is None else self.found

    @cached_property
    def pieces(self) -> tuple[Piece, ...]:
        """What is to be cut."""
        return pieces(self.study.loom.wires)

    @cached_property
    def plan(self) -> CutPlan | None:
        """The cutting plan over the spools; None where no stock is known."""
        return None if self.spools is None else plan(self.pieces, self.spools)

    @cached_property
    def diagrams(self) -> tuple[Diagram, ...]:
        """Every drawing of the rig and its panels, but the faces of connectors, on the large sheet of the paper."""
        return with_boards(self.study, large(self.paper)) if self.begun is None else self.begun.result()

    def draw(self) -> None:
        """Have the drawings made: the layout engine is slow, and needs no time of other threads."""
        layout.warm()
        _ = self.diagrams

    @cached_property
    def steps(self) -> BuildPlan:
        """The build, step by step; where the stage before is known, what is there already is kept or taken out."""
        return build_steps(self.study, None if self.before is None else self.before[0].rig)


@dataclass(frozen=True, slots=True)
class Content:
    """Data of a part, in metric units, and its pictures by file name."""

    data: Mapping[str, Any]
    pictures: Mapping[str, Sheet] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the pack. ``name`` is that of its file and its template; ``gather`` gives None where there is none."""

    name: str
    title: str
    what: str
    gather: Callable[[Order], Content | None]
