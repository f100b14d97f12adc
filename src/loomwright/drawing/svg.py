"""Sheets as SVG: exact millimetres, fixed decimals, every word escaped, the same bytes for the same sheet."""

from __future__ import annotations

import base64
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path as FilePath

from loomwright.drawing import assets, font_cut, fonts
from loomwright.drawing.colours import Palette, colour, variable
from loomwright.drawing.marks import (
    DASHES_MM,
    Arc,
    Circle,
    Group,
    Mark,
    Path,
    Point,
    Role,
    Sheet,
    Stroke,
    Text,
    Weight,
    arc_points,
    clean,
    flat,
)

_FAMILIES = ", ".join(f"'{family}'" for family in (assets.FONT_FAMILY, *(s.family for s in assets.SCRIPTS)))
_JOINS = ("ccmp", "init", "medi", "fina", "isol", "rlig", "mark", "mkmk")
"""Features of a font that letters which join are written with."""
_USUAL = "".join(sorted(font_cut.USUAL))
_FONT_WEIGHTS: dict[Weight, int] = {"regular": 400, "semibold": 600, "bold": 700}


@lru_cache(maxsize=16384)
def number(value: float) -> str:
    """A length with at most three decimals, never an exponent, never minus zero."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


@lru_cache(maxsize=8192)
def escaped(text: str) -> str:
    """Text for element content or an attribute in double quotes."""
    text = clean(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return text.replace('"', "&quot;").replace("'", "&#39;")


@lru_cache(maxsize=8192)
def safe_id(kind: str, ref: str) -> str:
    """An identifier without spaces or markup that no two refs share: odd characters become ``_`` and their code."""
    return f"{kind}-" + "".join(c if c.isascii() and (c.isalnum() or c in "-.") else f"_{ord(c):x}_" for c in ref)


@lru_cache(maxsize=4096)
def _shown(text: str) -> str:
    """Words that the font can show, for element content."""
    return escaped(fonts.printable(text))


class _Writer:
    def __init__(self, palette: Palette, css_colours: bool) -> None:
        self.palette = palette
        self.css = css_colours
        self.out: list[str] = []
        self.seen: dict[str, int] = {}
        self.pens: dict[Stroke, str] = {}

    def paint(self, role: Role) -> str:
        return variable(role) if self.css else colour(role, self.palette)

    def pen(self, stroke: Stroke | None) -> str:
        if stroke is None:
            return ""
        if stroke not in self.pens:
            self.pens[stroke] = self._pen(stroke)
        return self.pens[stroke]

    def _pen(self, stroke: Stroke) -> str:
        parts = f' stroke="{self.paint(stroke.role)}" stroke-width="{number(stroke.width_mm)}"'
        if stroke.dash != "solid":
            scale = max(1.0, stroke.width_mm / 0.7)
            dashes = " ".join(number(d * scale) for d in DASHES_MM[stroke.dash])
            parts += f' stroke-dasharray="{dashes}"'
        return parts

    def fill(self, role: Role | None) -> str:
        return "" if role is None else f' fill="{self.paint(role)}"'

    def marks(self, marks: Iterable[Mark], depth: int) -> None:
        for mark in marks:
            self.mark(mark, depth)

    def mark(self, mark: Mark, depth: int) -> None:
        pad = " " * depth
        if isinstance(mark, Group):
            attributes = ""
            if mark.kind and mark.ref:
                name = safe_id(mark.kind, mark.ref)
                self.seen[name] = self.seen.get(name, 0) + 1
                if self.seen[name] > 1:
                    name += f"_{self.seen[name]}"
                attributes += f' id="{name}" data-ref="{escaped(mark.ref)}"'
            if mark.kind:
                attributes += f' class="{escaped(mark.kind)}"'
            if mark.title:
                attributes += ' role="img"'
            self.out.append(f"{pad}<g{attributes}>")
            if mark.title:
                self.out.append(f"{pad} <title>{escaped(mark.title)}</title>")
            self.marks(mark.marks, depth + 1)
            self.out.append(f"{pad}</g>")
        elif isinstance(mark, Path):
            tag = "polygon" if mark.closed else "polyline"
            points = " ".join([f"{number(x)},{number(y)}" for x, y in mark.points])
            seen = "" if mark.opacity >= 1.0 else f' opacity="{number(mark.opacity)}"'
            self.out.append(f'{pad}<{tag} points="{points}"{self.fill(mark.fill)}{self.pen(mark.stroke)}{seen}/>')
        elif isinstance(mark, Circle):
            x, y = mark.centre
            self.out.append(
                f'{pad}<circle cx="{number(x)}" cy="{number(y)}" r="{number(mark.radius_mm)}"'
                f"{self.fill(mark.fill)}{self.pen(mark.stroke)}/>"
            )
        elif isinstance(mark, Arc):
            self.out.append(f'{pad}<path d="{_arc(mark)}"{self.pen(mark.stroke)}/>')
        else:
            self.text(mark, pad)

    def text(self, mark: Text, pad: str) -> None:
        x, y = number(mark.at[0]), number(mark.at[1])
        parts = f' x="{x}" y="{y}" font-size="{number(fonts.font_size_mm(mark.size_mm, mark.weight))}"'
        parts += f' fill="{self.paint(mark.role)}"'
        if mark.anchor != "start":
            parts += f' text-anchor="{mark.anchor}"'
        if mark.weight != "regular":
            parts += f' font-weight="{_FONT_WEIGHTS[mark.weight]}"'
        if mark.turn_deg:
            parts += f' transform="rotate({number(mark.turn_deg)} {x} {y})"'
        self.out.append(f"{pad}<text{parts}>{_shown(mark.text)}</text>")


def _arc(mark: Arc) -> str:
    first, last = _ends(mark)
    large = int(abs(mark.end_deg - mark.start_deg) > 180.0)
    sweep = int(mark.end_deg > mark.start_deg)
    radius = number(mark.radius_mm)
    x1, y1, x2, y2 = (number(v) for v in (*first, *last))
    return f"M{x1} {y1}A{radius} {radius} 0 {large} {sweep} {x2} {y2}"


def _ends(mark: Arc) -> tuple[Point, Point]:
    points = arc_points(mark.centre, mark.radius_mm, mark.start_deg, mark.end_deg, 1)
    return points[0], points[1]


def render(
    sheet: Sheet, palette: Palette = "paper", *, css_colours: bool = False, embed_font: bool = False,
    background: Role | None = None,
) -> str:  # fmt: skip
    """The sheet as SVG text.

    ``css_colours`` names each role as a custom property (``var(--ink, ..)``) for a page to set; ``embed_font`` puts
    the letters used into the file, so that it looks the same where the font is not installed.
    """
    writer = _Writer(palette, css_colours)
    if background:
        writer.out.append(
            f' <rect width="{number(sheet.width_mm)}" height="{number(sheet.height_mm)}"{writer.fill(background)}/>'
        )
    writer.marks(sheet.marks, 1)
    width, height = number(sheet.width_mm), number(sheet.height_mm)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}"'
        f' font-family="{_FAMILIES}, sans-serif" fill="none"'
        ' stroke-linecap="butt" stroke-linejoin="miter">'
    )
    lines = ['<?xml version="1.0" encoding="UTF-8"?>', head]
    if sheet.title:
        lines.append(f" <title>{escaped(sheet.title)}</title>")
    if embed_font:
        lines.append(f" <style>{_font_faces(sheet)}</style>")
    return "\n".join([*lines, *writer.out, "</svg>", ""])


def _font_faces(sheet: Sheet) -> str:
    letters: dict[Weight, set[str]] = {}
    for mark in flat(sheet.marks):
        if isinstance(mark, Text):
            letters.setdefault(mark.weight, set(font_cut.USUAL)).update(fonts.printable(mark.text))
    rules = []
    for weight in sorted(letters, key=_FONT_WEIGHTS.__getitem__):
        others: dict[assets.Script, set[str]] = {}
        for letter in letters[weight]:
            if (script := fonts.script_of(letter)) is not None:
                others.setdefault(script, set()).add(letter)
        own = letters[weight].difference(*others.values())
        cuts: list[tuple[str, FilePath, set[str], tuple[str, ...]]] = [
            (assets.FONT_FAMILY, assets.font_path(weight), own, ())
        ]
        cuts += [(s.family, assets.script_path(s, weight), others[s], _JOINS) for s in assets.SCRIPTS if s in others]
        for family, path, used, features in cuts:
            data = base64.b64encode(_subset(path, "".join(sorted(used)), features)).decode("ascii")
            rules.append(
                f"@font-face{{font-family:'{family}';font-weight:{_FONT_WEIGHTS[weight]};"
                f"src:url(data:font/ttf;base64,{data}) format('truetype')}}"
            )
    return "".join(rules)


@lru_cache(maxsize=32)
def _subset(path: FilePath, letters: str, features: tuple[str, ...]) -> bytes:
    """A font with only these letters and features: as it was cut when the package was built, or cut now."""
    made = assets.usual_cut(path)
    if letters == _USUAL and made is not None:
        return made.read_bytes()
    return font_cut.cut(path, letters, features)
