"""``draft``: from an equipment list to a finished rig."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from loomwright.cli import answer
from loomwright.cli.commands._options import AsJson
from loomwright.cli.terminal import cell, clean, console, copyable, heading, note, put, table
from loomwright.drawing.figures import NOTHING, three

if TYPE_CHECKING:
    from loomwright.draft.results import Alternative, DraftResult
    from loomwright.draft.solving import Say

NAME = "draft"

ListFile = Annotated[Path, typer.Argument(metavar="LIST", help="Equipment list (TOML), or a rig that wants wires.")]
Out = Annotated[
    Path | None,
    typer.Option("--out", "-o", metavar="FILE", help="Write the rig here; further ones beside it, numbered.",
                 show_default=False),
]  # fmt: skip
Count = Annotated[int, typer.Option("--alternatives", min=1, max=5, help="How many rigs to offer at most.")]


def command(list_file: ListFile, out: Out = None, alternatives: Count = 3, as_json: AsJson = False) -> int:
    """A finished rig from a list of equipment: wiring, sizes, fuses, plugs.

    Proven to be the cheapest that passes every check, with some alternatives that have more volts; or which demands
    cannot be met together. Leaves with 1 where there is no rig that passes.
    """
    from loomwright.draft import engine, equipment

    with progress() as say:
        result = engine.draft(equipment.load(list_file), alternatives, say)
    files = _write(out, result)
    if as_json:
        answer.give(NAME, document(result, files))
    else:
        _show(console(), result, files, list_file)
    return 0 if result.best is not None else 1


@contextmanager
def progress() -> Iterator[Say]:
    """Says on the error stream what is being done, where someone is watching."""
    import sys

    on = console(sys.stderr)
    if not on.is_terminal:
        yield lambda words: None
        return
    with on.status(Text("Reading the list")) as status:
        yield lambda words: status.update(Text(clean(words)))


def _write(out: Path | None, result: DraftResult) -> tuple[Path, ...]:
    if out is None:
        return ()
    files = []
    for n, found in enumerate(result.alternatives, 1):
        target = out if n == 1 else out.with_name(f"{out.stem}_{n}{out.suffix}")
        target.write_text(found.text, encoding="utf-8", newline="")
        files.append(target)
    return tuple(files)


def document(result: DraftResult, files: tuple[Path, ...] = ()) -> dict[str, object]:
    """The answer as JSON holds it: the rigs without their text where they were written to files."""
    return {
        "title": result.title,
        "file": result.file,
        "alternatives": [
            {
                "name": a.name,
                "copper_g": a.copper_g,
                "price": a.price,
                "lowest_v": a.lowest_v,
                "drop_v": a.drop_v,
                "volts_v": dict(a.volts_v),
                "findings": a.findings,
                "choices": a.choices,
                "text": None if files else a.text,
            }
            for a in result.alternatives
        ],
        "proof": result.proof,
        "conflict": result.conflict,
        "notes": result.notes,
        "files": files,
    }


def _show(on: Console, result: DraftResult, files: tuple[Path, ...], list_file: Path) -> None:
    on.print(Text(clean(result.title), style="bold"))
    note(on, result.file)
    for words in result.notes:
        on.print(Padding(Text(clean(words)), (0, 0, 0, 2)))
    best = result.best
    if best is None:
        _show_conflict(on, result)
        return
    heading(on, "Rigs that pass every check")
    _show_rigs(on, result)
    if result.proof is not None:
        word = "Proven cheapest" if result.proof.proven else "Cheapest found, not proven"
        note(on, f"{word} by {result.proof.objective}, over {result.proof.over}. {result.proof.solved} solved in full.")
    heading(on, "What was chosen, and why")
    for choice in best.choices:
        line = Text(clean(choice.where), style="bold").append(f"  {clean(choice.chosen)}", style="not bold")
        on.print(Padding(line, (0, 0, 0, 2)))
        on.print(Padding(Text(clean(choice.why), style="dim"), (0, 0, 0, 4)))
    on.print()
    for path in files:
        copyable(on, f"Wrote {path}", "bold")
    if not files:
        copyable(on, f"To keep it: loomwright draft {list_file} --out rig.toml")


def _show_rigs(on: Console, result: DraftResult) -> None:
    made = table("rig", "copper [g]", "price", "least volts [V]", "most lost [V]", "Know", left=("rig",))
    for a in result.alternatives:
        made.add_row(*_row(a))
    put(on, made)


def _row(a: Alternative) -> tuple[Text | str, ...]:
    price = NOTHING if a.price is None else three(a.price)
    return cell(a.name), f"{a.copper_g:.0f}", price, f"{a.lowest_v:.2f}", f"{a.drop_v:.2f}", str(len(a.findings))


def _show_conflict(on: Console, result: DraftResult) -> None:
    conflict = result.conflict
    heading(on, "No rig meets all of this together")
    if conflict is None:
        return
    for demand in conflict.demands:
        on.print(Padding(Text(clean(demand.words)), (0, 0, 0, 2)))
    if len(conflict.demands) > 1:
        note(on, "Without any one of these, the others can be met.")
    heading(on, "What stands in the way")
    for reason in conflict.reasons:
        on.print(Padding(Text(clean(reason)), (0, 0, 0, 2)))
