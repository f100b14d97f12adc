"""The first parts of the pack and the last: cautions, summary, before and after, findings, diagrams, sources."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from loomwright.drawing import volts_chart
from loomwright.drawing.figures import rating
from loomwright.papers import compare, power_tables, protection_tables
from loomwright.papers.cautions import DEFER, cautions
from loomwright.papers.cells import Column, Value, table
from loomwright.papers.order import Content, Order
from loomwright.papers.paper import finding, heading
from loomwright.papers.sources import by_source, used
from loomwright.study import Study

_URGENT_MOST = 10  # findings named in the summary


def cautions_part(order: Order) -> Content:
    """The cautions that apply to this vehicle, and what the signs mean."""
    signs = [{"severity": c["severity"], "means": c["means"]} for c in heading(order.study, order.findings)["counts"]]
    data = {"cautions": [{"head": c.head, "text": c.text} for c in cautions(order.study.rig)], "defer": DEFER}
    return Content({**data, "signs": signs})


def summary(order: Order) -> Content:
    """Verdict, key figures, what is urgent, volts, and what is in the vehicle."""
    study = order.study
    urgent = [finding(f) for f in order.findings if f.severity != "Know"]
    head = heading(study, order.findings)
    chart = volts_chart.draw(study, order.width_mm)
    data = {
        "counts": head["counts"], "verdict": head["verdict"], "notes": head["notes_short"],
        "keys": power_tables.key_figures(study), "faults": len(study.protection.drill),
        "verdicts": protection_tables.verdict_counts(study), "urgent": urgent[:_URGENT_MOST],
        "urgent_left": max(0, len(urgent) - _URGENT_MOST),
        "volts_chart": "" if chart is None else "volts.svg",
    }  # fmt: skip
    return Content(data, {} if chart is None else {"volts.svg": chart})


def equipment(study: Study) -> dict[str, object]:
    """Every item: what it is, where it sits, its fuses."""
    rows: list[list[Value]] = [
        [i.id, i.part.title + (" (invented)" if i.part.demo else ""), i.place, ", ".join(_ratings(i.fuses_a))]
        for i in study.rig.items.values()
    ]
    columns = (Column("Item", share=0.5, strong=True), Column("What it is", share=1.0), Column("Place", share=0.4),
               Column("Fuses", share=0.4))  # fmt: skip
    return table(columns, rows)


def _ratings(fuses_a: Sequence[float | str]) -> list[str]:
    return ["empty" if f == 0 else f if isinstance(f, str) else rating(f) for f in fuses_a]


def before_and_after(order: Order) -> Content | None:
    """Before and after, side by side; None where no earlier stage is given."""
    if order.before is None:
        return None
    stages = (order.before, *order.between, (order.study, order.findings))
    studies, found = [s for s, _ in stages], [f for _, f in stages]
    chart = compare.chart(studies, order.width_mm)
    return Content(compare.gather(studies, found), {} if chart is None else {compare.CHART: chart})


def findings_part(order: Order) -> Content:
    """Every finding, in order of urgency."""
    return Content({"findings": [finding(f) for f in order.findings]})


def diagrams(order: Order) -> Content:
    """Every drawing on a sheet of its own size; those of one size that follow each other are one run of pages."""
    drawn = order.diagrams
    pictures = {f"sheet{k}.svg": s.drawing for k, s in enumerate(drawn, 1)}
    named = [(s, {"id": s.id, "file": file, "title": s.title}) for s, file in zip(drawn, pictures, strict=True)]
    runs = [
        {"width_mm": width, "height_mm": height, "sheets": [about for _, about in same]}
        for (width, height), same in groupby(named, lambda n: (n[0].drawing.width_mm, n[0].drawing.height_mm))
    ]
    note = "No diagram: there is nothing to draw, or the rig has more items than a sheet can show."
    return Content({"runs": runs, "note": note}, pictures)


def sources(order: Order) -> Content:
    """Where the figures come from, what rests on memory first."""
    study = order.study
    rows = by_source(used(study.rig, {d.type for d in study.protection.devices.values()}))
    columns = (Column("Mark", strong=True), Column("Source", share=1.2), Column("Figures", share=1.6))
    head = heading(study, order.findings)
    notes = "" if head["notes"] == head["notes_short"] else head["notes"]
    return Content({"equipment": equipment(study), "sources": table(columns, rows), "notes": notes})
