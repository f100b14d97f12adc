"""The template of a board: what to cut, drill and mark, true to size; pages to tile; DXF and SVG."""
