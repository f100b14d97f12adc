"""``advise``: what would help a rig, which amplifiers suit it, and the chance that it works."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console
from rich.text import Text

from loomwright.cli import answer, service
from loomwright.cli.advice_text import show_chances, show_equipment, show_help
from loomwright.cli.commands import check
from loomwright.cli.commands._options import AsJson, RigFile
from loomwright.cli.commands.mend import write
from loomwright.cli.terminal import clean, console, copyable, note, waiting
from loomwright.errors import InputError, Problem

if TYPE_CHECKING:
    from loomwright.advice.results import Tried

NAME = "advise"

Amplifiers = Annotated[
    bool, typer.Option("--amplifiers", help="Which amplifiers of the catalogue suit, and why others fall out.")
]
WithChances = Annotated[
    bool, typer.Option("--chances", help="The chance that it works as it will be built, aged and met.")
]
Draws = Annotated[int, typer.Option("--draws", metavar="N", min=100, max=1_000_000, help="Draws for --chances.")]
Seed = Annotated[int, typer.Option("--seed", metavar="N", min=0, help="Another lot of draws for --chances.")]
Make = Annotated[
    int | None, typer.Option("--make", metavar="N", min=1, help="Make move N of the list in the file.",
                             show_default=False),
]  # fmt: skip
Out = Annotated[
    Path | None,
    typer.Option("--out", "-o", metavar="FILE", help="Write the changed rig here and leave RIG as it is.",
                 show_default=False),
]  # fmt: skip
Papers = Annotated[
    Path | None,
    typer.Option("--papers", metavar="DIR", help="Also print all of the advice as pages into this folder.",
                 show_default=False),
]  # fmt: skip


def command(
    rig: RigFile, amplifiers: Amplifiers = False, chances: WithChances = False, draws: Draws = 100_000, seed: Seed = 1,
    make: Make = None, out: Out = None, papers: Papers = None, as_json: AsJson = False,
) -> int:  # fmt: skip
    """What would help most.

    Lists what could be done: wires a size up, joints remade, battery, charging, engine speed, amplifiers; each
    studied whole, with what it gains for its copper or its price. --make does one of them in the file, comments kept;
    the file as it was stays beside it. With --amplifiers or --chances these are answered instead; --papers prints all
    three. Leaves with 1 if there is a Stop.
    """
    from loomwright.rig.catalogue import beside
    from loomwright.rig.read import read_text

    text = read_text(rig)
    study = service.open_study(rig)
    found = service.findings(study)
    data: dict[str, object] = {"rig": check.summary(study.given)}
    on = None if as_json else console()
    if on is not None:
        check.title(on, study.given)
    if amplifiers:
        from loomwright.advice.equipment import equipment

        with waiting("Holding amplifiers against loads and charging"):
            positions = equipment(study, beside(rig))
        data["equipment"] = positions
        if on is not None:
            show_equipment(on, positions)
    if chances:
        from loomwright.advice.chances import chances as drawn

        with waiting("Drawing rigs"):
            try:
                result = drawn(study.rig, draws, seed)
            except ValueError:
                raise _nothing_to_draw(rig) from None
        data["chances"] = result
        if on is not None:
            show_chances(on, result)
    left = found
    if not (amplifiers or chances):
        from loomwright.advice.helping import what_would_help

        with waiting("Trying what could be done"):
            result_help = what_would_help(study, text, beside(rig), found)
        data["help"] = result_help
        if on is not None and make is None:
            show_help(on, result_help)
            if result_help.moves:
                on.print()
                copyable(on, f"Make one of them: loomwright advise {rig} --make 1", "bold")
        if make is not None:
            after, left = service.moved(text, rig, found, _chosen(result_help.moves, make, rig))
            files = write(rig, out, text, after)
            data |= {"made": result_help.moves[make - 1], "files": files}
            if on is not None:
                _show_made(on, result_help.moves[make - 1], files)
                on.print(check.count_line(on, left))
    if papers is not None:
        printed = service.advice_paper(study, text, rig, found, papers, draws, seed)
        data["papers"] = (printed,)
        if on is not None:
            on.print()
            copyable(on, str(printed))
    if as_json:
        answer.give(NAME, data)
    return check.exit_code(left)


def _chosen(moves: Sequence[Tried], number: int, rig: Path) -> Tried:
    if number > len(moves):
        expected = f"a number from 1 to {len(moves)}" if moves else "no number: nothing is offered for this rig"
        raise InputError(
            [Problem("command line", "advise --make", expected, str(number), f"See the list: loomwright advise {rig}")]
        )
    return moves[number - 1]


def _nothing_to_draw(rig: Path) -> InputError:
    received = "no amplifier, or none that holds at loud"
    remedy = f"See what stands in the way: loomwright check {rig}"
    return InputError([Problem(str(rig), "advise --chances", "amplifiers that hold at loud", received, remedy)])


def _show_made(on: Console, made: Tried, files: Sequence[Path]) -> None:
    on.print()
    on.print(Text("Made: ").append(clean(made.move.title), style="bold"))
    for change in made.changes:
        on.print(Text("     " + clean(change)))
    on.print(Text("     " + clean(made.words)))
    on.print()
    copyable(on, str(files[0]))
    if len(files) > 1:
        note(on, f"As it was: {files[1]}")
