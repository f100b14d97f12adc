"""Sheets as PDF and PNG, set by typst: one page of exact size, the project's own font, no date."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from loomwright.drawing import assets, font_cut, svg
from loomwright.drawing.colours import Palette
from loomwright.drawing.marks import Sheet, clean
from loomwright.errors import EngineMissing

_PAGE = """#set document(title: "{title}", date: none)
#set page(width: {width}mm, height: {height}mm, margin: 0mm)
#image("sheet.svg", width: {width}mm, height: {height}mm, alt: "{title}")
"""
_ASCII = bytes(range(128))
_PRINTED = frozenset(font_cut.PRINTED)


def typeset(files: dict[str, bytes], kind: str, dpi: float = 144.0) -> bytes:
    """Bytes of a PDF or of one PNG page from ``main.typ`` and the files beside it. Only fonts come from the disk."""
    try:
        import typst
    except ImportError as error:
        raise EngineMissing("Papers need the typst package: type `pip install typst`.") from error
    compile_files: Any = typst.compile  # its type hints leave out the form with files in memory
    fonts = _fonts(assets.print_folder() if _usual(files) else assets.font_folder())
    made = compile_files(files, format=kind, ppi=dpi, font_paths=fonts, ignore_system_fonts=True)
    page: bytes = made[0] if isinstance(made, list) else made
    return page


def _usual(files: dict[str, bytes]) -> bool:
    """Whether the lighter fonts have every letter of what is to be set."""
    others = b"".join(files.values()).translate(None, _ASCII).decode("utf-8", "replace")
    return _PRINTED.issuperset(others)


@cache
def _fonts(folder: Path) -> Any:
    """The fonts in a folder of ours, looked through once, and no others."""
    import typst

    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(folder)])


def _files(sheet: Sheet, palette: Palette) -> dict[str, bytes]:
    page = _PAGE.format(title=quoted(sheet.title), width=svg.number(sheet.width_mm), height=svg.number(sheet.height_mm))
    return {"main.typ": page.encode(), "sheet.svg": svg.render(sheet, palette).encode()}


def quoted(title: str) -> str:
    """The title inside a typst string literal."""
    return clean(title).replace("\\", "\\\\").replace('"', '\\"')


def pdf(sheet: Sheet, palette: Palette = "paper") -> bytes:
    """The sheet as a one-page PDF."""
    return typeset(_files(sheet, palette), "pdf")


def png(sheet: Sheet, palette: Palette = "paper", dpi: float = 144.0) -> bytes:
    """The sheet as a PNG picture."""
    return typeset(_files(sheet, palette), "png", dpi)


def content(sheet: Sheet, ending: str, palette: Palette = "paper") -> bytes:
    """The sheet as a file with an ending: ``svg``, ``pdf`` or ``png``."""
    if ending == "svg":
        return svg.render(sheet, palette, embed_font=True, background="raised").encode()
    if ending == "pdf":
        return pdf(sheet, palette)
    if ending == "png":
        return png(sheet, palette)
    raise ValueError(f"a drawing is written as .svg, .pdf or .png; received .{ending}")


def write(sheet: Sheet, path: Path, palette: Palette = "paper") -> Path:
    """Write the sheet by the ending of the path: ``.svg``, ``.pdf`` or ``.png``."""
    try:
        made = content(sheet, path.suffix.lower().removeprefix("."), palette)
    except ValueError as error:
        raise ValueError(f"{path}: {error}") from None
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(made)
    return path
