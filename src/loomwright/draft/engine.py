"""The draft from end to end: the cheapest rig with alternatives, or which demands stand in the way."""

from __future__ import annotations

from dataclasses import replace

from loomwright.draft import search, speakers
from loomwright.draft.conflicts import conflict
from loomwright.draft.equipment import EquipmentList
from loomwright.draft.layup import Checked, Layup
from loomwright.draft.results import Alternative, Choice, DraftResult
from loomwright.draft.solving import Say, Solved, Tried, quiet, solve
from loomwright.power.amplifier import supply_w
from loomwright.rig.model import AmplifierSpec, ChargerSpec, Rig

FULL_V = 13.5
"""Volts at which an amplifier's full draw is told."""


def draft(given: EquipmentList, most: int = 3, say: Say = quiet) -> DraftResult:
    """Finished rigs for a list, the cheapest first; or which demands cannot be met together.

    Raises
    ------
    InputError
        Where the list wants a run between two places.
    """
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
                f"({full:g} W / {spec.efficiency_full:g} / {FULL_V:g} V); the charging system gives {most:.0f} A at "
                "most: what is missing comes out of the battery."
            )
    return tuple(notes)
