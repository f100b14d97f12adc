"""The parts of the pack about the harness: wires, bundles, pinouts, cutting, shopping, labels, ring-out."""

from __future__ import annotations

from loomwright.drawing import faces
from loomwright.drawing.figures import NOTHING, three, unit
from loomwright.loom.results import LoomResult
from loomwright.loom.shopping import consumables, wire_to_buy
from loomwright.papers import labels as label_sheets
from loomwright.papers import loom_tables
from loomwright.papers.cells import Column, table
from loomwright.papers.order import Content, Order

LABEL_MM = (43.0, 18.0)
"""A label in the pack: four across."""


def wires(order: Order) -> Content | None:
    """The wire list."""
    groups = loom_tables.wires(order.study)
    return Content({"groups": groups}) if groups else None


def bundles(order: Order) -> Content | None:
    """Bundles and runs."""
    loom = order.study.loom
    if not loom.bundles:
        return None
    crossings = [
        f"At {c.place} line leads ({', '.join(c.line)}) and feeds ({', '.join(c.feeds)}) meet: cross at right angles."
        for c in loom.crossings
    ]
    return Content({"bundles": loom_tables.bundles(loom.bundles), "crossings": crossings})


def pinouts(order: Order) -> Content | None:
    """Every connector from both sides."""
    cards = faces.cards(order.study)
    pictures = {f"face{k}.svg": card for k, (_, card) in enumerate(cards, 1)}
    words = [
        f"{d.spare} spare: close with blind plugs where it is sealed." if d.spare else ""
        for d in order.study.loom.disconnects
    ]
    connectors = [
        {"id": i, "file": file, "words": said} for (i, _), file, said in zip(cards, pictures, words, strict=True)
    ]
    return Content({"connectors": connectors, "notes": list(faces.NOTES)}, pictures) if cards else None


def cutting(order: Order) -> Content | None:
    """The cutting plan over the spools in stock."""
    if not order.pieces:
        return None
    plan = order.plan
    if plan is None:
        words = "No stock of wire is given: all of it is on the shopping list. Cut the longest first."
        return Content({"plan": None, "note": words, "missing": ""})
    proven = "proven: no plan opens less" if plan.proven else "good, not proven to be the best"
    opened = unit(three(plan.opened_mm / 1000.0), "m")
    note = (
        f"{sum(len(c.wires) for c in plan.cuts)} of {len(order.pieces)} wires come from {len(plan.cuts)} spools, "
        f"{opened} opened; {proven}. Cut in the order of each row, longest first; write on the spool what is left."
    )
    missing = f"Not in stock, to buy: {', '.join(p.wire for p in plan.missing)}." if plan.missing else ""
    return Content({"plan": loom_tables.cutting(plan), "note": note, "missing": missing})


def shopping(order: Order) -> Content | None:
    """What to buy."""
    if not order.pieces:
        return None
    buys = wire_to_buy(order.pieces if order.plan is None else order.plan.missing)
    small = consumables(order.study.rig, order.study.loom)
    return Content({
        "wire": loom_tables.to_buy(buys), "small": loom_tables.small_parts(small),
        "fuses": loom_tables.fuses(order.study),
    })  # fmt: skip


def labels(order: Order) -> Content | None:
    """Both labels of every wire, at true size."""
    texts = loom_tables.label_texts(order.study.loom.wires)
    if not texts:
        return None
    columns = int(order.width_mm / LABEL_MM[0] + 1e-9)
    return Content({
        "labels": texts, "columns": columns, "label_mm": LABEL_MM, "size_pt": label_sheets.size_pt(texts, LABEL_MM),
    })  # fmt: skip


def ring_out(order: Order) -> Content | None:
    """What must connect, what must not, how each loudspeaker is wired; with room for what is measured."""
    loom = order.study.loom
    sheet = loom.ring_out
    if not sheet.joined:
        return None
    joined = table(
        (
            Column("", "", True), Column("From", share=1.0, strong=True), Column("To", share=1.0, strong=True),
            Column("By way of", share=0.8), Column("Expected", "mΩ", True), Column("At most", "mΩ", True),
            Column("Measured", "mΩ"),
        ),
        [
            [str(j.order), j.a, j.b, ", ".join(j.wires), j.expected_mohm, j.most_mohm, ""] for j in sheet.joined
        ],
    )  # fmt: skip
    return Content({
        "joined": joined, "apart": _apart(loom), "apart_note": _apart_note(loom), "polarity": _polarity(loom),
    })  # fmt: skip


def _apart(loom: LoomResult) -> dict[str, object]:
    columns = (Column("", "", True), Column("Against all others tied together", share=1.0, strong=True),
               Column("Measured, over 1 MΩ"))  # fmt: skip
    return table(columns, [[str(n), p, ""] for n, p in enumerate(loom.ring_out.one_against_rest, 1)])


def _apart_note(loom: LoomResult) -> str:
    pairs = len(loom.ring_out.apart)
    words = (
        f"Tie all nets together but the one under test: each of {len(loom.ring_out.one_against_rest)} tests "
        f"then covers all its neighbours, {pairs} pairs in all."
    )
    worst = loom.ring_out.apart[0] if loom.ring_out.apart else None
    return f"{words} Most likely to touch: {worst.a} and {worst.b} ({worst.why})." if worst else words


def _polarity(loom: LoomResult) -> dict[str, object]:
    columns = (Column("Loudspeaker", share=0.8, strong=True), Column("Channel"), Column("Its plus is on", share=1.0),
               Column("In the rig"), Column("Cone moved"))  # fmt: skip
    return table(columns, [
        [p.driver, p.channel or NOTHING, p.plus_on or NOTHING,
         "nothing drives it" if p.right is None else "right" if p.right else "reversed", ""]
        for p in loom.ring_out.polarity
    ])  # fmt: skip
