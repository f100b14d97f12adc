"""Photographs as they come in: checked by content, bounded before they are decoded, and written anew.

What is kept holds the picture alone. Place, time, camera and whatever else a file carried beside its pixels is gone,
because the file is made anew from the pixels; a picture that lies on its side is turned upright first.
"""

from __future__ import annotations

import contextlib
import io
import re
import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING

from loomwright.errors import InputError
from loomwright.jobs.fields import problem

if TYPE_CHECKING:
    from PIL import Image

MAX_BYTES = 25_000_000
MAX_PIXELS = 64_000_000
MAX_SIDE_PX = 4096
SMALL_PX = 640
QUALITY = 90
MEDIA = {"JPEG": "image/jpeg", "PNG": "image/png"}
ENDING = {"image/jpeg": "jpg", "image/png": "png"}

_ONE_AT_A_TIME = threading.Lock()
_PLAIN_PARTS = frozenset({0xE0, 0xDB, 0xC0, 0xC2, 0xC4})
_MARKER = re.compile(rb"\xff[^\x00]", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Picture:
    """A clean picture: its bytes, media type and size."""

    data: bytes
    media_type: str
    width_px: int
    height_px: int


def clean(data: bytes, name: str = "photograph") -> Picture:
    """The picture alone, upright, at most 4096 px on its longer side.

    Raises
    ------
    InputError
        Where it is neither JPEG nor PNG, is too large in bytes or pixels, or is cut off.
    """
    from PIL import Image, ImageOps

    if len(data) > MAX_BYTES:
        size = f"{len(data) / 1e6:.1f} MB"
        raise _refuse(name, f"at most {MAX_BYTES / 1e6:.0f} MB", size, "Take it at a smaller size.")
    too_large = (Image.DecompressionBombError, Image.DecompressionBombWarning)
    try:
        with _ONE_AT_A_TIME, Image.open(io.BytesIO(data), formats=list(MEDIA)) as image:
            width_px, height_px = image.size
            if width_px * height_px > MAX_PIXELS:
                raise _too_many(name, f"{width_px} x {height_px} pixels")
            kind = "PNG" if image.format == "PNG" else "JPEG"
            image.draft("RGB", (MAX_SIDE_PX, MAX_SIDE_PX))
            image.load()
            if kind == "JPEG" and max(image.size) <= MAX_SIDE_PX and _is_plain_jpeg(data):
                return Picture(data, MEDIA[kind], width_px, height_px)
            upright = _in_plain_colours(ImageOps.exif_transpose(image), kind)
            upright.thumbnail((MAX_SIDE_PX, MAX_SIDE_PX))
            bare = Image.new(upright.mode, upright.size)
            bare.paste(upright)
            written = _written(bare, kind)
            if len(written) > MAX_BYTES:
                kind, written = "JPEG", _written(bare.convert("RGB"), "JPEG")
            return Picture(written, MEDIA[kind], *bare.size)
    except InputError:
        raise
    except too_large:
        raise _too_many(name, "far more") from None
    except Exception as error:  # whatever a decoder makes of bytes that are no picture
        raise _refuse(
            name, "a whole JPEG or PNG picture", f"something else, or a part of one ({type(error).__name__})",
            "Take it again, or save it as JPEG.",
        ) from None  # fmt: skip


def small(data: bytes) -> bytes:
    """A clean picture made smaller, of the same kind: at most 640 px on its longer side."""
    from PIL import Image

    with _ONE_AT_A_TIME, Image.open(io.BytesIO(data), formats=list(MEDIA)) as image:
        kind = "PNG" if image.format == "PNG" else "JPEG"
        image.draft("RGB", (SMALL_PX, SMALL_PX))
        image.thumbnail((SMALL_PX, SMALL_PX))
        return _written(image, kind)


def _written(image: Image.Image, kind: str) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **({"quality": QUALITY, "optimize": True} if kind == "JPEG" else {}))
    return out.getvalue()


def _in_plain_colours(image: Image.Image, kind: str) -> Image.Image:
    """Eight bits a channel, in the colours that every screen shows."""
    if image.mode in ("I;16", "I;16B", "I", "F"):
        image = image.convert("I").point(lambda level: level / 256).convert("L")
    profile = image.info.get("icc_profile")
    if profile and image.mode in ("RGB", "CMYK", "L"):
        from PIL import ImageCms

        with contextlib.suppress(Exception):  # a profile that cannot be read: the colours as they are
            own = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            return ImageCms.profileToProfile(image, own, ImageCms.createProfile("sRGB"), outputMode="RGB") or image
    if kind == "PNG" and (image.has_transparency_data or image.mode in ("RGBA", "LA", "PA")):
        return image.convert("RGBA")
    return image if image.mode == "L" else image.convert("RGB")


def _is_plain_jpeg(data: bytes) -> bool:
    """True if a JPEG is nothing but tables and one scan, as :func:`clean` writes it: nothing beside, nothing after."""
    at = 2
    while data[at : at + 1] == b"\xff" and len(data) > at + 4:
        part, size = data[at + 1], int.from_bytes(data[at + 2 : at + 4], "big")
        if part == 0xDA:
            scan = data[at + 2 + size :]
            end = _MARKER.search(scan)
            return end is not None and end[0] == b"\xff\xd9" and end.end() == len(scan)
        if part not in _PLAIN_PARTS or (part == 0xE0 and size != 16):
            return False
        at += 2 + size
    return False


def _refuse(name: str, expected: str, received: str, remedy: str) -> InputError:
    return problem("content", expected, received, remedy, name)


def _too_many(name: str, received: str) -> InputError:
    return _refuse(name, f"at most {MAX_PIXELS / 1e6:.0f} million pixels", received, "Take it at a smaller size.")
