"""Templates of the demo panels, measured in the PDF: check bars, crosses that two pages share; DXF; time."""

from __future__ import annotations

import io
import math
import time
from typing import Any

import pdfplumber
from ezdxf import recover

from bench.rows import Row, at_most
from loomwright import demo
from loomwright.papers import template as paper
from loomwright.rig.file import parse
from loomwright.study import Study
from loomwright.template import board, dxf_file, tiles
from loomwright.template.model import Template

DEMOS = ("canal_launch", "carnival_trike_planned", "harvest_buggy")
MM = 25.4 / 72.0
ARM_MM = 4.0
Line = tuple[tuple[float, float], tuple[float, float]]


def rows() -> list[Row]:
    """The worst bar, the worst pair of crosses, what the audit says, and how long a template takes."""
    made = [
        board.template(Study(parse(demo.text(name), name)).boards[0], name) for name in DEMOS
    ]  # fmt: skip
    bars, joins, took = [], [], []
    for one in made:
        for size in ("a4", "letter"):
            begun = time.perf_counter()
            data = paper.tiled(one, size)
            took.append(time.perf_counter() - begun)
            some, apart = _measured(one, data, size)
            bars += some
            joins += apart
    audits = [recover.read(io.BytesIO(dxf_file.content(t)))[1] for t in made]
    return [
        at_most("printed template: 100 mm bar, worst of every page", max(bars), "mm", 0.02),
        at_most("printed template: crosses of joined pages, worst", max(joins), "mm", 0.05),
        at_most("DXF: errors of the audit", sum(len(a.errors) for a in audits), "", 0),
        at_most("template of a panel as tiled PDF, worst", max(took), "s", 1.0),
    ]


def _measured(template: Template, data: bytes, size: tiles.PaperName) -> tuple[list[float], list[float]]:
    tiling = tiles.tiled(template.outline, size)
    bars, found = [], {}
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        for tile, page in zip(tiling.tiles, pdf.pages[1:], strict=True):
            lines = _lines(page)
            bars += [abs(math.dist(a, b) - 100.0) for a, b in lines if abs(math.dist(a, b) - 100.0) < 0.5]
            found[tile.name] = _crosses(lines)
    joins = []
    for tile in tiling.tiles:
        for _, other in tiling.neighbours(tile):
            dx, dy = other.left_mm - tile.left_mm, other.top_mm - tile.top_mm
            joins += [
                gap for a in found[tile.name] for b in found[other.name]
                if (gap := math.dist((a[0] - dx, a[1] - dy), b)) < 1.0
            ]  # fmt: skip
    return bars, joins


def _lines(page: Any) -> list[Line]:
    return [
        ((float(a[0]) * MM, float(a[1]) * MM), (float(b[0]) * MM, float(b[1]) * MM))
        for a, b in (one["pts"] for one in page.lines)
    ]


def _crosses(lines: list[Line]) -> list[tuple[float, float]]:
    arms = [(a, b) for a, b in lines if abs(math.dist(a, b) - 2.0 * ARM_MM) < 0.02]
    flat = [((a[0] + b[0]) / 2.0, a[1]) for a, b in arms if abs(a[1] - b[1]) < 0.01]
    upright = [(a[0], (a[1] + b[1]) / 2.0) for a, b in arms if abs(a[0] - b[0]) < 0.01]
    return [p for p in flat if any(math.dist(p, q) < 0.02 for q in upright)]
