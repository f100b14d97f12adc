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
from loomwright.cli.numbers import NOTHING, band, three
from loomwright.cli.terminal import VERDICTS, cell, clean, console, heading, note, table, waiting
from loomwright.protection.results import FaultKind, Verdict

if TYPE_CHECKING:
    from loomwright.protection.results import FaultResult

NAME = "faults"
ROWS = 20
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
    rows = chosen if show_all or len(chosen) <= ROWS else chosen[:ROWS]
    worst_table(on, rows)
    if len(rows) < len(chosen):
        note(on, f"The {len(rows)} worst of {len(chosen)}. Every one: loomwright faults {study.given.file} --all")
    reasons(on, [f for f in rows if f.verdict in WORST_FIRST[:3]][: 5 if wire is None and kind is None else len(rows)])
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
    on.print(made)


def worst_table(on: Console, rows: Sequence[FaultResult]) -> None:
    """One row for each fault: what happened, what opened and when, the hottest wire, what went dark."""
    if not rows:
        return
    heading(on, "Worst first")
    made = table(
        "Verdict",
        "fault",
        "opened",
        "hottest wire",
        "went dark",
        left=("Verdict", "fault", "opened", "hottest wire", "went dark"),
        fold=("fault", "opened", "hottest wire", "went dark"),
    )
    for f in rows:
        made.add_row(
            Text(f.verdict, style=VERDICTS[f.verdict]),
            cell(f"{f.where}: {f.detail}"),
            cell(opened(f)),
            cell(hottest(f), "bold red" if f.hottest_c > f.limit_c else ""),
            cell(", ".join(f.dark) or NOTHING),
        )
    on.print(made)


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
    if fault.hottest_wire is None:
        return NOTHING
    return f"{fault.hottest_wire} {three(fault.hottest_c)} of {three(fault.limit_c)} \u00b0C"


def reasons(on: Console, rows: Sequence[FaultResult]) -> None:
    """Why, for the faults that ended badly."""
    if not rows:
        return
    heading(on, "Why")
    for f in rows:
        line = Text(f"{f.verdict}: ", style=VERDICTS[f.verdict])
        line.append(clean(f"{f.where}, {f.detail}. "), style="bold default")
        line.append(clean(f.reason), style="not bold default")
        on.print(Padding(line, (0, 0, 0, 2)))
        if f.detour_a:
            way = ", ".join(f"{w} {three(a)} A" for w, a in f.detour_a.items())
            on.print(Padding(Text(clean(f"The current now takes: {way}."), style="default"), (0, 0, 0, 4)))
