"""The spools of the shop's stock, as the cutting plan takes them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from loomwright.facts import colours, conductors
from loomwright.jobs.model import StockLine
from loomwright.loom.stock_file import Spool
from loomwright.rig.catalogue import Catalogue
from loomwright.rig.model import Metal, WireStockSpec


@dataclass(frozen=True, slots=True)
class Aside:
    """A line of the stock that the plan does not cut from, and why."""

    line: str
    why: str


@dataclass(frozen=True, slots=True)
class OnTheShelf:
    """What the stock holds of wire: spools to cut from, and lines left aside."""

    spools: tuple[Spool, ...] = ()
    aside: tuple[Aside, ...] = ()


def on_the_shelf(lines: Iterable[StockLine], catalogue: Catalogue) -> OnTheShelf:
    """The wire of a stock.

    A spool is called by its note, or by its size and colour; two of one name are counted. Where the insulation is not
    noted, it counts as the lowest: nothing is cut from it that must stand more. A part of the catalogue says whether it
    is a screened lead; conductors several in one jacket are left aside.
    """
    spools: list[Spool] = []
    aside: list[Aside] = []
    names: Counter[str] = Counter()
    for line in lines:
        if line.kind != "wire" or not line.length_mm:
            continue
        spec = _spec(line.part, catalogue)
        name = line.note.strip() or f"{line.size} {colours.words(_in_order(line.colour))}".strip()
        names[name] += 1
        name = f"{name} ({names[name]})" if names[name] > 1 else name
        screened = spec is not None and spec.screened
        if spec is not None and spec.cores > 1 and not screened:
            aside.append(Aside(name, f"{spec.cores} conductors in one jacket"))
            continue
        lowest = min(conductors.INSULATION_C)
        if line.insulation_c is None:
            aside.append(Aside(name, f"insulation not noted: counted as {lowest} C"))
        metal: Metal = line.metal  # type: ignore[assignment]  # the stock takes no other word
        colour = _in_order(line.colour)
        spools.append(Spool(name, line.size, metal, line.insulation_c or lowest, colour, screened, line.length_mm))
    return OnTheShelf(tuple(spools), tuple(aside))


def _spec(part_id: str, catalogue: Catalogue) -> WireStockSpec | None:
    if part_id not in catalogue.tables:
        return None
    spec = catalogue.part(part_id).spec
    return spec if isinstance(spec, WireStockSpec) else None


def _in_order(letters: str) -> str:
    """Colours as IEC 60757 writes several: in the order of its list."""
    known = colours.letters()
    pairs = [letters[n : n + 2] for n in range(0, len(letters), 2)]
    return "".join(sorted(pairs, key=lambda c: known.index(c) if c in known else len(known)))
