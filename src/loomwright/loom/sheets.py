"""The loom as tables for a spreadsheet: cut list, bundles, pinouts, ring-out, labels, cutting plan."""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.facts import colours
from loomwright.loom.cut_plan import CutPlan
from loomwright.loom.labels import csv_text
from loomwright.loom.results import LoomResult
from loomwright.loom.shopping import Buy, Consumable


def tables(
    loom: LoomResult, plan: CutPlan | None, buys: Sequence[Buy], small: Sequence[Consumable]
) -> dict[str, str]:
    """CSV by file name, in reading order."""
    out = {
        "cut_list.csv": cut_list(loom),
        "bundles.csv": bundles(loom),
        "pinouts.csv": pinouts(loom),
        "ring_out.csv": ring_out(loom),
        "labels.csv": labels(loom),
    }
    if plan is not None:
        out["cutting_plan.csv"] = cutting_plan(plan)
    out["shopping.csv"] = shopping(buys, small)
    return out


def cut_list(loom: LoomResult) -> str:
    """One row for each wire: what to cut, how to end it."""
    head = (
        "wire", "from", "to", "carries", "size", "metal", "insulation_c", "colour", "colour in words", "cut_mm",
        "length_mm", "slack_mm", "length from", "runs", "end at from", "strip_mm", "pull_n", "shrink", "shrink_mm",
        "end at to", "strip_mm", "pull_n", "shrink", "shrink_mm",
    )  # fmt: skip
    rows = []
    for w in loom.wires:
        ends: list[object] = []
        for e in w.ends:
            pull = None if e.pull_n is None else round(e.pull_n)
            ends += [e.end if e.fits else f"does not fit: {e.end}", e.strip_mm, pull, e.shrink, e.shrink_mm or None]
        rows.append([
            w.id, w.start, w.end, w.kind, w.size, w.metal, w.insulation_c, w.colour, colours.words(w.colour), w.cut_mm,
            w.length_mm, w.slack_mm, w.length_from, " ".join(map(str, w.runs)), *ends,
        ])  # fmt: skip
    return csv_text(head, rows)


def bundles(loom: LoomResult) -> str:
    """One row for each run that holds a wire."""
    head = (
        "run", "from", "to", "length_mm", "wires", "diameter_mm", "covered_mm", "covers", "grommet bore_mm", "hole_mm",
        "hole there_mm", "largest connector", "hole for it_mm", "loaded wires", "derating", "mass_g", "bend radius_mm",
        "support_mm", "ties",
    )  # fmt: skip
    rows = [
        [
            b.run, *b.between, b.length_mm, " ".join(b.wires), round(b.diameter_mm, 1), round(b.covered_mm, 1),
            ", ".join(b.covers), b.grommet_mm, round(b.hole_mm, 1), b.hole_there_mm, b.connector,
            None if b.connector_mm is None else round(b.connector_mm, 1), b.loaded, b.derating, round(b.mass_g),
            round(b.bend_mm), b.support_mm, b.ties,
        ]
        for b in loom.bundles
    ]  # fmt: skip
    return csv_text(head, rows)


def pinouts(loom: LoomResult) -> str:
    """One row for each contact of each connector."""
    head = ("connector", "place", "key", "contact", "a wire", "a colour", "b wire", "b colour", "carries", "amps_a",
            "may carry_a", "live when parted", "sockets on")  # fmt: skip
    rows = [
        [
            d.id, d.place, d.key if d.keyings > 1 else None, c.number, c.a_wire, c.a_colour, c.b_wire, c.b_colour,
            c.kind or "spare", round(c.amps_a, 2), round(d.usable_a, 2), " ".join(d.live), d.sockets,
        ]
        for d in loom.disconnects
        for c in d.contacts
    ]  # fmt: skip
    return csv_text(head, rows)


def ring_out(loom: LoomResult) -> str:
    """Three parts one under the other: what must connect, each net against the rest, polarity. With room to fill in."""
    head = ("part", "order", "from", "to", "wires", "expected_mohm", "most_mohm", "measured", "passed")
    sheet = loom.ring_out
    rows: list[list[object]] = [
        ["must connect", j.order, j.a, j.b, " ".join(j.wires), round(j.expected_mohm, 2), round(j.most_mohm, 2), "", ""]
        for j in sheet.joined
    ]
    rows += [
        ["must not connect", n, p, "all other nets tied together", "", "", "", "", ""]
        for n, p in enumerate(sheet.one_against_rest, 1)
    ]
    for n, p in enumerate(sheet.polarity, 1):
        to = "nothing drives it" if p.right is None else f"{p.plus_on} on +, {p.minus_on} on -"
        rows.append(["polarity", n, p.driver, to, "" if p.right is None else "right" if p.right else "reversed",
                     "", "", "", ""])  # fmt: skip
    return csv_text(head, rows)


def labels(loom: LoomResult) -> str:
    """Two rows for each wire: the label at each end."""
    rows = [
        [w.id, at, *text.split("\n")]
        for w in loom.wires
        for at, text in zip((w.start, w.end), w.labels, strict=True)
    ]
    return csv_text(("wire", "at", "line 1", "line 2", "line 3"), rows)


def cutting_plan(plan: CutPlan) -> str:
    """One row for each opened spool, then what no spool gives."""
    rows: list[list[object]] = [
        [c.spool, c.length_mm, " ".join(c.wires), c.used_mm, c.remnant_mm] for c in plan.cuts
    ]
    rows += [["to buy", "", p.wire, p.length_mm, ""] for p in plan.missing]
    return csv_text(("spool", "length_mm", "wires, longest first", "used_mm", "remnant_mm"), rows)


def shopping(buys: Sequence[Buy], small: Sequence[Consumable]) -> str:
    """Wire to buy, then small parts."""
    rows: list[list[object]] = [
        [f"{b.size} {b.metal}, {b.insulation_c} C, {b.colour}{', screened' if b.screened else ''}", b.reels, b.buy_mm,
         " ".join(b.wires)] for b in buys
    ]  # fmt: skip
    rows += [[c.what, c.count, c.length_mm, ""] for c in small]
    return csv_text(("what", "count", "length_mm", "for wires"), rows)
