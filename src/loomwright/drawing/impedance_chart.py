"""What a channel sees: size and phase of its load against frequency, the amplifier's least load as a line."""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.drawing import figures, scales
from loomwright.drawing.marks import Mark, Sheet, Stroke
from loomwright.drawing.plot import Plot, Tag, sheet
from loomwright.sound.sheet import HIGH_HZ, LOW_HZ, ChannelSheet

LEFT_MM, RIGHT_MM = 16.0, 44.0
_TOP_MM = 13.0
_GAP_MM = 4.0
_PHASE_SHARE = 0.45
_BOLD = Stroke(0.5)
_LIMIT = Stroke(0.5, "stop", "dashed")


def draw(
    channel: ChannelSheet,
    frequency_hz: Sequence[float],
    width_mm: float = 174.0,
    plot_mm: float = 44.0,
) -> Sheet | None:
    """The chart of one channel of a sound sheet, over the sheet's frequencies; None where the channel is open."""
    rated_ohm = channel.rated_ohm
    if not channel.impedance_ohm or channel.least_ohm is None:
        return None
    known = [*channel.impedance_ohm, *((rated_ohm,) if rated_ohm else ())]
    x = scales.Scale(LOW_HZ, HIGH_HZ, LEFT_MM, width_mm - RIGHT_MM, logarithmic=True)
    size = Plot(x, scales.log_scale(max(min(known) * 0.8, 0.01), max(known), _TOP_MM + plot_mm, _TOP_MM))
    size.axes("", "Ω")
    tags = []
    if rated_ohm is not None:
        at = size.level(rated_ohm, _LIMIT)
        tags.append(Tag(at, f"least load {figures.unit(figures.three(rated_ohm), 'Ω')}", "stop", "semibold"))
    if channel.nominal_ohm is not None and size.y.low <= channel.nominal_ohm <= size.y.high:
        at = size.level(channel.nominal_ohm, Stroke(0.25, "pencil", "chain"))
        tags.append(Tag(at, f"nominal {figures.unit(figures.three(channel.nominal_ohm), 'Ω')}", "pencil"))
    size.line(zip(frequency_hz, channel.impedance_ohm, strict=True), _BOLD)
    tags.append(Tag(size.y.at(channel.impedance_ohm[-1]), "real load"))
    if channel.least_at_hz is not None and LOW_HZ <= channel.least_at_hz <= HIGH_HZ:
        size.dot(channel.least_at_hz, channel.least_ohm)
    size.tags_right(tags, RIGHT_MM)
    top = _TOP_MM + plot_mm + 6.0 + _GAP_MM
    high = plot_mm * _PHASE_SHARE
    span = max(45.0, *(abs(d) for d in channel.impedance_deg))
    phase = Plot(x, scales.linear_scale(-span, span, top + high, top, 4))
    phase.axes("Frequency [Hz]", "Degrees")
    phase.level(0.0, Stroke(0.25, "pencil"))
    phase.line(zip(frequency_hz, channel.impedance_deg, strict=True), Stroke(0.35))
    phase.tags_right([Tag(phase.y.at(channel.impedance_deg[-1]), "phase")], RIGHT_MM)
    least = figures.unit(figures.three(channel.least_ohm), "Ω")
    where = figures.unit(figures.three(channel.least_at_hz or 0.0), "Hz")
    fed = ", ".join(d.driver for d in channel.drivers)
    under = f"{fed}: at least {least}, at {where}." if fed else f"At least {least}, at {where}."
    made = sheet(width_mm, top + high + 9.5, f"Load on {channel.channel}", size, under)
    marks: tuple[Mark, ...] = (*made.marks, *phase.finish())
    return Sheet(width_mm, made.height_mm, marks, made.title)
