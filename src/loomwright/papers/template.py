"""Templates as PDF, true to size: tiled on paper that everyone has, or on one page."""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.drawing import pages as back_end
from loomwright.drawing import svg, template_pages
from loomwright.drawing.marks import Sheet
from loomwright.template import tiles
from loomwright.template.model import Template
from loomwright.template.tiles import PaperName


def tiled(template: Template, paper: PaperName) -> bytes:
    """A map, then the pages to print at 100 % and tape together.

    Raises
    ------
    EngineMissing
        Where the typesetter or the fonts are not installed.
    """
    tiling = tiles.tiled(template.outline, paper)
    sheets = (template_pages.map_page(template, tiling, paper), *template_pages.pages(template, tiling))
    return bound(sheets, f"Template: {template.title}")


def one_page(template: Template) -> bytes:
    """The whole template on one page: A3 where it goes on one, else as large as it takes."""
    return bound(template_pages.pages(template, tiles.one_page(template.outline)), f"Template: {template.title}")


def bound(sheets: Sequence[Sheet], title: str) -> bytes:
    """Sheets as the pages of one PDF, each of its own exact size."""
    files: dict[str, bytes] = {}
    body = [f'#set document(title: "{back_end.quoted(title)}", date: none)']
    for n, sheet in enumerate(sheets, 1):
        files[f"page{n}.svg"] = svg.render(sheet, "black").encode()
        size = f"width: {svg.number(sheet.width_mm)}mm, height: {svg.number(sheet.height_mm)}mm"
        alt = back_end.quoted(sheet.title)
        body.append(f'#page({size}, margin: 0mm)[#image("page{n}.svg", {size}, alt: "{alt}")]')
    return back_end.typeset({"main.typ": "\n".join(body).encode(), **files}, "pdf")
