"""``demo``: the whole job on the carnival trike, as found and as planned."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console
from rich.text import Text

from loomwright.cli import answer, samples, service
from loomwright.cli.commands import check, compare, faults
from loomwright.cli.commands._options import AsJson
from loomwright.cli.numbers import seconds
from loomwright.cli.terminal import VERDICTS, clean, console, copyable, heading, sign, waiting
from loomwright.drawing.figures import three
from loomwright.rig.model import ENGINE_STATES, Programme

if TYPE_CHECKING:
    from loomwright.findings.model import Finding
    from loomwright.papers.comparison import Comparison
    from loomwright.study import Study

NAME = "demo"
PROGRAMME: Programme = "loud"
STAGES = (("as_found", samples.AS_FOUND), ("planned", samples.VEHICLES["trike"]))

Folder = Annotated[Path, typer.Argument(metavar="DIR", help="Folder for the rigs and the pack; made if missing.")]


@dataclass(frozen=True)
class Stage:
    """One of the two rigs, with all that the demo says about it."""

    study: Study
    found: tuple[Finding, ...]
    rig: Path


def command(folder: Folder = Path("build/demo"), as_json: AsJson = False) -> int:
    """The whole job on a carnival trike, as found and as planned.

    Checks both rigs, runs the drill, compares them, and prints the pack into a folder.
    """
    first, second = (_stage(folder, name, sample) for name, sample in STAGES)
    with waiting("Comparing"):
        from loomwright.papers.comparison import compare as compared

        result = compared((first.study, second.study), (first.found, second.found))
    order = service.order(
        second.study, second.rig, stock=_stock(second.rig), found=second.found, before=(first.study, first.found)
    )
    files = service.pack(order, folder / "pack")
    if as_json:
        answer.give(NAME, {**_document(first, second, result), "files": files})
        return check.exit_code(second.found)
    on = console()
    _say_stage(on, "1  The trike as it was found", first)
    _say_stage(on, "2  The same trike as planned", second)
    heading(on, "3  Side by side")
    compare.show(on, (first.study.given, second.study.given), result)
    heading(on, "4  The pack")
    copyable(on, f"   {files[0].parent / 'parts'}: {len(files) - 1} files: drawings, lists, sheets to fill in, tables")
    on.print()
    copyable(on, f"Open the pack: {files[0].resolve()}", "bold")
    copyable(on, "The vehicle and its parts are invented. Your own: loomwright init my_trike --from trike")
    return check.exit_code(second.found)


def _stage(folder: Path, name: str, sample: str) -> Stage:
    place = folder / name
    place.mkdir(parents=True, exist_ok=True)
    rig = place / f"{sample}.toml"
    rig.write_text(samples.text(sample), encoding="utf-8", newline="\n")
    study = service.open_study(rig)
    found = service.findings(study)
    return Stage(study, found, rig)


def _stock(rig: Path) -> Path:
    """The workshop's stock of wire, laid beside a rig."""
    path = rig.parent / "stock.toml"
    path.write_text(samples.stock_text(), encoding="utf-8", newline="\n")
    return path


def _document(first: Stage, second: Stage, result: Comparison) -> dict[str, object]:
    data: dict[str, object] = {}
    for (name, _), stage in zip(STAGES, (first, second), strict=True):
        data[name] = {
            "rig": check.summary(stage.study.given),
            "counts": check.counts(stage.found),
            "verdicts": faults.verdicts(stage.study.protection.drill),
            "rig_file": stage.rig,
        }
    return data | {"comparison": result}


def _say_stage(on: Console, title: str, stage: Stage) -> None:
    heading(on, title)
    on.print(Text("   ").append(check.count_line(on, stage.found)))
    for f in stage.found:
        if f.severity != "Know":
            line = Text("   ").append(sign(f.severity, on))
            line.append(clean(f"  {f.code} {f.title}: {', '.join(f.where)}"), style="not bold default")
            on.print(line, overflow="ellipsis", no_wrap=True)
    on.print()
    power = stage.study.power
    for engine in ENGINE_STATES:
        case = power.case(engine, PROGRAMME)
        amplifiers = {i.id: case.items[i.id] for i in stage.study.rig.family("amplifier") if i.id in case.items}
        if amplifiers:
            lowest = min(amplifiers, key=lambda a: amplifiers[a].volts_v)
            state = amplifiers[lowest]
            on.print(
                Text(
                    clean(
                        f"   Engine {engine + ',':<7} {PROGRAMME}: lowest at {lowest}, {three(state.volts_v)} V"
                        f" ({three(state.drop_v)} V lost on the way)"
                    )
                )
            )
    for s in power.sessions:
        words = (
            f"cranks after {three(s.horizon_h)} h"
            if math.isinf(s.hours_to_no_crank_h)
            else f"will not crank after {seconds(s.hours_to_no_crank_h * 3600.0)}"
        )
        on.print(Text(clean(f"   Engine {s.engine + ',':<7} {s.programme}: {words}")))
    drill = stage.study.protection.drill
    line = Text(f"   Drill: {len(drill)} faults: ")
    parts = [Text(f"{n} {v}", style=VERDICTS[v]) for v, n in faults.verdicts(drill).items() if n]
    on.print(line.append(Text(", ").join(parts)))
