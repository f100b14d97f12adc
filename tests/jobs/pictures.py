"""Pictures for the tests, made here: with a place and a time in them, on their side, too large, cut off."""

from __future__ import annotations

import io
import struct
import zlib

from PIL import Image

PLACE = b"Workshop yard 4711"


def photograph(width_px: int = 320, height_px: int = 240, orientation: int = 1) -> bytes:
    """A JPEG as a phone writes it: position, time and a comment beside the pixels. Its top left quarter is red."""
    image = Image.new("RGB", (width_px, height_px), (20, 60, 200))
    image.paste((220, 30, 30), (0, 0, width_px // 2, height_px // 2))
    exif = image.getexif()
    exif[0x0112] = orientation
    exif[0x0132] = "2026:01:02 03:04:05"
    exif[0x010E] = PLACE.decode()
    gps = exif.get_ifd(0x8825)
    gps[1], gps[2] = "N", (51.0, 28.0, 40.0)
    gps[3], gps[4] = "E", (7.0, 33.0, 2.0)
    out = io.BytesIO()
    image.save(out, "JPEG", quality=95, exif=exif, comment=PLACE, xmp=b"<x>" + PLACE + b"</x>")
    return out.getvalue()


def screenshot() -> bytes:
    """A PNG with text, a time and EXIF in its chunks."""
    from PIL.PngImagePlugin import PngInfo

    info = PngInfo()
    info.add_text("Comment", PLACE.decode())
    info.add_itxt("XML:com.adobe.xmp", PLACE.decode())
    out = io.BytesIO()
    image = Image.new("RGBA", (40, 30), (10, 200, 30, 128))
    exif = image.getexif()
    exif[0x010E] = PLACE.decode()
    image.save(out, "PNG", pnginfo=info, exif=exif)
    return out.getvalue()


def png_that_claims(width_px: int, height_px: int) -> bytes:
    """A PNG of a few hundred bytes that says it is huge, and holds zeros that unpack to a megabyte."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width_px, height_px, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(bytes(1_000_000)))
        + chunk(b"IEND", b"")
    )
