"""What a draft says: frozen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from loomwright.findings.model import Finding
from loomwright.rig.model import Rig


@dataclass(frozen=True, slots=True)
class Choice:
    """One choice of the draft: what it is about, what was chosen, why, and what else was looked at."""

    where: str
    chosen: str
    why: str
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Proof:
    """What an optimum was proven over.

    ``designs`` are layouts of devices and blocks, ``combinations`` all joint choices of sizes, ratings and plugs in
    them; ``solved`` of these were solved by the network, the others ruled out by bounds. ``over`` says it in words.
    """

    proven: bool
    objective: str
    designs: int
    combinations: int
    solved: int
    over: str


@dataclass(frozen=True, slots=True)
class Alternative:
    """One finished rig: its file, and what it costs and gains.

    ``copper_g`` is the metal of the drafted power and ground wires. ``price`` is None where the catalogue has none.
    ``volts_v`` are those at each amplifier in the case of the wish, ``lowest_v`` the least of them; ``drop_v`` is the
    most that is lost between battery and an amplifier at `loud`.
    """

    name: str
    text: str
    rig: Rig
    copper_g: float
    price: float | None
    volts_v: Mapping[str, float]
    lowest_v: float
    drop_v: float
    findings: tuple[Finding, ...]
    choices: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class Demand:
    """One demand that was given up to find what stands in the way: its name, and what it asks for in words."""

    key: str
    words: str


@dataclass(frozen=True, slots=True)
class Conflict:
    """Demands that cannot be met together; without any one of them, the others can.

    ``reasons`` give the arithmetic.
    """

    demands: tuple[Demand, ...]
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DraftResult:
    """What came of a list: finished rigs, best first, or the conflict that stands in the way."""

    title: str
    file: str
    alternatives: tuple[Alternative, ...]
    proof: Proof | None
    conflict: Conflict | None
    notes: tuple[str, ...] = field(default=())

    @property
    def best(self) -> Alternative | None:
        return self.alternatives[0] if self.alternatives else None
