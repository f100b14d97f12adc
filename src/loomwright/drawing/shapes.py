"""Boxes of a power diagram, one way of drawing for each family of part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loomwright.drawing import symbols
from loomwright.drawing.boxes import LINE_MM, TEXT_MM, Build, End, Line, Row, Shape, at_terminal, fact, lines, widest
from loomwright.drawing.figures import MINUS
from loomwright.drawing.marks import Circle, Group, Mark, Path, Stroke, Text, line, rectangle
from loomwright.rig.model import Item

_THIN = Stroke(0.35)
_CASE = Stroke(0.25, "ink", "chain")
_BAR = Stroke(1.4)
_WORDS_MM = 31.0


@dataclass(frozen=True, slots=True)
class Content:
    """What a box says about its item: figures under the name, and the words of each over-current device in it."""

    item: Item
    figures: tuple[str, ...] = ()
    devices: tuple[str, ...] = ()  # by way, from 1; an amplifier's own fuses: one entry
    empty: tuple[int, ...] = ()  # ways without a fuse
    title: str | None = None  # what it is; None: as its part says

    @property
    def words(self) -> str:
        """What the item is, in words."""
        return self.item.part.title if self.title is None else self.title


def shape(content: Content, west: Sequence[End], east: Sequence[End]) -> Shape:
    """The box of one item with its wire ends on the left and on the right."""
    match content.item.part.family:
        case "battery":
            return _dipole(content, west, east, symbols.battery(), "plus")
        case "charger":
            return _dipole(content, west, east, symbols.generator(), "out")
        case "fuse_holder" | "breaker" | "switch" | "isolator":
            return _through(content, west, east)
        case "fused_block" | "plain_block":
            return _block(content, west, east)
        case "connector":
            return _connector(content, west, east)
        case "bus" | "frame" | "splice":
            return _bar(content, west, east)
        case "dcdc":
            return _converter(content, west, east)
        case "relay":
            return _relay(content, west, east)
        case _:
            return _load(content, west, east)


def _words(content: Content, limit_mm: float = _WORDS_MM) -> tuple[Line, ...]:
    return lines(content.item.id, content.words, content.figures, limit_mm)


def _by_terminal(content: Content, ends: Sequence[End]) -> list[End]:
    order = {t.name: k for k, t in enumerate(content.item.part.terminals)}
    return sorted(ends, key=lambda e: order.get(e.terminal, 999))


def _lead(end: End) -> Stroke:
    """The line of a wire inside a box: broken where the wire is a return."""
    return Stroke(min(end.stroke.width_mm, 0.7), dash=end.stroke.dash)


def _thin(end: End | None) -> Stroke:
    """A thin line inside a box that belongs to a wire's end."""
    return _THIN if end is None else Stroke(_THIN.width_mm, dash=end.stroke.dash)


def _tie(build: Build, x: float, rows: Sequence[Row], to_y: float | None = None) -> None:
    """Join rows with an upright line at x, a dot wherever three lines meet."""
    ys = [y for y, w, e in rows if w or e]
    marks = [y for y, w, e in rows if (w and e) or len(ys) > 1]
    if to_y is not None:
        ys.append(to_y)
    if len(ys) > 1:
        first = next((end for _, w, e in rows for end in (w, e) if end), None)
        build.marks.append(line(x, min(ys), x, max(ys), _thin(first)))
    for y, w, e in rows:
        if w:
            build.marks.append(line(build.left, y, x, y, _lead(w)))
        if e:
            build.marks.append(line(x, y, build.right, y, _lead(e)))
    build.marks += [symbols.dot(x, y) for y in marks]


def _dipole(content: Content, west: Sequence[End], east: Sequence[End], symbol: tuple[Mark, ...], feed: str) -> Shape:
    """A source between its feed on top and its return below."""
    words = _words(content)
    build = Build(list(west), list(east), 14.0 + widest(words) + 1.0)
    x = build.left + 6.5
    top = build.rows(at_terminal(west, feed), at_terminal(east, feed))
    y_top = top[-1][0]
    y_text = y_top + 2.6
    y_below = y_text + LINE_MM * len(words)
    height = max(14.0, y_below - y_top)
    y_symbol = y_top + height / 2
    build.words(words, build.left + 13.0, y_text)
    build.y = y_top + height - 4.0
    others_w = [e for e in west if e.terminal != feed]
    others_e = [e for e in east if e.terminal != feed]
    bottom = build.rows(others_w, others_e)
    _tie(build, x, top, y_symbol - 6)
    _tie(build, x, bottom, y_symbol + 6)
    build.marks += symbols.at(symbol, x, y_symbol)
    return build.finish()


def _reach(build: Build, rows: Sequence[Row], y: float, west_x: float, east_x: float) -> None:
    """Lead every wire end of some rows to the symbol that lies at height y between ``west_x`` and ``east_x``."""
    for row_y, w, e in rows:
        if w:
            build.marks.append(Path(((build.left, row_y), (west_x, row_y), (west_x, y)), _thin(w)))
        if e:
            build.marks.append(Path(((build.right, row_y), (east_x, row_y), (east_x, y)), _thin(e)))
    for side, x in ((1, west_x), (2, east_x)):
        ys = [row[0] for row in rows if row[side]]
        if len(ys) > 1:
            build.marks += [symbols.dot(x, v) for v in ys[:-1]]


def _through(content: Content, west: Sequence[End], east: Sequence[End]) -> Shape:
    """Something that lies in one line: in on one side, out on the other."""
    family = content.item.part.family
    if family == "isolator":
        symbol = symbols.relay_contact() if getattr(content.item.part.spec, "kind", "") == "relay" else symbols.diode()
    else:
        symbol = {"breaker": symbols.breaker, "switch": symbols.switch}.get(family, symbols.fuse)()
    title = "" if family == "fuse_holder" else content.words
    words = lines(content.item.id, title, (*content.devices, *content.figures), _WORDS_MM)
    build = Build(list(west), list(east), max(14.0, widest(words) + 2.0))
    build.y = build.words(words, build.middle, 0.4, "middle") - 1.4
    rows = build.rows(_by_terminal(content, west), _by_terminal(content, east))
    y = rows[0][0]
    build.marks += symbols.at(symbol, build.middle, y)
    _reach(build, rows, y, build.middle - symbols.REACH, build.middle + symbols.REACH)
    build.y = max(build.y, y + 3.2)
    return build.finish()


def _block(content: Content, west: Sequence[End], east: Sequence[End]) -> Shape:
    """A block: one bar, and a way (with its fuse) for each output."""
    item = content.item
    words = _words(content)
    device_mm = widest([fact(d, 99.0) for d in content.devices])
    build = Build(list(west), list(east), max(widest(words) + 3.0, device_mm + 8.0, 14.0))
    build.y = build.words(words, build.middle, 1.6, "middle") + 0.4
    x = build.left + 4.0
    feeds = at_terminal(west, "in")
    on_bar = [y for y, _, e in build.rows([], at_terminal(east, "in"), 0) if e]
    build.marks += [line(x, y, build.right, y, _THIN) for y in on_bar]
    for number, way in enumerate((t.name for t in item.part.terminals if t.name != "in"), 1):
        out_w, out_e = at_terminal(west, way), at_terminal(east, way)
        feed = [feeds.pop(0)] if feeds and not out_w else []
        device = content.devices[number - 1] if number <= len(content.devices) else ""
        if device:
            build.y += 1.6 if out_e or out_w or feed else 3.2
        rows = build.rows([*out_w, *feed], out_e)
        _way(build, x, rows, device, number in content.empty, f"{item.id}.{number}")
        on_bar += [row_y for row_y, w, _ in rows if w]
        on_bar.append(rows[0][0])
        build.marks += [line(build.left, row_y, x, row_y, _THIN) for row_y, w, _ in rows if w]
    for y, w, _ in build.rows(feeds, [], 0):
        if w:
            build.marks.append(line(build.left, y, x, y, _THIN))
            on_bar.append(y)
    build.marks.append(line(x, min(on_bar) - 1.5, x, max(on_bar) + 1.5, _BAR))
    build.y += 0.8
    build.marks.insert(0, rectangle(build.left, 0, build.core_mm, build.y, _CASE))
    return build.finish()


def _way(build: Build, x: float, rows: Sequence[Row], device: str, empty: bool, ref: str) -> None:
    """One way of a block, from the bar at x to the right edge; its fuse is ``ref``."""
    y = rows[0][0]
    used = any(e for _, _, e in rows)
    end_x = build.right if used else build.right - 3.0
    middle = (x + end_x) / 2
    words = Text((middle, y - 2.6), device, TEXT_MM, "middle", role="pencil" if empty else "ink")
    if device and empty:
        build.marks.append(words)
        build.marks += [
            line(x, y, middle - 4.0, y, _THIN), line(middle + 4.0, y, end_x, y, _THIN),
            *(Circle((middle + d, y), 0.5, _THIN, "raised") for d in (-4.0, 4.0)),
        ]  # fmt: skip
    elif device:
        build.marks.append(line(x, y, end_x, y, _THIN))
        fuse = rectangle(middle - 4.0, y - 1.5, 8.0, 3.0, _THIN)
        build.ends.append(Group((words, fuse), "device", ref, f"fuse {ref}"))
    elif used:
        build.marks.append(line(x, y, end_x, y, _THIN))
    else:
        build.marks += [line(x, y, x + 3.0, y, _THIN), Circle((x + 3.5, y), 0.5, _THIN, "raised")]
    for row_y, _, e in rows[1:]:
        if e:
            build.marks.append(Path(((build.right - 1.5, y), (build.right - 1.5, row_y), (build.right, row_y)), _THIN))


def _connector(content: Content, west: Sequence[End], east: Sequence[End]) -> Shape:
    """A connector: one row for each contact in use."""
    words = _words(content)
    build = Build(list(west), list(east), max(16.0, widest(words) + 2.0))
    build.y = build.words(words, build.middle, 1.4, "middle") - 0.4
    x = build.middle
    for number in sorted({int(e.terminal[1:]) for e in (*west, *east)}):
        names = (f"a{number}", f"b{number}")
        rows = build.rows(at_terminal(west, *names), at_terminal(east, *names))
        y = rows[0][0]
        build.marks += symbols.at(symbols.contact(), x, y)
        build.marks.append(Text((x + 3.6, y - 1.1), str(number), TEXT_MM, role="pencil"))
        _reach(build, rows, y, x - symbols.REACH, x + symbols.REACH)
    build.marks.insert(0, rectangle(build.left, 0, build.core_mm, build.y, _CASE))
    return build.finish()


def _bar(content: Content, west: Sequence[End], east: Sequence[End]) -> Shape:
    """Metal that joins everything: a bus bar, the frame, a splice."""
    family = content.item.part.family
    words = _words(content)
    build = Build(list(west), list(east), max(8.0, widest(words) + 1.0))
    build.y = build.words(words, build.middle, 0.4, "middle") + 0.6
    x = build.middle
    top = build.y
    rows = build.rows(_by_terminal(content, west), _by_terminal(content, east))
    for y, w, e in rows:
        if w:
            build.marks.append(line(build.left, y, x, y, _lead(w)))
        if e:
            build.marks.append(line(x, y, build.right, y, _lead(e)))
        build.marks.append(symbols.dot(x, y, 1.0))
    if family == "splice":
        if len(rows) > 1:
            build.marks.append(line(x, rows[0][0], x, rows[-1][0], _THIN))
        return build.finish()
    last = rows[-1][0] + 2.2
    build.marks.append(line(x, top + 0.6, x, last, _BAR))
    if family == "frame":
        build.marks += symbols.at(symbols.frame_ground(), x, last)
        build.y = max(build.y, last + 6.6)
    return build.finish()


def _converter(content: Content, west: Sequence[End], east: Sequence[End]) -> Shape:
    """A DC-DC converter: in on the left, out on the right, ground below."""
    words = _words(content)
    build = Build(list(west), list(east), max(widest(words) + 3.0, 24.0))
    feed_w, feed_e = at_terminal(west, "in", "out"), at_terminal(east, "in", "out")
    build.y = 1.6
    rows = build.rows(feed_w, feed_e)
    y = max(rows[0][0], 7.0)
    x = build.middle
    _reach(build, rows, y, x - 8, x + 8)
    build.marks += [line(x - 8, y, x - 5, y, _THIN), line(x + 5, y, x + 8, y, _THIN)]
    build.marks += symbols.at(symbols.converter(), x, y)
    build.y = build.words(words, build.left + 1.5, max(y + 6.6, rows[-1][0] + 2.6)) - 3.0
    ground_w = [e for e in west if e.terminal not in ("in", "out")]
    ground_e = [e for e in east if e.terminal not in ("in", "out")]
    for row_y, w, e in build.rows(ground_w, ground_e, 0):
        _sign(build, row_y, MINUS, west=w is not None, east=e is not None)
    build.y += 0.6
    build.marks.insert(0, rectangle(build.left, 0, build.core_mm, build.y, _THIN))
    return build.finish()


def _sign(build: Build, y: float, sign: str, *, west: bool, east: bool) -> None:
    if west:
        build.marks.append(Text((build.left + 1.0, y + TEXT_MM / 2), sign, TEXT_MM))
    if east:
        build.marks.append(Text((build.right - 1.0, y + TEXT_MM / 2), sign, TEXT_MM, "end"))


def _relay(content: Content, west: Sequence[End], east: Sequence[End]) -> Shape:
    """A relay: its contact, and its coil below."""
    words = _words(content)
    build = Build(list(west), list(east), max(22.0, widest(words) + 2.0))
    build.y = build.words(words, build.middle, 1.4, "middle") - 0.6
    x = build.middle
    contact_w, contact_e = at_terminal(west, "30", "87"), at_terminal(east, "30", "87")
    if not contact_w and not contact_e:
        build.y += 2.6  # an open contact stands higher than its line
    main = build.rows(contact_w, contact_e)
    y = main[0][0]
    build.marks += symbols.at(symbols.relay_contact(), x, y)
    _reach(build, main, y, x - symbols.REACH, x + symbols.REACH)
    build.y = max(build.y, y + 3.0)
    lead_x = x + 2.5
    above = build.rows(at_terminal(west, "86"), at_terminal(east, "86"))
    y_coil = above[-1][0] + 4.2
    build.y = y_coil + 0.2
    below = build.rows(at_terminal(west, "85"), at_terminal(east, "85"))
    build.marks += symbols.at(symbols.coil(), x, y_coil)
    build.marks.append(line(x - 2.0, y_coil - 1.75, x - 2.0, y - 0.6, Stroke(0.25, "ink", "dashed")))
    _tie(build, lead_x, above, y_coil - 1.75)
    _tie(build, lead_x, below, y_coil + 1.75)
    build.marks.insert(0, rectangle(build.left, 0, build.core_mm, build.y, _CASE))
    return build.finish()


def _load(content: Content, west: Sequence[End], east: Sequence[End]) -> Shape:
    """Something that draws current, or a loudspeaker: plus over minus."""
    family = content.item.part.family
    words = _words(content)
    symbol = {
        "amplifier": symbols.amplifier, "processor": symbols.processor, "source": symbols.source,
        "driver": symbols.loudspeaker,
    }.get(family, symbols.load)()  # fmt: skip
    feed = ("supply+", "+")
    own = bool(content.devices)
    left_mm = 22.0 if own else 17.0
    if own:
        words = (*words, *(fact(d, 99.0) for d in content.devices))
    build = Build(list(west), list(east), left_mm + max(widest(words), 16.0) + 2.0)
    feed_w, feed_e = at_terminal(west, *feed), at_terminal(east, *feed)
    rest_w = [e for e in west if e.terminal not in feed]
    rest_e = [e for e in east if e.terminal not in feed]
    top = build.rows(feed_w, feed_e)
    y_top = top[0][0]
    y_text = y_top - 2.6
    y_words = build.words(words, build.left + left_mm, y_text)
    build.y = max(build.y - 3.2, y_words - TEXT_MM - 4.4, top[-1][0] + 5.0)
    bottom = build.rows(rest_w, rest_e)
    y_last = bottom[-1][0]
    x = build.left + left_mm - 8.0
    y_middle = (y_top + y_last) / 2
    build.marks += symbols.at(symbol, x, y_middle)
    for y, w, e in top:
        if own and w and y == y_top:
            build.marks += [
                line(build.left, y, build.left + 8.5, y, _THIN),
                rectangle(build.left + 2.0, y - 1.0, 5.0, 2.0, _THIN),
                Text((build.left + 9.3, y + TEXT_MM / 2), "+", TEXT_MM),
            ]
            _sign(build, y, "+", west=False, east=e is not None)
        else:
            _sign(build, y, "+", west=w is not None, east=e is not None)
    for y, w, e in bottom:
        _sign(build, y, MINUS, west=w is not None, east=e is not None)
    frame_top = y_top - 3.6
    height = max(y_last + 3.0, y_words) - frame_top
    build.marks.insert(0, rectangle(build.left, frame_top, build.core_mm, height, Stroke(0.5)))
    build.y = max(build.y, y_last + 3.2, y_words + 0.2)
    return build.finish()
