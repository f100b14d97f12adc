"""Signs for the three severities in the shapes and colours of ISO 3864; each is always set beside its word."""

from __future__ import annotations

import math

from loomwright.drawing.marks import Circle, Mark, Path, Sheet, Stroke, Text, rectangle
from loomwright.findings.model import Severity

_SIZE_MM = 10.0


def sign(severity: Severity) -> Sheet:
    """Stop: a red ring with a bar. Fix: a yellow triangle with a black edge. Know: a blue disc."""
    marks: tuple[Mark, ...]
    if severity == "Stop":
        reach = 3.9 * math.sqrt(0.5)
        marks = (
            Circle((5, 5), 4.1, Stroke(1.3, "stop"), "raised"),
            Path(((5 - reach, 5 - reach), (5 + reach, 5 + reach)), Stroke(1.3, "stop")),
        )
    elif severity == "Fix":
        marks = (
            Path(((5, 1.1), (9.5, 8.9), (0.5, 8.9)), Stroke(0.9), "fix", closed=True),
            rectangle(4.6, 3.8, 0.8, 2.8, None, "ink"),
            Circle((5, 7.5), 0.5, None, "ink"),
        )
    else:
        marks = (Circle((5, 5), 4.7, None, "know"), Text((5, 7.1), "i", 4.2, "middle", "bold", "raised"))
    return Sheet(_SIZE_MM, _SIZE_MM, marks, severity)
