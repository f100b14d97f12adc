"""The build steps as a part of the pack."""

from __future__ import annotations

from typing import Any

from loomwright.drawing.figures import MINUS, NOTHING, unit
from loomwright.findings.words import num
from loomwright.papers.order import Content, Order
from loomwright.steps.results import PHASES, Measure, Phase, Step

_HEADS: dict[Phase, str] = {
    "isolate": "Isolate", "take out": "Take out and mark", "panel": "Panel and parts", "make": "Make the harness",
    "ring out": "Ring out", "fit": "Fit", "protect": "Protect", "power up": "Power up", "set": "Set", "prove": "Prove",
}  # fmt: skip
_UNITS = {"mOhm": "mΩ"}
_PARAGRAPH = 4
"""So many sentences are read as one paragraph; of more, each is a line of its own."""
_COLUMNS = ((3, 30), (2, 52))
"""Columns of lines, and the longest line in letters that goes into one."""


def part(order: Order) -> Content | None:
    """Every step in the order of doing, by phase, with room to tick, to measure and to sign."""
    plan = order.steps
    if not plan.steps:
        return None
    cautions = {c.id: {"head": c.head, "text": c.text} for s in plan.steps for c in s.cautions}
    hours = f"{_num(plan.least_min / 60.0)} to {unit(_num(plan.most_min / 60.0), 'h')}"
    return Content({
        "cautions": list(cautions.values()),
        "phases": [
            {"title": _HEADS[phase], "steps": [_step(s) for s in plan.steps if s.phase == phase]}
            for phase in PHASES
            if any(s.phase == phase for s in plan.steps)
        ],
        "about": f"{len(plan.steps)} steps, {len(plan.gates)} of them with a second signature. One person with the "
        f"tools at hand: {hours}, by bench times in the trade.",
    })  # fmt: skip


def _step(s: Step) -> dict[str, Any]:
    lists = (
        ("Tools", ", ".join(s.tools)), ("Takes", ", ".join(s.consumables)),
        ("Torque", "; ".join(f"{t.where} {t.thread} {t.said}".replace("  ", " ") for t in s.torques)),
    )  # fmt: skip
    return {
        "number": s.number, "title": s.title, "energises": s.energises, "gate": s.gate,
        "time": f"{_num(s.time.least_min)} to {unit(_num(s.time.most_min), 'min')}",
        **_to_do(s), "lists": [{"head": head, "text": text} for head, text in lists if text],
        "cautions": " ".join(c.head for c in s.cautions), "measures": [_measure(m) for m in s.measures],
    }  # fmt: skip


def _to_do(s: Step) -> dict[str, Any]:
    """What is done: as one paragraph, or line by line with a box to tick each, in columns where lines are short."""
    if not s.makes and len(s.text) <= _PARAGRAPH:
        return {"text": " ".join(s.text), "lines": [], "columns": 1}
    longest = max(map(len, s.text))
    columns = next((n for n, most in _COLUMNS if longest <= most), 1)
    return {"text": "", "lines": [_line(s, t) for t in s.text], "columns": columns}


def _line(s: Step, text: str) -> dict[str, str]:
    """One line: the wire that it is about, and what to do."""
    wire = next((w for w in s.makes if text.startswith(f"{w}: ")), "")
    return {"wire": wire, "do": text.removeprefix(f"{wire}: ") if wire else text}


def _measure(m: Measure) -> dict[str, str]:
    name = _UNITS.get(m.unit, m.unit)
    passes = NOTHING
    if m.high is not None:
        high = unit(_num(m.high), name)
        passes = f"{_num(m.low)} to {high}" if m.low else f"at most {high}"
    elif m.low is not None:
        passes = f"at least {unit(_num(m.low), name)}"
    expected = NOTHING if m.expected is None else unit(_num(m.expected), name)
    return {"what": m.what, "how": m.how, "expected": expected, "passes": passes}


def _num(value: float) -> str:
    return num(value).replace("-", MINUS)
