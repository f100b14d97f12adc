"""``faults``: the fault drill, worst first."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated, get_args

import typer
from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from loomwright.cli import answer, service
from loomwright.cli.commands import check
from loomwright.cli.commands._options import AsJson, RigFile
from loomwright.cli.names import no_such
from loomwright.cli.numbers import band
from loomwright.cli.terminal import VERDICTS, WIDEST, cell, clean, console, copyable, heading, note, put, table, waiting
from loomwright.drawing.figures import NOTHING, three
from loomwright.protection.results import FaultKind, Verdict

if TYPE_CHECKING:
    from loomwright.protection.results import FaultResult

NAME = "faults"
ROWS = 20
REASONS = 5
HOTTEST = "hottest wire, of limit \u00b0C"
WORST_FIRST: tuple[Verdict, ...] = ("burned", "not cleared", "spread", "cleared", "no harm")
MEANING: dict[Verdict, str] = {
    "burned": "a wire was damaged before it cleared, at worst",
    "not cleared": "the fault goes on",
    "spread": "cleared, but took others down",
    "cleared": "only the branch at fault went dark",
    "no harm": "nothing needs to open",
}
KINDS: tuple[str, ...] = get_args(FaultKind)

Only = Annotated[
    str | None,
    typer.Option(
        "--only", metavar="KIND", help="Only faults of this kind: " + ", ".join(KINDS) + ".", show_default=False
    ),
]
OnWire = Annotated[
    str | None, typer.Option("--wire", metavar="ID", help="Only faults of this wire.", show_default=False)
]
ShowAll = Annotated[bool, typer.Option("--all", help=f"Every fault, not only the {ROWS} worst.")]


def command(
    rig: RigFile, only: Only = None, wire: OnWire = None, show_all: ShowAll = False, as_json: AsJson = False
) -> int:
    """The fault drill: what opens, when, and what goes dark.

    Every fault is tried, one by one, and followed to its end. The worst stands first.
    """
    kind = only.replace("-", " ").replace("_", " ") if only is not None else None
    if kind is not None and kind not in KINDS:
        raise no_such("--only", "kind of fault", only or "", KINDS)
    study = service.open_study(rig)
    ids = [w.id for w in study.given.wires]
    if wire is not None and wire not in ids:
        raise no_such("--wire", f"wire of {study.given.file}", wire, ids)
    with waiting("Running the fault drill"):
        drill = study.protection.drill
    chosen = sorted((f for f in drill if kind in (None, f.kind) and wire in (None, f.where)), key=badness)
    if as_json:
        answer.give(NAME, {"rig": check.summary(study.given), "verdicts": verdicts(chosen), "faults": chosen})
        return 0
    on = console()
    check.title(on, study.given)
    summary(on, chosen, of=len(drill))
    every = show_all or wire is not None
    rows = [(f, 1) for f in chosen] if every else worst_of_each_place(chosen)
    shown = rows if every else rows[:ROWS]
    worst_table(on, shown)
    if len(shown) < len(rows):
        note(on, f"{len(shown)} of {len(rows)} places.")
    if not every:
        copyable(on, f"Each row is the worst of its place. Every fault: loomwright faults {rig} --all")
    reasons(on, [f for f, _ in shown if f.verdict in WORST_FIRST[:3]][: None if every else REASONS])
    return 0


def badness(fault: FaultResult) -> tuple[int, float, str]:
    """Sort key: worst verdict first, then nearest to (or furthest past) a wire's limit."""
    return WORST_FIRST.index(fault.verdict), fault.limit_c - fault.hottest_c, fault.id


def verdicts(drill: Sequence[FaultResult]) -> dict[Verdict, int]:
    """How many faults came to each verdict, worst first."""
    return {v: sum(f.verdict == v for f in drill) for v in WORST_FIRST}


def summary(on: Console, drill: Sequence[FaultResult], of: int) -> None:
    """Counts per verdict, with what each verdict means."""
    heading(on, f"{len(drill)} faults" if len(drill) == of else f"{len(drill)} of {of} faults")
    made = table("Verdict", "faults", "meaning", left=("Verdict", "meaning"), fold=("meaning",))
    for verdict, count in verdicts(drill).items():
        word = Text(verdict, style=VERDICTS[verdict] if count else "dim")
        made.add_row(word, str(count), Text(MEANING[verdict], style="" if count else "dim"))
    put(on, made)


def worst_of_each_place(drill: Sequence[FaultResult]) -> list[tuple[FaultResult, int]]:
    """The worst fault of each verdict, kind and place, with how many are like it. ``drill`` is sorted, worst first."""
    alike: dict[tuple[str, str, str], list[FaultResult]] = {}
    for f in drill:
        alike.setdefault((f.verdict, f.kind, f.where), []).append(f)
    return [(group[0], len(group)) for group in alike.values()]


def worst_table(on: Console, rows: Sequence[tuple[FaultResult, int]]) -> None:
    """One row for each fault or place: what happened, what opened and when, the hottest wire, what went dark."""
    if not rows:
        return
    heading(on, "Worst first")
    left = ("Verdict", "worst fault", "opened", HOTTEST, "went dark")
    several = any(count > 1 for _, count in rows)
    made = table(left[0], *(["alike"] if several else []), *left[1:], left=left, fold=left[1:])
    for f, count in rows:
        made.add_row(
            Text(f.verdict, style=VERDICTS[f.verdict]),
            *([str(count)] if several else []),
            cell(f"{f.where}: {f.detail}"),
            cell(opened(f)),
            cell(hottest(f), "bold red" if f.hottest_c > f.limit_c else ""),
            cell(dark(f, most=8 if on.width >= WIDEST else 2)),
        )
    put(on, made)


def dark(fault: FaultResult, most: int) -> str:
    """What went dark, cut to a few names with a count of the rest."""
    if not fault.dark:
        return NOTHING
    rest = len(fault.dark) - most
    return ", ".join(fault.dark[:most]) + (f" and {rest} more" if rest > 0 else "")


def opened(fault: FaultResult) -> str:
    """What opened, in order, and within which time."""
    texts = [
        f"{o.device} {band(o.fastest_s, o.slowest_s)}"
        + (" (past its data)" if o.beyond_data else " (provisional)" if o.provisional else "")
        for o in fault.openings
    ]
    return ", then ".join(texts) or "nothing"


def hottest(fault: FaultResult) -> str:
    """The hottest wire against its limit."""
    from loomwright.facts.figures import figure

    if fault.hottest_wire is None:
        return NOTHING
    melting = figure("adiabatic.fusing.melting.copper_c").value
    reached = "melts" if isinstance(melting, float) and fault.hottest_c > melting else three(fault.hottest_c)
    return f"{fault.hottest_wire} {reached} of {three(fault.limit_c)}"


def reasons(on: Console, rows: Sequence[FaultResult]) -> None:
    """Why, for the faults that ended badly."""
    if not rows:
        return
    heading(on, "Why")
    for f in rows:
        line = Text(f"{f.verdict}: ", style=VERDICTS[f.verdict])
        line.append(clean(f"{f.where}, {f.detail}. "), style="bold default")
        line.append(clean(f.reason), style="not bold default")
        put(on, Padding(line, (0, 0, 0, 2)))
        if f.detour_a:
            way = ", ".join(f"{w} {three(a)} A" for w, a in f.detour_a.items())
            put(on, Padding(Text(clean(f"The current now takes: {way}."), style="default"), (0, 0, 0, 4)))
