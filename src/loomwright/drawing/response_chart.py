"""What a crossover makes of a driver: the level with the parts to buy against the level that was asked for."""

from __future__ import annotations

from loomwright.drawing import figures, scales
from loomwright.drawing.marks import Sheet, Stroke
from loomwright.drawing.plot import Plot, Tag, sheet
from loomwright.sound.crossover import HIGH_HZ, LOW_HZ, CrossoverSheet

LEFT_MM, RIGHT_MM = 14.0, 30.0
_TOP_MM = 15.0
_BOTTOM_MM = 9.5
_LOW_DB, _HIGH_DB = -36.0, 6.0
_EDGE_DB = 4.0


def draw(made: CrossoverSheet, width_mm: float = 150.0, plot_mm: float = 62.0) -> Sheet:
    """The chart; its corners are uprights, where the real level crosses -3 dB is a dot."""
    plot = Plot(
        scales.Scale(LOW_HZ, HIGH_HZ, LEFT_MM, width_mm - RIGHT_MM, logarithmic=True),
        scales.Scale(_LOW_DB, _HIGH_DB, _TOP_MM + plot_mm, _TOP_MM),
    )
    plot.axes("Frequency [Hz]", "Level [dB]")
    plot.line(zip(made.frequency_hz, made.target_db, strict=True), Stroke(0.35, "pencil", "dashed"))
    plot.line(zip(made.frequency_hz, made.level_db, strict=True), Stroke(0.7))
    for corner_hz in corners_hz(made):
        plot.upright(corner_hz, Stroke(0.35, "copper", "long"))
    for crossing in made.crossings:
        plot.dot(crossing.frequency_hz, -made.asked.pad_db - 3.01)
    ends = ((made.level_db, "with these parts", "semibold"), (made.target_db, "asked for", "regular"))
    tags = [Tag(plot.y.at(max(min(v[-1], _HIGH_DB), _LOW_DB + _EDGE_DB)), w, weight=b) for v, w, b in ends]  # type: ignore[arg-type]
    plot.tags_right(tags, RIGHT_MM)
    under = f"0 dB is the channel's own level. {_crossings(made)}"
    return sheet(width_mm, _TOP_MM + plot_mm + _BOTTOM_MM, f"{made.driver} on {made.channel}", plot, under)


def corners_hz(made: CrossoverSheet) -> tuple[float, ...]:
    """The corners that were asked for."""
    asked = made.asked
    if asked.kind == "band-pass":
        return (asked.high_pass_hz, asked.low_pass_hz)
    return (asked.high_pass_hz if asked.kind == "high-pass" else asked.low_pass_hz,)


def _crossings(made: CrossoverSheet) -> str:
    if not made.crossings:
        return f"It never crosses {figures.MINUS}3 dB."
    where = ", ".join(figures.unit(figures.three(c.frequency_hz), "Hz") for c in made.crossings)
    return f"{figures.MINUS}3 dB at {where}."


def window_pct(width_mm: float = 150.0, plot_mm: float = 62.0) -> tuple[float, float, float, float]:
    """Where the plot lies on the chart: left, right, top and bottom edge in percent of its width and height."""
    height = _TOP_MM + plot_mm + _BOTTOM_MM
    return (
        100.0 * LEFT_MM / width_mm,
        100.0 * (width_mm - RIGHT_MM) / width_mm,
        100.0 * _TOP_MM / height,
        100.0 * (_TOP_MM + plot_mm) / height,
    )
