"""A template as SVG in millimetres: groups ``cut``, ``drill`` and ``mark``, arcs as arcs, no words."""

from __future__ import annotations

from loomwright.template.model import Template
from loomwright.trace.svg_file import number, path

MARGIN_MM = 5.0


def text(template: Template) -> str:
    """The template as SVG, true to size."""
    width, height = template.outline.size_mm
    w, h = number(width + 2 * MARGIN_MM), number(height + 2 * MARGIN_MM)
    cut = "".join(f'  <path d="{path(ring, MARGIN_MM)}"/>\n' for ring in template.outline.rings())
    drill = "".join(
        f'  <circle cx="{number(d.at_mm[0] + MARGIN_MM)}" cy="{number(d.at_mm[1] + MARGIN_MM)}" '
        f'r="{number(d.hole_mm / 2.0)}"/>\n'
        for d in template.holes
    )  # fmt: skip
    mark = "".join(
        f"  <{'polygon' if n.closed else 'polyline'} points="
        f'"{" ".join(f"{number(x + MARGIN_MM)},{number(y + MARGIN_MM)}" for x, y in n.points_mm)}"/>\n'
        for n in template.notes
    )  # fmt: skip
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}">\n'
        f" <title>Board {width:.1f} x {height:.1f} mm, seen from its {template.side}</title>\n"
        f' <g id="cut" fill="none" stroke="#000000" stroke-width="0.2">\n{cut} </g>\n'
        f' <g id="drill" fill="none" stroke="#c00000" stroke-width="0.2">\n{drill} </g>\n'
        f' <g id="mark" fill="none" stroke="#0000c0" stroke-width="0.2">\n{mark} </g>\n</svg>\n'
    )
