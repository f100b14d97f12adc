"""Draws the picture of the page on tracing: a scene of the bench, traced, with the outline over it."""

from __future__ import annotations

import io
import sys
from dataclasses import replace
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
MOST_BYTES = 200_000


def main() -> int:
    """Write ``docs/img/trace.jpg``."""
    sys.path.insert(0, str(ROOT))
    from PIL import Image

    from bench._boards import case
    from bench._scene import photograph
    from loomwright.trace import overlay
    from loomwright.trace.photograph import trace

    made = case(10, 2400).scene
    data = photograph(replace(made, noise=0.002))
    found = trace([("photo.jpg", data)], made.board.thickness_mm)
    with Image.open(io.BytesIO(overlay.png("photo.jpg", data, found.over_px))) as image:
        small = image.convert("RGB").resize((1000, round(1000 * image.height / image.width)), Image.Resampling.LANCZOS)
    path = ROOT / "docs" / "img" / "trace.jpg"
    small.save(path, "JPEG", quality=72, optimize=True)
    size = path.stat().st_size
    print(f"{path.relative_to(ROOT)}: {size / 1000:.0f} kB")
    return int(size > MOST_BYTES)


if __name__ == "__main__":
    sys.exit(main())
