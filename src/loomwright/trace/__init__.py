"""The outline of a board: from a photograph of a cardboard template, from typed dimensions, from SVG or DXF."""
