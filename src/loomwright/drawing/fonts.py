"""How wide words are: advance widths read from the font itself (tables head, hhea, hmtx, cmap, OS/2)."""

from __future__ import annotations

import re
import struct
import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path

from loomwright.drawing import assets
from loomwright.drawing.marks import Text, Weight, clean


@dataclass(frozen=True, slots=True)
class Face:
    """Advance widths of one font, in units of its em."""

    widths: dict[int, float]
    missing: float
    cap_height: float
    descent: float


@cache
def face(weight: Weight) -> Face:
    """The measures of one weight, read once."""
    return _read(assets.font_path(weight))


@cache
def _script_widths(script: assets.Script, weight: Weight) -> dict[int, float]:
    """Advance widths of another script's letters [em]; marks that only steer the direction are left out."""
    widths = _read(assets.script_path(script, weight)).widths
    codes = [c for r in script.codes for c in r if c in widths and unicodedata.category(chr(c)) != "Cf"]
    return {c: widths[c] for c in codes}


def script_of(char: str) -> assets.Script | None:
    """The other script that a letter is of, where its font has the letter."""
    for script in assets.SCRIPTS:
        if any(ord(char) in codes for codes in script.codes):
            return script if ord(char) in _script_widths(script, "regular") else None
    return None


def _advance(char: str, weight: Weight) -> float:
    """Advance width of a letter [em]. Joined letters are no wider than they are alone."""
    measures = face(weight)
    width = measures.widths.get(ord(char))
    if width is None and (script := script_of(char)) is not None:
        width = _script_widths(script, weight).get(ord(char))
    return measures.missing if width is None else width


def _read(path: Path) -> Face:
    data = path.read_bytes()
    count = struct.unpack_from(">H", data, 4)[0]
    tables = {}
    for k in range(count):
        tag, _, start, _ = struct.unpack_from(">4sLLL", data, 12 + 16 * k)
        tables[tag.decode("ascii")] = start
    per_em = struct.unpack_from(">H", data, tables["head"] + 18)[0]
    metrics = struct.unpack_from(">H", data, tables["hhea"] + 34)[0]
    advances = [struct.unpack_from(">H", data, tables["hmtx"] + 4 * k)[0] / per_em for k in range(metrics)]
    cap = struct.unpack_from(">h", data, tables["OS/2"] + 88)[0] / per_em
    widths = {code: advances[min(glyph, metrics - 1)] for code, glyph in _characters(data, tables["cmap"])}
    return Face(widths, advances[0], cap, 0.22)


def _characters(data: bytes, cmap: int) -> list[tuple[int, int]]:
    """Pairs of character code and glyph, from the widest Unicode subtable (format 4 or 12)."""
    found: dict[int, int] = {}
    for k in range(struct.unpack_from(">H", data, cmap + 2)[0]):
        platform, encoding, offset = struct.unpack_from(">HHL", data, cmap + 4 + 8 * k)
        if (platform, encoding) in ((0, 3), (0, 4), (3, 1), (3, 10)):
            found[struct.unpack_from(">H", data, cmap + offset)[0]] = cmap + offset
    if 12 in found:
        start = found[12]
        pairs = []
        for k in range(struct.unpack_from(">L", data, start + 12)[0]):
            first, last, glyph = struct.unpack_from(">LLL", data, start + 16 + 12 * k)
            pairs += [(code, glyph + code - first) for code in range(first, last + 1)]
        return pairs
    start = found[4]
    segments = struct.unpack_from(">H", data, start + 6)[0] // 2
    pairs = []
    for k in range(segments):
        last = struct.unpack_from(">H", data, start + 14 + 2 * k)[0]
        first = struct.unpack_from(">H", data, start + 16 + 2 * segments + 2 * k)[0]
        delta = struct.unpack_from(">H", data, start + 16 + 4 * segments + 2 * k)[0]
        where = start + 16 + 6 * segments + 2 * k
        reach = struct.unpack_from(">H", data, where)[0]
        for code in range(first, min(last, 0xFFFE) + 1):
            glyph = code
            if reach:
                glyph = struct.unpack_from(">H", data, where + reach + 2 * (code - first))[0]
                if glyph == 0:
                    continue
            pairs.append((code, (glyph + delta) % 65536))
    return pairs


def font_size_mm(size_mm: float, weight: Weight = "regular") -> float:
    """Size of the em for a height of capitals [mm]."""
    return size_mm / face(weight).cap_height


@lru_cache(maxsize=8192)
def printable(text: str) -> str:
    """The text on one line, with its code for each character that the font has no letter for: ``[U+7DDA]``.

    So nothing is lost in print, and two names that differ stay different.
    """
    if text.isascii() and text.isprintable():
        return text
    known = face("regular").widths
    out = []
    for char in text:
        shown = " " if char in "\t\n\r" else char
        has = ord(shown) in known or script_of(shown) is not None
        out.append(shown if has and clean(shown) == shown else f"[U+{ord(char):04X}]")
    return "".join(out)


@lru_cache(maxsize=8192)
def width_mm(text: str, size_mm: float, weight: Weight = "regular") -> float:
    """Width of a line of words [mm]."""
    ems = sum(_advance(char, weight) for char in printable(text))
    return ems * size_mm / face(weight).cap_height


@lru_cache(maxsize=4096)
def shortened(text: str, limit_mm: float, size_mm: float, weight: Weight = "regular") -> str:
    """The text, cut with an ellipsis where it is wider than ``limit_mm``."""
    text = printable(text)
    if width_mm(text, size_mm, weight) <= limit_mm:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if width_mm(text[:middle].rstrip() + "…", size_mm, weight) <= limit_mm:
            low = middle
        else:
            high = middle - 1
    return text[:low].rstrip() + "…"


@lru_cache(maxsize=4096)
def named(text: str, limit_mm: float, size_mm: float, weight: Weight = "regular") -> str:
    """An id, cut in its middle where it is wider than ``limit_mm``: ids of a kind mostly differ at their ends."""
    text = printable(text)
    if width_mm(text, size_mm, weight) <= limit_mm:
        return text
    for kept in range(len(text) - 1, 1, -1):
        tail = 2 * kept // 3
        cut = text[: kept - tail].rstrip() + "…" + text[len(text) - tail :].lstrip()
        if width_mm(cut, size_mm, weight) <= limit_mm:
            return cut
    return shortened(text, limit_mm, size_mm, weight)


def _words(text: str) -> list[str]:
    """The pieces a line may be broken between: after spaces and hyphens, never between a number and its unit."""
    pieces = []
    for word in re.sub(r"(?<=\d) (?=(?:A|V|W|Ah|mm|cm|m|Hz|kHz|ohm|in|%|C)\b)", "\u00a0", printable(text)).split(" "):
        pieces += [p for p in re.split(r"(?<=\w-)(?=\w{3})", word) if p]
    return pieces


def _joined(pieces: list[str]) -> str:
    out = ""
    for piece in pieces:
        out += piece if not out or out.endswith("-") else " " + piece
    return out


@lru_cache(maxsize=2048)
def wrapped(text: str, limit_mm: float, size_mm: float, lines: int, weight: Weight = "regular") -> tuple[str, ...]:
    """The text on at most ``lines`` lines, broken at spaces; the last is cut if need be."""
    words = _words(text)
    out: list[str] = []
    while words:
        if len(out) == lines - 1:
            out.append(shortened(_joined(words), limit_mm, size_mm, weight))
            break
        take = 1
        while take < len(words) and width_mm(_joined(words[: take + 1]), size_mm, weight) <= limit_mm:
            take += 1
        out.append(shortened(_joined(words[:take]), limit_mm, size_mm, weight))
        words = words[take:]
    return tuple(out)


def box(mark: Text) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of the ink of a line of words [mm]: capitals above, descenders below the baseline."""
    width = width_mm(mark.text, mark.size_mm, mark.weight)
    before = {"start": 0.0, "middle": width / 2, "end": width}[mark.anchor]
    below = mark.size_mm / face(mark.weight).cap_height * face(mark.weight).descent
    x, y = mark.at
    if mark.turn_deg:  # reads upward
        return (x - mark.size_mm, y - width + before, x + below, y + before)
    return (x - before, y - mark.size_mm, x - before + width, y + below)
