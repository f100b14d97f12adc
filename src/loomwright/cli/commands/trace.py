"""``trace``: the outline of a board from photographs, from typed dimensions, from SVG or DXF; marker sheets."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer
from rich.console import Console
from rich.text import Text

from loomwright.cli import answer
from loomwright.cli.commands._options import AsJson
from loomwright.cli.terminal import cell, clean, console, copyable, heading, note, put, sign, table, waiting
from loomwright.drawing.figures import NOTHING
from loomwright.errors import InputError, Problem

if TYPE_CHECKING:
    from loomwright.trace.outline import Outline
    from loomwright.trace.photograph import Bars, Traced

NAME = "trace"
DRAWN = (".svg", ".dxf", ".toml")

Files = Annotated[
    list[Path] | None,
    typer.Argument(metavar="[FILE]...", help="Photographs of one board, or one outline as SVG, DXF or TOML."),
]
Thickness = Annotated[
    float | None, typer.Option("--thickness-mm", help="Thickness of the card in the photograph.", show_default=False)
]
BarsOption = Annotated[
    str,
    typer.Option(
        "--bars", metavar="ACROSSxDOWN", help="Check bars of the printed sheet as measured, in mm; true: 150x200."
    ),
]
SheetsOn = Annotated[
    Literal["auto", "bench", "board"],
    typer.Option("--sheets-on", help="Where the sheets lie: on the bench, level with the board's face, or look."),
]
Size = Annotated[
    str,
    typer.Option(
        "--size", metavar="WxH", help="Typed instead: 600x400, 600x400r20, or corners '0,0 600,0 600,250 0,400'."
    ),
]
Hole = Annotated[
    list[str] | None,
    typer.Option(
        "--hole",
        metavar="D@X,Y",
        help="A hole of a typed board: 40@120,80 or 60x20r10@300,200. Repeat it.",
        show_default=False,
    ),
]
Unit = Annotated[
    Literal["mm", "in"], typer.Option("--unit", help="Unit of typed numbers, and of drawings that state none.")
]
Covering = Annotated[float, typer.Option("--covering-mm", help="Thickness of a covering that wraps the edge.")]
Clearance = Annotated[float, typer.Option("--clearance-mm", help="Air to leave all round.")]
Saw = Annotated[
    Literal["waste", "middle", "board"],
    typer.Option("--saw", help="Where the blade runs: on the waste side of the line, on it, or inside."),
]
Kerf = Annotated[float, typer.Option("--kerf-mm", help="Width of the cut.")]
Back = Annotated[bool, typer.Option("--back", help="As seen from the back.")]
Out = Annotated[
    Path | None,
    typer.Option("--out", "-o", metavar="FILE", help="Write the outline: .svg, .dxf or .toml.", show_default=False),
]
Picture = Annotated[
    Path | None,
    typer.Option("--picture", metavar="FILE", help="Write the outline over the photograph (.png).", show_default=False),
]
Sheets = Annotated[
    Path | None,
    typer.Option("--sheets", metavar="DIR", help="Write marker sheets to print, and leave.", show_default=False),
]


def command(
    files: Files = None,
    thickness_mm: Thickness = None,
    bars: BarsOption = "",
    sheets_on: SheetsOn = "auto",
    size: Size = "",
    hole: Hole = None,
    unit: Unit = "mm",
    covering_mm: Covering = 0.0,
    clearance_mm: Clearance = 0.0,
    saw: Saw = "waste",
    kerf_mm: Kerf = 0.0,
    back: Back = False,
    out: Out = None,
    picture: Picture = None,
    sheets: Sheets = None,
    as_json: AsJson = False,
) -> int:
    """The outline of a board: from photographs of a cardboard template, typed, or from a drawing.

    Photograph the template with printed marker sheets beside it (--sheets prints them); give the thickness of the card.
    """
    if sheets is not None:
        return _print_sheets(sheets, as_json)
    _endings(out, picture)
    from loomwright.trace.allowances import Allowances, applied

    given = files or []
    outline, traced = _outline(given, thickness_mm, bars, sheets_on, size, hole or [], unit)
    allowed = Allowances(covering_mm, clearance_mm, saw, kerf_mm)
    cut = applied(outline, allowed, str(given[0]) if given else "command line")
    if back:
        cut = cut.mirrored()
    written = _write(cut, traced, given, out, picture)
    if as_json:
        answer.give(
            NAME,
            {
                "outline": cut,
                "width_mm": cut.size_mm[0],
                "height_mm": cut.size_mm[1],
                "area_mm2": cut.area_mm2(),
                "inset_mm": allowed.inset_mm(),
                "error_mm": cut.error_mm,
                "photograph": _told(traced),
                "files": written,
            },
        )
        return 0
    on = console()
    _show(on, cut, traced, allowed.inset_mm())
    for f in written:
        copyable(on, str(f))
    note(on, "Check one long side of the template with a rule before you cut. Wear eye and ear protection at the saw.")
    return 0


def _print_sheets(folder: Path, as_json: bool) -> int:
    from loomwright.papers import marker_sheets

    written = []
    with waiting("Drawing the marker sheets"):
        folder.mkdir(parents=True, exist_ok=True)
        for paper in ("a4", "letter"):
            path = folder / f"marker_sheets_{paper}.pdf"
            path.write_bytes(marker_sheets.pdf(paper))
            written.append(path)
    if as_json:
        answer.give(NAME, {"files": written})
        return 0
    on = console()
    for path in written:
        copyable(on, str(path))
    note(on, "Print two pages with different numbers at 100 %, then measure both bars of each.")
    return 0


def _endings(out: Path | None, picture: Path | None) -> None:
    for option, path, endings in (("--out", out, DRAWN), ("--picture", picture, (".png",))):
        if path is not None and path.suffix.lower() not in endings:
            raise InputError(
                [
                    Problem(
                        "command line",
                        f"trace {option}",
                        "a file that ends in " + ", ".join(endings),
                        path.name,
                        "Name it so.",
                    )
                ]
            )


def _outline(
    files: list[Path],
    thickness_mm: float | None,
    bars: str,
    sheets_on: Literal["auto", "bench", "board"],
    size: str,
    holes: list[str],
    unit: str,
) -> tuple[Outline, Traced | None]:
    from loomwright.trace import dxf_file, form, svg_file, typed

    unit_mm = typed.INCH_MM if unit == "in" else 1.0
    drawn = [f for f in files if f.suffix.lower() in DRAWN]
    if bool(files) == bool(size) or (drawn and len(files) > 1) or (holes and not size):
        received = ", ".join(f.name for f in files) or "nothing"
        raise InputError(
            [
                Problem(
                    "command line",
                    "trace",
                    "photographs, or one drawing, or --size (holes go with --size)",
                    f"{received}{' and --size' if size and files else ''}",
                    "Give one of them.",
                )
            ]
        )
    if size:
        return typed.parse(size, holes, unit_mm), None
    if drawn:
        data, name = drawn[0].read_bytes(), str(drawn[0])
        ending = drawn[0].suffix.lower()
        with waiting(f"Reading {drawn[0].name}"):
            if ending == ".svg":
                return svg_file.read(data, name, unit_mm), None
            if ending == ".dxf":
                return dxf_file.read(data, name, unit_mm), None
            return form.read(data.decode("utf-8", "replace"), name), None
    from loomwright.trace import photograph

    with _progress() as say:
        photographs = [(str(f), f.read_bytes()) for f in files]
        traced = photograph.trace(photographs, thickness_mm, _bars(bars), sheets_on, say)
    return traced.outline, traced


class _progress:
    """Says each step on the error stream, where someone is watching."""

    def __enter__(self) -> _progress:
        import sys

        self.on = console(sys.stderr)
        self.status = self.on.status("Reading") if self.on.is_terminal else None
        if self.status is not None:
            self.status.start()
        return self

    def __call__(self, words: str) -> None:
        if self.status is not None:
            self.status.update(Text(clean(words)))

    def __exit__(self, *_: object) -> None:
        if self.status is not None:
            self.status.stop()


def _bars(text: str) -> Bars | None:
    from loomwright.trace.photograph import Bars

    if not text:
        return None
    found = re.fullmatch(r"(\d+(?:\.\d+)?)x(\d+(?:\.\d+)?)", text.strip().lower())
    if found is None:
        raise InputError(
            [
                Problem(
                    "command line",
                    "trace --bars",
                    "across x down in mm, such as 149.8x199.6",
                    text,
                    "Measure both bars of the sheet.",
                )
            ]
        )
    return Bars(float(found[1]), float(found[2]))


def _write(
    outline: Outline, traced: Traced | None, files: list[Path], out: Path | None, picture: Path | None
) -> list[Path]:
    from loomwright.trace import dxf_file, form, overlay, svg_file

    written = []
    if out is not None:
        ending = out.suffix.lower()
        made = (
            svg_file.text(outline).encode()
            if ending == ".svg"
            else dxf_file.content(outline)
            if ending == ".dxf"
            else form.text(outline).encode()
        )
        out.parent.mkdir(parents=True, exist_ok=True)
        out.write_bytes(made)
        written.append(out)
    if picture is not None:
        if traced is None:
            raise InputError(
                [Problem("command line", "trace --picture", "a photograph to draw on", "none", "Leave it out.")]
            )
        picture.parent.mkdir(parents=True, exist_ok=True)
        picture.write_bytes(overlay.png(str(files[0]), files[0].read_bytes(), traced.over_px))
        written.append(picture)
    return written


def _told(traced: Traced | None) -> dict[str, object] | None:
    if traced is None:
        return None
    return {
        "residual_px": traced.residual_px,
        "tilt_deg": traced.tilt_deg,
        "high_mm": traced.high_mm,
        "k1": traced.k1,
        "sheets": traced.sheets,
        "sigma_of_worst_side": traced.shares,
        "warnings": traced.warnings,
        "notes": traced.notes,
    }


def _show(on: Console, outline: Outline, traced: Traced | None, inset_mm: float) -> None:
    width, height = outline.size_mm
    seen = "from the back" if outline.back else "from the face"
    heading(on, f"Board {width:.1f} x {height:.1f} mm, {outline.area_mm2() / 100.0:.0f} cm2, seen {seen}")
    made = table("ring", "side", "kind", "length mm", "radius mm", "+- mm", left=("ring", "kind"))
    for k, ring in enumerate(outline.rings()):
        for n, side in enumerate(ring.sides):
            made.add_row(
                cell("rim" if k == 0 else f"hole {k}"),
                str(n + 1),
                side.kind,
                f"{side.length_mm:.2f}",
                f"{side.radius_mm:.2f}" if side.bulge else NOTHING,
                f"{3.0 * side.sigma_mm:.2f}" if side.sigma_mm else NOTHING,
            )
    put(on, made)
    if inset_mm:
        note(
            on, f"The line to saw lies {abs(inset_mm):g} mm {'inside' if inset_mm > 0.0 else 'outside'} of the outline."
        )
    if traced is None:
        return
    note(
        on,
        f"No side is wrong by more than {traced.error_mm:.2f} mm (three standard deviations). "
        f"Sheets: {'; '.join(traced.sheets)}.",
    )
    for words in traced.warnings:
        line = sign("Fix", on)
        line.append(Text(f"  {clean(words)}", style="not bold"))
        put(on, line)
    for words in traced.notes:
        note(on, words)
