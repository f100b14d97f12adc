"""Draws the README's pictures from the demo trike, with the project's own drawing room and papers."""

from __future__ import annotations

import sys
from pathlib import Path

IMG = Path(__file__).resolve().parent.parent / "docs" / "img"
MOST_BYTES = 300_000


def main() -> int:
    """Write the single-line diagram of the planned trike and the front of the report on the trike as found."""
    from loomwright import demo
    from loomwright.drawing import pages
    from loomwright.findings.run import check
    from loomwright.papers.report import gather
    from loomwright.rig.file import load
    from loomwright.study import Study

    IMG.mkdir(parents=True, exist_ok=True)
    planned = Study(load(demo.path("carnival_trike_planned")))
    _, diagram = gather(planned, check(planned))
    if diagram is None:
        print("No diagram was drawn.", file=sys.stderr)
        return 1
    pages.write(diagram, IMG / "single_line.png")
    found = Study(load(demo.path("carnival_trike_as_found")))
    files, _ = gather(found, check(found))
    (IMG / "report.png").write_bytes(pages.typeset(files, "png", dpi=80.0))
    for picture in sorted(IMG.glob("*.png")):
        size = picture.stat().st_size
        print(f"{picture.relative_to(IMG.parent.parent)}: {size / 1000:.0f} kB")
        if size > MOST_BYTES:
            print("That is too large to keep in git.", file=sys.stderr)
            return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
