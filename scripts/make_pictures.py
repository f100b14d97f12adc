"""Draws the README's pictures from the demo trike, with the project's own drawing room and papers."""

from __future__ import annotations

import sys
from pathlib import Path

IMG = Path(__file__).resolve().parent.parent / "docs" / "img"
MOST_BYTES = 300_000


def main() -> int:
    """Write the single-line diagram of the planned trike and the summary of the pack on the trike as found."""
    from loomwright import demo
    from loomwright.drawing import pages, single_line
    from loomwright.papers import pack
    from loomwright.papers.order import Order
    from loomwright.rig.file import load
    from loomwright.study import Study

    IMG.mkdir(parents=True, exist_ok=True)
    planned = Study(load(demo.path("carnival_trike_planned")))
    pages.write(single_line.draw(planned, planned.rig.engine_states()[-1]), IMG / "single_line.png")
    order = Order(Study(load(demo.path("carnival_trike_as_found"))))
    files = pack.files(order, pack.gather(order, [pack.part("summary")]), whole=False)
    (IMG / "summary.png").write_bytes(pages.typeset(files, "png", dpi=80.0))
    for picture in sorted(IMG.glob("*.png")):
        size = picture.stat().st_size
        print(f"{picture.relative_to(IMG.parent.parent)}: {size / 1000:.0f} kB")
        if size > MOST_BYTES:
            print("That is too large to keep in git.", file=sys.stderr)
            return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
