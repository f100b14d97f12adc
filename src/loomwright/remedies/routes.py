"""Remedies that put a cover on a run or on a wire."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from loomwright.facts import workmanship
from loomwright.findings.covers import SHEATHS, sheathed, unanswered
from loomwright.findings.feeds import POST_SHEATHED_MM, SHEATHED_MM, law_binds, leads
from loomwright.findings.model import Finding
from loomwright.findings.words import listing
from loomwright.protection.graph import is_bolted
from loomwright.remedies.model import Remedy, makes
from loomwright.remedies.stock import Stock
from loomwright.rig.changes import RunKey, WireKey
from loomwright.rig.model import Wire

TUBE = SHEATHS[1]
"""The sheath that goes over a wire that lies already: it is slit along its length."""


@makes("E512")
def answer_the_hazard(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The usual cover against each hazard that is not answered, on the whole run."""
    number = int(finding.where[0].removeprefix("run "))
    run = stock.rig.runs[number - 1]
    wires = [w for w in stock.rig.wires if number - 1 in w.route and not is_bolted(w)]
    open_hazards = {h for w in wires for h in unanswered(stock.rig, w, run)}
    added: list[str] = []
    for hazard in run.hazards:
        answers = workmanship.covers(hazard)
        if hazard in open_hazards and not set(answers) & set(added):
            added.append(answers[0])
    title = f"Fit {listing(added)} on run {number}"
    yield Remedy(title, (RunKey(number, "cover", [*run.cover, *added]),))


@makes("E513")
def cover_the_feed(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The cover of the speaker wires on the feed beside them."""
    wires = stock.named(finding.where)
    bare = [w for w in wires if w.kind == "power" and not w.cover]
    covers = tuple(dict.fromkeys(c for w in wires if w.kind == "speaker" for c in w.cover))
    if bare and covers:
        yield Remedy(f"Cover {listing(w.id for w in bare)} in {listing(covers)}", _covered(bare, covers))


@makes("E102")
def sheathe_the_lead(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """A sheath on the whole lead, where it is short enough for that."""
    rig = stock.rig
    longest_mm = SHEATHED_MM if law_binds(rig) else POST_SHEATHED_MM
    for lead in leads(rig):
        if (lead.end.partition(".")[0], *lead.way.wires) != finding.where or lead.way.length_mm > longest_mm:
            continue
        bare = [w for w in stock.named(lead.way.wires) if not sheathed(rig, w)]
        if bare:
            yield Remedy(f"Sheathe {listing(w.id for w in bare)} on the whole length", _covered(bare, (TUBE,)))
        return


def _covered(wires: Iterable[Wire], covers: Iterable[str]) -> tuple[WireKey, ...]:
    added = tuple(covers)
    return tuple(WireKey(w.id, "cover", [*w.cover, *(c for c in added if c not in w.cover)]) for w in wires)
