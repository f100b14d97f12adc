"""Boxes: left, top, right, bottom [mm]."""

from __future__ import annotations

from loomwright.panel.results import Box

EXACT_MM = 1e-6


def overlap(a: Box, b: Box) -> bool:
    """Whether two boxes share an area."""
    return a[0] < b[2] - EXACT_MM and b[0] < a[2] - EXACT_MM and a[1] < b[3] - EXACT_MM and b[1] < a[3] - EXACT_MM


def meet(a: Box, b: Box) -> bool:
    """Whether two boxes, which may be no wider than a line, meet inside; where they only touch they do not."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
