"""The sound chapter of the report: its tables and its pictures."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from loomwright.drawing import impedance_chart, join_drawing, level_diagram, switch_timeline
from loomwright.drawing.figures import three, unit
from loomwright.drawing.marks import Sheet
from loomwright.facts.loudspeakers import spread_pct
from loomwright.papers import sound_tables
from loomwright.papers.cells import Column, Value, table
from loomwright.sound.sheet import ChannelSheet, SoundSheet, sheet
from loomwright.sound.tolerance import DRAWS, study_tolerance
from loomwright.sound.wiring_results import WiringChoices
from loomwright.study import Study

_ALIKE_SHARE, _ALIKE_DEG = 0.02, 2.0
_CHOICES_MOST = 6  # ways to wire in one table


def chapter(study: Study, width_mm: float) -> tuple[dict[str, Any], dict[str, Sheet]] | None:
    """Data and pictures by file name; None where a rig has no channel with anything on it and nothing to switch."""
    found = sheet(study.sound, study.rig)
    if not found.channels and not found.unfed and not found.budgets:
        return None
    pictures: dict[str, Sheet] = {}
    first = found.loudness[0].distance_m if found.loudness else 0.0
    settled = _grouped([c for c in found.channels if c.levels], _same_levels)
    data = {
        "loads": sound_tables.loads(found),
        "unfed": ", ".join(found.unfed),
        "impedances": _impedances(found, width_mm, pictures),
        "outputs": sound_tables.outputs(found),
        "claims": sound_tables.claims(found),
        "drivers": sound_tables.drivers(found),
        "crossovers": sound_tables.crossovers(found),
        "stresses": sound_tables.stresses(found),
        **_tolerances(study, found),
        "leads": sound_tables.leads(found),
        "choices": [_choice(c.choices, k, pictures) for k, c in enumerate(found.channels) if c.choices],
        "levels": sound_tables.levels(settled),
        "diagrams": _diagrams(settled, width_mm, pictures),
        "steps": sound_tables.steps(found),
        "inputs": [sound_tables.speaker_input(i) for i in found.speaker_inputs],
        "loudness": sound_tables.loudness(found),
        "loudness_title": f"Level at {unit(three(first), 'm')}",
        "cautions": list(found.cautions),
        "budgets": sound_tables.budgets(found),
        "turns": _turns(found, width_mm, pictures),
    }
    return data, pictures


def _grouped(
    channels: Sequence[ChannelSheet], alike: Callable[[ChannelSheet, ChannelSheet], bool]
) -> list[list[ChannelSheet]]:
    """Channels that look the same, together; each group by its first."""
    groups: list[list[ChannelSheet]] = []
    for channel in channels:
        group = next((g for g in groups if alike(g[0], channel)), None)
        if group is None:
            groups.append([channel])
        else:
            group.append(channel)
    return groups


def _impedances(found: SoundSheet, width_mm: float, pictures: dict[str, Sheet]) -> list[dict[str, str]]:
    shown = []
    for k, group in enumerate(_grouped([c for c in found.channels if c.impedance_ohm], _same_load)):
        drawn = impedance_chart.draw(group[0], found.frequency_hz, width_mm, 30.0)
        if drawn is not None:
            shown.append(_picture(pictures, f"load{k}.svg", drawn, group))
    return shown


def _same_load(a: ChannelSheet, b: ChannelSheet) -> bool:
    if a.channel.partition(".")[0] != b.channel.partition(".")[0] or a.nominal_ohm != b.nominal_ohm:
        return False
    size = np.abs(np.asarray(a.impedance_ohm) / np.asarray(b.impedance_ohm) - 1.0)
    turn = np.abs(np.asarray(a.impedance_deg) - np.asarray(b.impedance_deg))
    return bool(np.all(size <= _ALIKE_SHARE) and np.all(turn <= _ALIKE_DEG))


def _diagrams(
    groups: Sequence[Sequence[ChannelSheet]], width_mm: float, pictures: dict[str, Sheet]
) -> list[dict[str, str]]:
    return [
        _picture(pictures, f"levels{k}.svg", level_diagram.draw(group[0].levels, width_mm), group)
        for k, group in enumerate(groups)
        if group[0].levels is not None
    ]


def _same_levels(a: ChannelSheet, b: ChannelSheet) -> bool:
    """Alike from point to point, on one amplifier."""
    if a.levels is None or b.levels is None or a.channel.partition(".")[0] != b.channel.partition(".")[0]:
        return False
    if len(a.levels.points) != len(b.levels.points):
        return False
    pairs = [(a.levels.gain.set_v, b.levels.gain.set_v)]
    pairs += [(p.peak_v, q.peak_v) for p, q in zip(a.levels.points, b.levels.points, strict=True)]
    return all(abs(q - p) <= _ALIKE_SHARE * p for p, q in pairs)


def _picture(pictures: dict[str, Sheet], file: str, drawn: Sheet, group: Sequence[ChannelSheet]) -> dict[str, str]:
    pictures[file] = drawn
    return {"file": file, "name": group[0].channel, "alike": ", ".join(c.channel for c in group[1:])}


def _tolerances(study: Study, found: SoundSheet) -> dict[str, Any]:
    """How far each passive crossover may be off, over many draws of its parts and voice coils."""
    columns = (
        Column("Channel", strong=True), Column("Least load", "Ω", True), Column("from", "Ω", True),
        Column("to", "Ω", True), Column("Driver", share=1.0), Column("−3 dB, rising", "Hz", True),
        Column("from", "Hz", True), Column("to", "Hz", True),
    )  # fmt: skip
    rows: list[list[Value]] = []
    for c in found.channels:
        if not any(r.filtered for r in c.responses):
            continue
        item, _, name = c.channel.partition(".ch")
        bands = study_tolerance(study.rig, item, int(name.partition("+")[0]))
        if bands is None:
            continue
        spread = bands.spread()
        low, middle, high = spread.least_ohm
        for n, name in enumerate(bands.drivers):
            first: list[Value] = ["", "", "", ""] if n else [c.channel, middle, low, high]
            rose = spread.rises_hz.get(name, (None, None, None))
            rows.append([*first, name, rose[1], rose[0], rose[2]])
    note = (
        f"{DRAWS} draws: parts within their tolerance, voice coils within ±{spread_pct('coil_resistance'):g} %. "
        "From and to: nine draws in ten lie between."
    )
    return {"tolerances": table(columns, rows), "tolerance_note": note}


def _choice(choices: WiringChoices, k: int, pictures: dict[str, Sheet]) -> dict[str, Any]:
    columns = (
        Column("Way", share=1.2, strong=True), Column("Load", "Ω", True), Column("Least", "Ω", True),
        Column("Apart", "dB", True), Column("Verdict", share=1.2),
    )  # fmt: skip
    rows: list[list[Value]] = []
    for a in choices.arrangements[:_CHOICES_MOST]:
        joined = a.channels[0]
        verdict = "; ".join(a.refused or a.remarks) or ("the best" if a is choices.best else "fine")
        rows.append([a.words, joined.nominal_ohm, joined.least_ohm, f"{a.balance_db:.1f}", verdict])
    made = {"title": f"{', '.join(choices.drivers)} on {', '.join(choices.channels)}", "table": table(columns, rows),
            "file": "", "width_mm": 0.0}  # fmt: skip
    if choices.best is not None:
        drawn = join_drawing.draw(choices.best)
        pictures[f"join{k}.svg"] = drawn
        made |= {"file": f"join{k}.svg", "width_mm": drawn.width_mm}
    return made


def _turns(found: SoundSheet, width_mm: float, pictures: dict[str, Sheet]) -> list[dict[str, Any]]:
    turns = []
    for timeline in (found.switching.on, found.switching.off):
        drawn = switch_timeline.draw(timeline, None, width_mm)
        if drawn is None:
            continue
        pictures[f"switch_{timeline.turn}.svg"] = drawn
        turns.append({
            "title": f"Switched {timeline.turn}", "file": f"switch_{timeline.turn}.svg",
            "thumps": sound_tables.thumps(timeline), "events": sound_tables.events(timeline),
        })  # fmt: skip
    return turns
