"""``loom``: cut list, bundles, pinouts and the ring-out; with --steps the build, step by step."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer
from rich.console import Console

from loomwright.cli import answer, service
from loomwright.cli.commands import check
from loomwright.cli.commands._options import AsJson, Data, RigFile, Stock
from loomwright.cli.terminal import cell, console, copyable, heading, note, put, table, waiting
from loomwright.drawing.figures import NOTHING, three
from loomwright.errors import InputError, Problem

if TYPE_CHECKING:
    from loomwright.loom.cut_plan import CutPlan
    from loomwright.loom.results import Disconnect, LoomResult
    from loomwright.loom.shopping import Buy, Consumable
    from loomwright.study import Study

NAME = "loom"
FIRST = 12
LABEL = "50x20"

Out = Annotated[
    Path | None,
    typer.Option("--out", "-o", metavar="DIR", help="Folder for tables and labels.", show_default=False),
]
LabelPaper = Literal["a4", "letter"]
Sheet = Annotated[
    LabelPaper | None,
    typer.Option("--sheet", help="With --out: size of the label paper, a4 if left out.", show_default=False),
]  # fmt: skip
Label = Annotated[
    str | None,
    typer.Option(
        "--label", metavar="WxH", help="With --out: size of one label in mm, or WxH+GAPxGAP; 50x20 if left out.",
        show_default=False,
    ),
]  # fmt: skip
Drawings = Annotated[
    Path | None,
    typer.Option("--drawings", metavar="DIR", help="Folder for all drawings: SVG, PDF, PNG.", show_default=False),
]  # fmt: skip
DrawingSize = Literal["a3", "a4", "letter", "tabloid"]
DrawingPaper = Annotated[
    DrawingSize | None,
    typer.Option("--paper", help="With --drawings: size of their paper, a3 if left out.", show_default=False),
]  # fmt: skip
ShowAll = Annotated[bool, typer.Option("--all", help=f"The whole ring-out, not only the first {FIRST} tests.")]

Steps = Annotated[bool, typer.Option("--steps", help="The build, step by step, instead of the harness.")]
AsFound = Annotated[
    Path | None,
    typer.Option(
        "--as-found", metavar="FILE", help="With --steps: the rig as found; what is there already stays.",
        show_default=False,
    ),
]  # fmt: skip


def command(
    rig: RigFile,
    stock: Stock = None,
    out: Out = None,
    sheet: Sheet = None,
    label: Label = None,
    drawings: Drawings = None,
    paper: DrawingPaper = None,
    show_all: ShowAll = False,
    steps: Steps = False,
    as_found: AsFound = None,
    data: Data = None,
    as_json: AsJson = False,
) -> int:
    """The harness: cut list, bundles, pinouts, ring-out.

    With spools in stock, also the cutting plan. With --out, tables for a spreadsheet and a sheet of labels. With
    --drawings, every drawing of the rig. With --steps, the build in the order of doing: tools, cautions, what to
    measure, where a second person signs.
    """
    from loomwright.loom import cut_plan, labels, shopping

    size, gap = labels.size_of(label or LABEL)
    _not_alone({
        ("--as-found", "--steps", "what stays matters to the build, not to the harness"): (as_found, steps or None),
        ("--label", "--out DIR", "labels are a file in that folder"): (label, out),
        ("--sheet", "--out DIR", "labels are a file in that folder"): (sheet, out),
        ("--paper", "--drawings DIR", "it is the paper of the drawings"): (paper, drawings),
    })  # fmt: skip
    study = service.open_study(rig)
    if steps:
        return _steps(study, as_found, as_json)
    spools = service.spools(rig, stock, data)
    with waiting("Laying out the harness"):
        loom = study.loom
        pieces = cut_plan.pieces(loom.wires)
        plan = cut_plan.plan(pieces, spools) if spools is not None else None
    buys = shopping.wire_to_buy(plan.missing if plan is not None else pieces)
    small = shopping.consumables(study.rig, loom)
    files = _write(out, loom, plan, buys, small, size, gap, sheet or "a4", study.given.title) if out is not None else ()
    if drawings is not None:
        files += _draw(study, drawings, paper or "a3")
    if as_json:
        answer.give(NAME, {
            "rig": check.summary(study.given), "loom": loom, "cutting_plan": plan, "wire_to_buy": buys,
            "small_parts": small, "files": files,
        })  # fmt: skip
        return 0
    on = console()
    check.title(on, study.given)
    _cut_list(on, loom)
    _bundles(on, loom)
    for d in loom.disconnects:
        _pinout(on, d)
    if plan is not None:
        _plan(on, plan)
    _buys(on, buys)
    _ring_out(on, loom, show_all, str(rig))
    on.print()
    for f in files:
        copyable(on, str(f))
    note(on, "Isolate the battery before you touch a wire. Ring out before power; a fused supply first.")
    return 0


def _not_alone(pairs: dict[tuple[str, str, str], tuple[object, object]]) -> None:
    """Refuse options that mean nothing without another: nothing that was asked for is passed over in silence."""
    problems = [
        Problem("command line", f"{NAME} {option}", f"{other} with it", f"{option} alone", f"Add {other}: {why}.")
        for (option, other, why), (given, needed) in pairs.items()
        if given is not None and needed is None
    ]
    if problems:
        raise InputError(problems)


def _steps(study: Study, as_found: Path | None, as_json: bool) -> int:
    from loomwright.cli import build_text
    from loomwright.steps.plan import build_steps

    before = service.open_study(as_found).given if as_found is not None else None
    with waiting("Putting the steps in order"):
        plan = build_steps(study, before)
    if as_json:
        answer.give(NAME, {"rig": check.summary(study.given), "build": plan})
        return 0
    on = console()
    check.title(on, study.given)
    build_text.show(on, plan)
    return 0


def _write(
    folder: Path,
    loom: LoomResult,
    plan: CutPlan | None,
    buys: tuple[Buy, ...],
    small: tuple[Consumable, ...],
    size: tuple[float, float],
    gap: tuple[float, float],
    paper: LabelPaper,
    title: str,
) -> tuple[Path, ...]:
    from loomwright.loom.sheets import tables
    from loomwright.papers import labels

    sheet = labels.sheet_of(size, paper, gap)
    files = {name: text.encode("utf-8-sig") for name, text in tables(loom, plan, buys, small).items()}
    with waiting("Printing the labels"):
        files["labels.pdf"] = labels.pdf(loom.wires, sheet, f"Labels, {title}")
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in files.items():
        (folder / name).write_bytes(content)
    return tuple(folder / name for name in files)


def _draw(study: Study, folder: Path, paper: DrawingSize) -> tuple[Path, ...]:
    from loomwright.drawing import sheets
    from loomwright.drawing.frame import PAPERS

    size = next(p for p in PAPERS if p.lower() == paper)
    with waiting("Drawing"):
        return sheets.write(sheets.sheets(study, size), folder)


def _cut_list(on: Console, loom: LoomResult) -> None:
    heading(on, f"{len(loom.wires)} wires to cut")
    left = ("wire", "size", "colour", "from", "to")
    made = table("wire", "size", "colour", "cut mm", "from", "to", left=left, fold=("from", "to"))
    for w in loom.wires:
        made.add_row(cell(w.id), w.size, w.colour, f"{w.cut_mm:.0f}", *(
            cell(f"{e.terminal}: {e.end}" + (f", strip {e.strip_mm:g}" if e.strip_mm else "")
                 if e.fits else f"{e.terminal}: {e.end} does not fit", "" if e.fits else "bold red") for e in w.ends
        ))  # fmt: skip
    put(on, made)


def _bundles(on: Console, loom: LoomResult) -> None:
    if not loom.bundles:
        return
    heading(on, "Bundles")
    made = table("run", "between", "wires", "packed mm", "covered mm", "hole mm", "g", "covers",
                 left=("between", "covers"), fold=("between", "covers"))  # fmt: skip
    for b in loom.bundles:
        made.add_row(
            str(b.run), cell(f"{b.between[0]} to {b.between[1]}"), str(len(b.wires)), three(b.diameter_mm),
            three(b.covered_mm), three(b.hole_mm), f"{b.mass_g:.0f}", cell(", ".join(b.covers) or NOTHING),
        )  # fmt: skip
    put(on, made)
    for c in loom.crossings:
        note(on, f"At {c.place} line leads and feeds meet: cross them at right angles.")


def _pinout(on: Console, d: Disconnect) -> None:
    from loomwright.loom.disconnects import wire_side

    heading(on, f"{d.id}, at {d.place}")
    made = table("contact", "wire a", "wire b", "carries", "A", left=("wire a", "wire b", "carries"))
    for c in d.contacts:
        made.add_row(
            str(c.number), cell(f"{c.a_wire} {c.a_colour}" if c.a_wire else NOTHING),
            cell(f"{c.b_wire} {c.b_colour}" if c.b_wire else NOTHING), c.kind or "spare",
            three(c.amps_a) if c.amps_a else NOTHING,
        )  # fmt: skip
    put(on, made)
    rows = [" / ".join(" ".join(map(str, row)) for row in f) for f in (d.face, wire_side(d.face))]
    note(on, f"Half a, mating side: {rows[0]}   wire side: {rows[1]}   (half b: the other way round)")
    words = [f"each contact {three(d.usable_a)} A at most, {d.loaded} loaded"]
    words.append(f"live when parted: half {' and '.join(d.live)}" if d.live else "no half live when parted")
    words.append(f"sockets on half {d.sockets}" if d.sockets else "halves alike")
    if d.lost:
        words.append(f"parted, it stops {', '.join(d.lost)}")
    note(on, "; ".join(words) + ".")


def _plan(on: Console, plan: CutPlan) -> None:
    heading(on, "Cutting plan, " + ("proven best" if plan.proven else "good, not proven best"))
    made = table("spool", "on it mm", "left mm", "wires, longest first", left=("spool", "wires, longest first"),
                 fold=("wires, longest first",))  # fmt: skip
    for c in plan.cuts:
        made.add_row(cell(c.spool), f"{c.length_mm:.0f}", f"{c.remnant_mm:.0f}", cell(", ".join(c.wires)))
    put(on, made)


def _buys(on: Console, buys: tuple[Buy, ...]) -> None:
    if not buys:
        return
    heading(on, "Wire to buy")
    made = table("what", "m", "for", left=("what", "for"), fold=("for",))
    for b in buys:
        what = f"{b.size} {b.metal}, {b.insulation_c} C, {b.colour}{', screened' if b.screened else ''}"
        made.add_row(what, f"{b.buy_mm / 1000.0:.0f}", cell(", ".join(b.wires)))
    put(on, made)


def _ring_out(on: Console, loom: LoomResult, show_all: bool, rig: str) -> None:
    sheet = loom.ring_out
    shown = sheet.joined if show_all else sheet.joined[:FIRST]
    heading(on, f"Ring-out: {len(sheet.joined)} pairs that must connect")
    made = table("test", "from", "to", "expected mOhm", "at most", left=("from", "to"), fold=("from", "to"))
    for j in shown:
        made.add_row(str(j.order), cell(j.a), cell(j.b), three(j.expected_mohm), three(j.most_mohm))
    put(on, made)
    if len(shown) < len(sheet.joined):
        copyable(on, f"{len(shown)} of {len(sheet.joined)}. All: loomwright loom {rig} --all")
    count = len(sheet.apart)
    note(on, f"{count} pairs must not connect: each of {len(sheet.one_against_rest)} nets against all others tied "
         "together shows every short.")  # fmt: skip
    wrong = [p.driver for p in sheet.polarity if p.right is False]
    if wrong:
        note(on, f"Reversed against its channel: {', '.join(wrong)}.")
