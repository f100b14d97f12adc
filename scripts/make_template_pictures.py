"""Draws the pictures of the page on cutting a board: map and page of a template, and a sheet to cut."""

from __future__ import annotations

import io
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
MOST_BYTES = 120_000


def main() -> int:
    """Write ``docs/img/template.png`` and ``docs/img/cut_sheet.png``."""
    from PIL import Image

    from loomwright import demo
    from loomwright.drawing import cut_sheet, pages, template_pages
    from loomwright.rig.file import parse
    from loomwright.study import Study
    from loomwright.template import board, cutting, tiles
    from loomwright.trace.allowances import Allowances

    study = Study(parse(demo.text("carnival_trike_planned"), "carnival_trike_planned.toml"))
    layout, title = study.boards[0], study.given.title
    made = board.template(layout, title, Allowances(covering_mm=3.0))
    tiling = tiles.tiled(made.outline, "a4")
    sheets = [template_pages.map_page(made, tiling, "a4"), template_pages.pages(made, tiling)[0]]
    shown = [Image.open(io.BytesIO(pages.png(s, "black", dpi=72.0))).convert("L") for s in sheets]
    both = Image.new("L", (sum(i.width for i in shown) + 16, max(i.height for i in shown)), 200)
    across = 0
    for one in shown:
        both.paste(one, (across, 0))
        across += one.width + 16
    found = cutting.cuttings(
        [cutting.wanted(layout.panel, made.outline)], (), 3.0, cutting.extras(["lid=650x460", "plate=120x80*2"])
    )[0]  # fmt: skip
    cut = cut_sheet.draw(found.sheets[0], found.cuts[0], title, "plywood, 12 mm", found.kerf_mm, "A4")
    sheet = Image.open(io.BytesIO(pages.png(cut, "paper", dpi=96.0))).convert("P", colors=32)
    worst = 0
    for name, image in (("template", both.convert("P", colors=16)), ("cut_sheet", sheet)):
        path = ROOT / "docs" / "img" / f"{name}.png"
        image.save(path, optimize=True)
        worst = max(worst, path.stat().st_size)
        print(f"{path.relative_to(ROOT)}: {path.stat().st_size / 1000:.0f} kB")
    return int(worst > MOST_BYTES)


if __name__ == "__main__":
    sys.exit(main())
