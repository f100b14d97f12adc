"""The build steps in the terminal: stage by stage, each step with what it needs and what it must read."""

from __future__ import annotations

from rich.console import Console
from rich.padding import Padding

from loomwright.cli.terminal import cell, heading, note, put
from loomwright.drawing.figures import three
from loomwright.steps.results import PHASES, BuildPlan, Step
from loomwright.steps.words import expected

TITLES = {
    "isolate": "Isolate", "take out": "Mark and take out", "panel": "Panel", "make": "Make the harness",
    "ring out": "Ring out", "fit": "Fit", "protect": "Protect", "power up": "Power up", "set": "Set", "prove": "Prove",
}  # fmt: skip


def show(on: Console, plan: BuildPlan) -> None:
    """Print every step."""
    for phase in PHASES:
        mine = [s for s in plan.steps if s.phase == phase]
        if mine:
            heading(on, TITLES[phase])
        for step in mine:
            _step(on, step)
    on.print()
    note(on, f"{len(plan.steps)} steps, {len(plan.gates)} signed by a second person, {_hours(plan)}.")
    note(on, "Makers' instructions, local codes and licensed practice come first.")


def _step(on: Console, step: Step) -> None:
    def line(text: str, style: str = "") -> None:
        put(on, Padding(cell(text, style), (0, 0, 0, 3)))

    put(on, cell(f"{step.number}. {step.title}", "bold"))
    for text in step.text:
        line(text)
    for c in step.cautions:
        line(f"Caution: {c.head} {c.text}", "yellow")
    for t in step.torques:
        line(f"Torque at {t.where}: {t.said}.")
    for m in step.measures:
        line(f"Measure {m.what}: {expected(m, three, f' {m.unit}')}.")
    for what, names in (("Tools", step.tools), ("Takes", step.consumables)):
        if names:
            line(f"{what}: {', '.join(names)}.", "dim")
    line(f"{step.time.least_min:g} to {step.time.most_min:g} min, {step.time.mark}.", "dim")
    if step.gate:
        line(f"A second person signs: {step.gate}", "bold")


def _hours(plan: BuildPlan) -> str:
    return f"{plan.least_min / 60.0:.0f} to {plan.most_min / 60.0:.0f} h for one person"
