"""Levels of one channel from the source to the driver: peak volts at each point, how far each lies under its clip."""

from __future__ import annotations

from loomwright.drawing import figures, fonts, scales
from loomwright.drawing.marks import Circle, Mark, Path, Sheet, Stroke, Text, line
from loomwright.drawing.plot import TEXT_MM, TITLE_MM
from loomwright.sound.levels import ChannelLevels, LevelPoint

_LEFT_MM, _RIGHT_MM = 16.0, 14.0
_TOP_MM = 18.0
_CLIP = Stroke(0.7, "stop")
SLACK_DB = 0.05
"""A point is said to clip only beyond this."""


def draw(levels: ChannelLevels, width_mm: float = 174.0, plot_mm: float = 46.0) -> Sheet:
    """The diagram, the source at full scale and the gain as it is to be set, or as the rig describes it."""
    points = levels.points
    known = [p.peak_v for p in points] + [p.clip_v for p in points if p.clip_v is not None]
    y = scales.log_scale(min(known) / 1.3, max(known) * 1.3, _TOP_MM + plot_mm, _TOP_MM)
    right = width_mm - _RIGHT_MM
    pitch = (right - _LEFT_MM) / max(len(points), 1)
    bottom = _TOP_MM + plot_mm
    title = f"Levels to {levels.channel}, source at full scale"
    marks: list[Mark] = [Text((0.0, TITLE_MM + 0.4), fonts.shortened(title, width_mm, TITLE_MM, "semibold"), TITLE_MM,
                              weight="semibold"),
                         Text((0.0, TITLE_MM + 4.6), fonts.shortened(_gain(levels), width_mm, TEXT_MM), TEXT_MM,
                              role="pencil")]  # fmt: skip
    for value, text in scales.ticks(y):
        at = y.at(value)
        marks.append(line(_LEFT_MM, at, right, at, Stroke(0.13, "rule")))
        marks.append(Text((_LEFT_MM - 1.8, at + TEXT_MM / 2), text, TEXT_MM, "end"))
    marks.append(Text((_LEFT_MM - 11.0, (_TOP_MM + bottom) / 2), "Peak volts [V]", TEXT_MM, "middle", "semibold",
                      turn_deg=-90))  # fmt: skip
    amplifier = next((p.place for p in reversed(points) if p.clip_v is not None), "")
    places = [(_LEFT_MM + pitch * (k + 0.5), y.at(p.peak_v)) for k, p in enumerate(points)]
    marks.append(Path(tuple(places), Stroke(0.5)))
    for (x, at), point in zip(places, points, strict=True):
        marks.append(line(x, bottom, x, bottom + 1.0, Stroke(0.35)))
        marks += _names(point.place, x, bottom + 3.6, pitch - 1.0)
        if point.clip_v is not None:
            clip = y.at(point.clip_v)
            marks += [line(x - 4.0, clip, x + 4.0, clip, _CLIP), line(x, clip, x, at, Stroke(0.18, "stop", "dotted"))]
        marks.append(Circle((x, at), 0.9, None, "ink"))
        marks.append(Text((x, _TOP_MM - 2.4 - 3.3), figures.unit(figures.three(point.peak_v), "V"), TEXT_MM, "middle",
                          "semibold"))  # fmt: skip
        words, clips = margin(point, -levels.gain.tone_dbfs if point.place == amplifier else 0.0)
        marks.append(Text((x, _TOP_MM - 2.4), words, TEXT_MM, "middle", "semibold" if clips else "regular",
                          "stop" if clips else "pencil"))  # fmt: skip
    marks.append(line(_LEFT_MM, bottom, right, bottom, Stroke(0.35)))
    foot = "Bar: clips above it. Peaks are those of a full-scale tone; overlap is how far it runs beyond on purpose."
    marks.append(Text((0.0, bottom + 12.0), foot, TEXT_MM,
                      role="pencil"))  # fmt: skip
    return Sheet(width_mm, bottom + 13.4, tuple(marks), title)


def margin(point: LevelPoint, overlap_db: float = 0.0) -> tuple[str, bool]:
    """The words for a point's clip margin, and whether it clips.

    ``overlap_db`` is how far a full-scale tone may run beyond full output on purpose: programme seldom gets there.
    """
    if point.margin_db is None:
        return "", False
    if -overlap_db - SLACK_DB <= point.margin_db < -SLACK_DB:
        return f"{figures.unit(figures.fixed(-point.margin_db, 1), 'dB')} overlap, as set", False
    if point.margin_db < -SLACK_DB:
        return f"clips by {figures.unit(figures.fixed(-point.margin_db, 1), 'dB')}", True
    return f"{figures.unit(figures.fixed(max(point.margin_db, 0.0), 1), 'dB')} left", False


def _names(place: str, x: float, y: float, limit_mm: float) -> list[Mark]:
    """A terminal's item on one line and its pin on the next."""
    item, dot, pin = place.partition(".")
    made: list[Mark] = [Text((x, y), fonts.shortened(item, limit_mm, TEXT_MM), TEXT_MM, "middle")]
    if dot:
        made.append(Text((x, y + 3.3), fonts.shortened(pin, limit_mm, TEXT_MM), TEXT_MM, "middle", role="pencil"))
    return made


def _gain(levels: ChannelLevels) -> str:
    g = levels.gain
    tone = f"{figures.unit(figures.three(g.tone_hz), 'Hz')} at {figures.unit(figures.fixed(g.tone_dbfs, 0), 'dBFS')}"
    return f"Set {figures.unit(figures.three(g.set_v), 'V')} AC with {tone}, loudspeakers off. Bounded by {g.held_by}."
