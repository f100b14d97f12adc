"""What the commands ask for. Everything here is a call into the rooms below; nothing is worked out twice."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from loomwright.cli.terminal import console, note, waiting

if TYPE_CHECKING:
    from concurrent.futures import Future

    from loomwright.advice.results import Tried
    from loomwright.drawing.sheets import Sheet as Drawing
    from loomwright.findings.model import Finding
    from loomwright.loom.stock_file import Spool
    from loomwright.papers.order import Order
    from loomwright.papers.paper import PaperSize
    from loomwright.remedies.model import Remedy
    from loomwright.study import Study
    from loomwright.template.sheet_stock import Sheet

UnitsName = Literal["metric", "us"]
SHOP = Path("shop")
"""Named as stock: the spools and sheets kept in the browser."""


def open_study(path: Path) -> Study:
    """The study of a rig file.

    Raises
    ------
    InputError
        With every problem of the file.
    """
    from loomwright.rig.file import load
    from loomwright.study import Study

    with waiting(f"Reading {path.name}"):
        return Study(load(path))


def findings(study: Study) -> tuple[Finding, ...]:
    """All findings of a study, in order of urgency."""
    from loomwright.findings.run import check

    with waiting("Working out volts and faults"):
        return check(study)


def remedies(study: Study, found: tuple[Finding, ...], path: Path) -> tuple[tuple[Finding, Remedy], ...]:
    """Every remedy that is a definite edit, with its finding; parts may come from the catalogues beside the file."""
    from loomwright.remedies.run import Remedies
    from loomwright.rig.catalogue import beside

    with waiting("Looking for remedies"):
        made = Remedies(study, beside(path))
        return tuple((f, r) for f in found for r in made.of(f))


def mended(
    text: str, path: Path, found: tuple[Finding, ...], finding: Finding, remedy: Remedy
) -> tuple[str, tuple[Finding, ...]]:
    """The text with a remedy made, and what is found then. Raises InputError where it does not help."""
    from loomwright.remedies.run import must_help
    from loomwright.rig.catalogue import beside
    from loomwright.rig.changes import apply
    from loomwright.rig.file import parse
    from loomwright.study import Study

    after = apply(text, remedy.changes)
    left = findings(Study(parse(after, str(path), beside(path))))
    must_help(remedy, finding, found, left)
    return after, left


def moved(text: str, path: Path, found: tuple[Finding, ...], tried: Tried) -> tuple[str, tuple[Finding, ...]]:
    """The text with a move made, and what is found then. Raises InputError where it brings a Stop."""
    from loomwright.errors import InputError, Problem
    from loomwright.remedies.run import brought
    from loomwright.rig.catalogue import beside
    from loomwright.rig.changes import apply
    from loomwright.rig.file import parse
    from loomwright.study import Study

    after = apply(text, tried.move.changes)
    left = findings(Study(parse(after, str(path), beside(path))))
    stops = brought(found, left)
    if stops:
        said = "; ".join(dict.fromkeys(f"{f.code} {f.title}: {f.evidence}" for f in stops))
        raise InputError(
            [Problem(str(path), tried.move.title, "no new Stop", said, "Mend that first, or make it by hand.")]
        )
    return after, left


def order(
    study: Study, path: Path, *, paper: PaperSize = "a4", units: UnitsName = "metric", stock: Path | None = None,
    data: Path | None = None, found: tuple[Finding, ...] | None = None,
    before: tuple[Study, tuple[Finding, ...]] | None = None,
) -> Order:  # fmt: skip
    """What to print of the rig in a file, its drawings begun. Stock and data are those of ``spools``.

    Raises
    ------
    InputError
        The file of stock cannot be used.
    """
    import hashlib

    wire = spools(path, stock, data)
    begun = _drawings(study, paper)
    from loomwright.papers.order import Order
    from loomwright.papers.units import METRIC, US

    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    shown = US if units == "us" else METRIC
    return Order(study, found, paper, shown, before, wire, digest, begun=begun)


def _drawings(study: Study, paper: PaperSize) -> Future[tuple[Drawing, ...]]:
    """The drawings of a pack, being made: what lays them out is slow, and needs no time of this thread."""
    from concurrent.futures import ThreadPoolExecutor

    from loomwright.drawing import frame, sheets

    _ = study.rig  # settled here, before anything else wants this thread's time
    hand = ThreadPoolExecutor(1, "drawings")
    begun = hand.submit(sheets.with_boards, study, frame.large(paper))
    hand.shutdown(wait=False)
    return begun


def spools(rig: Path, stock: Path | None, data: Path | None = None) -> tuple[Spool, ...] | None:
    """The wire in stock: that of the file named, else of ``stock.toml`` beside the rig; None where there is neither.

    ``shop`` is no file but the stock kept in the browser, in the folder ``data``. What of it cannot be used is said.
    """
    from loomwright.loom.stock_file import load_stock

    if stock == SHOP:
        from loomwright.cli.commands.backup import open_store
        from loomwright.jobs.spools import on_the_shelf
        from loomwright.web.catalogues import usable

        with open_store(data, must_exist=True) as store:
            found = on_the_shelf(store.stock(), usable(store.shop_text("catalogue").text))
        for line in found.aside:
            note(console(sys.stderr), f"{line.line}: {line.why}.")
        return found.spools
    chosen = stock_file(rig, stock)
    return None if chosen is None else load_stock(chosen)


def sheets(rig: Path, stock: Path | None, data: Path | None = None) -> tuple[Sheet, ...]:
    """The sheets of board in stock, of the same stock as :func:`spools`; none where there is no stock."""
    from loomwright.template import sheet_stock

    if stock == SHOP:
        from loomwright.cli.commands.backup import open_store
        from loomwright.jobs.boards import sheets_at_hand

        with open_store(data, must_exist=True) as store:
            return sheets_at_hand(store.stock())
    chosen = stock_file(rig, stock)
    return () if chosen is None else sheet_stock.load(chosen)


def stock_file(rig: Path, stock: Path | None) -> Path | None:
    """The file of stock that is named, else ``stock.toml`` beside the rig where there is one."""
    beside = rig.parent / "stock.toml"
    return stock or (beside if beside.is_file() else None)


def warm_drawing() -> None:
    """Start the layout engine beside what follows: it takes a while, and needs no time of this thread."""
    from threading import Thread

    from loomwright.drawing.layout import warm

    Thread(target=warm, name="warm", daemon=True).start()


def pack(wanted: Order, folder: Path, *, pictures: bool = False) -> tuple[Path, ...]:
    """Print the pack and its parts into ``folder`` and return the files, the pack first."""
    with waiting("Drawing and printing"):
        from loomwright.papers import pack as printed

        return printed.build(wanted, folder, pictures=pictures)


def comparison_paper(studies: Sequence[Study], found: Sequence[tuple[Finding, ...]], folder: Path) -> Path:
    """Print rigs side by side into ``folder`` and return the file."""
    from loomwright.papers import pack as printed
    from loomwright.papers.order import Order

    *earlier, last = zip(studies, found, strict=True)
    with waiting("Printing the comparison"):
        made = printed.one_part(Order(*last, before=earlier[0], between=tuple(earlier[1:])), "before_and_after")
    assert made is not None
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "compare.pdf"
    path.write_bytes(made)
    return path


def advice_paper(
    study: Study, text: str, rig: Path, found: tuple[Finding, ...], folder: Path, draws: int, seed: int
) -> Path:
    """Print what would help, the amplifiers that suit and the chances into ``folder`` and return the file."""
    from loomwright.advice.chances import chances
    from loomwright.advice.equipment import equipment
    from loomwright.advice.helping import what_would_help
    from loomwright.papers import pack as printed
    from loomwright.papers.order import Advice, Order
    from loomwright.rig.catalogue import beside

    parts = beside(rig)
    with waiting("Trying, drawing and printing"):
        helps = what_would_help(study, text, parts, found)
        try:
            drawn = chances(study.rig, draws, seed)
        except ValueError:
            drawn = None
        advice = Advice(helps, equipment(study, parts), drawn)
        made = printed.one_part(Order(study, found, advice=advice), "advice")
    assert made is not None
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "advice.pdf"
    path.write_bytes(made)
    return path
