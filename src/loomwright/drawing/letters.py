"""A font with some of its letters only, for a drawing that is to look the same where the font is not installed.

Outlines, widths and the map from characters are taken over as they are; what shapes words (kerning, ligatures) is left
out, for a drawing places each line by the widths alone. TrueType outlines (OpenType 1.9: cmap 4 and 12, glyf, loca).
"""

from __future__ import annotations

import struct
from collections.abc import Mapping, Sequence
from itertools import accumulate, pairwise

_KEPT = ("OS/2", "cmap", "gasp", "glyf", "head", "hhea", "hmtx", "loca", "maxp", "name", "post", "prep")
_NAMES = (1, 2)  # family and style
_WORDS, _MORE, _SCALE, _TWO_SCALES, _MATRIX = 0x1, 0x20, 0x8, 0x40, 0x80


def tables(font: bytes) -> dict[str, bytes]:
    """The tables of a font by their tags."""
    found = {}
    for k in range(struct.unpack_from(">H", font, 4)[0]):
        tag, _, start, length = struct.unpack_from(">4sLLL", font, 12 + 16 * k)
        found[tag.decode("ascii")] = font[start : start + length]
    return found


def with_letters(font: bytes, glyphs: Mapping[int, int]) -> bytes:
    """The font with those characters; ``glyphs`` gives their glyphs in the font. The same bytes each time."""
    old = tables(font)
    outlines = _outlines(old)
    order = [0]
    order += sorted({g for g in glyphs.values() if g} - {0})
    for glyph in order:  # grows while what letters are made of comes in
        order += [part for part, _ in _parts(outlines[glyph]) if part not in order]
    number = {glyph: n for n, glyph in enumerate(order)}
    made = [_renumbered(outlines[glyph], number) for glyph in order]
    made = [data + b"\0" * (-len(data) % 4) for data in made]
    new = {tag: old[tag] for tag in _KEPT if tag in old}
    new["glyf"] = b"".join(made)
    new["loca"] = struct.pack(f">{len(made) + 1}L", *accumulate(map(len, made), initial=0))
    new["head"] = old["head"][:8] + b"\0\0\0\0" + old["head"][12:50] + struct.pack(">h", 1) + old["head"][52:]
    new["maxp"] = old["maxp"][:4] + struct.pack(">H", len(order)) + old["maxp"][6:]
    new["hhea"] = old["hhea"][:34] + struct.pack(">H", len(order))
    new["hmtx"] = b"".join(_measures(old, glyph) for glyph in order)
    new["cmap"] = _characters({code: number[glyph] for code, glyph in glyphs.items() if glyph})
    new["name"] = _names(old["name"])
    new["post"] = struct.pack(">L", 0x00030000) + old["post"][4:32]
    return _file(new)


def _outlines(old: Mapping[str, bytes]) -> list[bytes]:
    count = struct.unpack_from(">H", old["maxp"], 4)[0]
    long = struct.unpack_from(">h", old["head"], 50)[0]
    if long:
        at = struct.unpack(f">{count + 1}L", old["loca"][: 4 * count + 4])
    else:
        at = tuple(2 * n for n in struct.unpack(f">{count + 1}H", old["loca"][: 2 * count + 2]))
    return [old["glyf"][a:b] for a, b in pairwise(at)]


def _parts(outline: bytes) -> list[tuple[int, int]]:
    """Glyphs that an outline is made of, each with the place of its number; empty where it has contours of its own."""
    if not outline or struct.unpack_from(">h", outline)[0] >= 0:
        return []
    found = []
    at, flags = 10, _MORE
    while flags & _MORE:
        flags, glyph = struct.unpack_from(">HH", outline, at)
        found.append((glyph, at + 2))
        at += 8 if flags & _WORDS else 6
        at += 2 if flags & _SCALE else 4 if flags & _TWO_SCALES else 8 if flags & _MATRIX else 0
    return found


def _renumbered(outline: bytes, number: Mapping[int, int]) -> bytes:
    for glyph, at in _parts(outline):
        outline = outline[:at] + struct.pack(">H", number[glyph]) + outline[at + 2 :]
    return outline


def _measures(old: Mapping[str, bytes], glyph: int) -> bytes:
    """Width and left bearing."""
    full = struct.unpack_from(">H", old["hhea"], 34)[0]
    if glyph < full:
        return old["hmtx"][4 * glyph : 4 * glyph + 4]
    bearing = 4 * full + 2 * (glyph - full)
    return old["hmtx"][4 * full - 4 : 4 * full - 2] + old["hmtx"][bearing : bearing + 2]


def _characters(glyphs: Mapping[int, int]) -> bytes:
    """The map from characters: one subtable for the first plane, one for all where there are others."""
    runs = _runs([(c, g) for c, g in sorted(glyphs.items()) if c < 0xFFFF])
    segments = [*((first, last, (glyph - first) % 65536) for first, last, glyph in runs), (0xFFFF, 0xFFFF, 1)]
    count = len(segments)
    search = 1 << (count.bit_length() - 1)
    plain = struct.pack(">HHHHHHH", 4, 16 + 8 * count, 0, 2 * count, 2 * search, search.bit_length() - 1,
                        2 * (count - search))  # fmt: skip
    plain += struct.pack(f">{count}HH{count}H{count}H{count}H", *(s[1] for s in segments), 0,
                         *(s[0] for s in segments), *(s[2] for s in segments), *([0] * count))  # fmt: skip
    if all(c < 0x10000 for c in glyphs):
        return struct.pack(">HHHHL", 0, 1, 3, 1, 12) + plain
    groups = _runs(sorted(glyphs.items()))
    wide = struct.pack(">HHLLL", 12, 0, 16 + 12 * len(groups), 0, len(groups))
    wide += b"".join(struct.pack(">LLL", *group) for group in groups)
    return struct.pack(">HHHHLHHL", 0, 2, 3, 1, 20, 3, 10, 20 + len(plain)) + plain + wide


def _runs(pairs: Sequence[tuple[int, int]]) -> list[tuple[int, int, int]]:
    """First and last character, and the glyph of the first, where characters and glyphs go up together."""
    runs: list[list[int]] = []
    for code, glyph in pairs:
        if runs and code == runs[-1][1] + 1 and glyph == runs[-1][2] + code - runs[-1][0]:
            runs[-1][1] = code
        else:
            runs.append([code, code, glyph])
    return [(first, last, glyph) for first, last, glyph in runs]


def _names(table: bytes) -> bytes:
    _, count, texts = struct.unpack_from(">HHH", table)
    records = [struct.unpack_from(">HHHHHH", table, 6 + 12 * k) for k in range(count)]
    kept = [r for r in records if r[0] == 3 and r[3] in _NAMES]
    out, data = b"", b""
    for *head, length, at in kept:
        out += struct.pack(">HHHHHH", *head, length, len(data))
        data += table[texts + at : texts + at + length]
    return struct.pack(">HHH", 0, len(kept), 6 + len(out)) + out + data


def _file(new: Mapping[str, bytes]) -> bytes:
    """Tables as a file, with its sums."""
    count = len(new)
    search = 1 << (count.bit_length() - 1)
    head = struct.pack(">LHHHH", 0x00010000, count, 16 * search, search.bit_length() - 1, 16 * (count - search))
    at = 12 + 16 * count
    entries, body = b"", b""
    where = 0
    for tag, data in sorted(new.items()):
        entries += struct.pack(">4sLLL", tag.encode("ascii"), _sum(data), at + len(body), len(data))
        if tag == "head":
            where = at + len(body)
        body += data + b"\0" * (-len(data) % 4)
    made = head + entries + body
    return made[: where + 8] + struct.pack(">L", (0xB1B0AFBA - _sum(made)) % 2**32) + made[where + 12 :]


def _sum(data: bytes) -> int:
    data += b"\0" * (-len(data) % 4)
    total: int = sum(struct.unpack(f">{len(data) // 4}L", data))
    return total % 2**32
