"""Drawings: a few primitives in millimetres, back ends that write them, and the sheets drawn with them."""
