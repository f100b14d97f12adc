"""A template as DXF (R2010, millimetres): layers ``cut``, ``drill`` and ``mark``."""

from __future__ import annotations

import io

from loomwright.template.model import Template

TEXT_MM = 5.0


def content(template: Template) -> bytes:
    """The template as DXF, y up, the same bytes for the same template."""
    from ezdxf import units
    from ezdxf._options import options
    from ezdxf.document import Drawing
    from ezdxf.enums import TextEntityAlignment

    height = template.outline.size_mm[1]
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        document = Drawing.new("R2010")
        document.units = units.MM
        for name, colour in (("cut", 7), ("drill", 1), ("mark", 5)):
            document.layers.add(name, color=colour)
        space = document.modelspace()
        for ring in template.outline.rings():
            corners = [(s.start_mm[0], height - s.start_mm[1], -s.bulge) for s in ring.sides]
            space.add_lwpolyline(corners, format="xyb", close=True, dxfattribs={"layer": "cut"})
        for hole in template.holes:
            x, y = hole.at_mm
            space.add_circle((x, height - y), hole.hole_mm / 2.0, dxfattribs={"layer": "drill"})
        for note in template.notes:
            points = [(x, height - y) for x, y in note.points_mm]
            space.add_lwpolyline(points, close=note.closed, dxfattribs={"layer": "mark"})
            if note.words:
                words = "".join(c if c.isprintable() else " " for c in note.words)
                x, y = note.middle_mm
                text = space.add_text(words, height=TEXT_MM, dxfattribs={"layer": "mark"})
                text.set_placement((x, height - y), align=TextEntityAlignment.MIDDLE_CENTER)
        stream = io.StringIO()
        document.write(stream)
    finally:
        options.write_fixed_meta_data_for_testing = before
    return stream.getvalue().encode("utf-8")
