"""Photographs as they come in: bounded before they are decoded, refused when cut off, never turned by what EXIF says.

The markers say which way is up and which side is seen; a turn in the EXIF data may be wrong and is not looked at.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from loomwright.errors import InputError, Problem

MAX_BYTES = 80_000_000
MAX_PIXELS = 110_000_000
FULL_PIXELS = 30_000_000
"""A picture of more is looked at in half its size."""
FINE_PIXELS = 6_000_000
"""Of a picture of more the colours are kept at half its size: a JPEG holds them no finer."""
SMALLEST_SIDE_PX = 600
_FOCAL_35MM = 41989
_EXIF_PART = 0x8769
_DIAGONAL_35MM = 43.2666


@dataclass(frozen=True, slots=True)
class Photo:
    """A decoded photograph.

    Attributes
    ----------
    name : str
        As the user gave it.
    rgb : array
        Colours, shape (rows, columns, 3), 0 to 255, as the file holds them.
    coarse : int
        So many times fewer rows and columns of colours than of brightness.
    gray : array
        Brightness as the file holds it, 0 to 255, shape (height, width): the luma, which alone keeps its full sharpness
        in a JPEG.
    light : array
        The same in linear light, 0 to 65535.
    focal_px : float or None
        From the EXIF data, where it says so.
    turned_over : bool
        True where the file was mirrored and is mirrored back here.
    """

    name: str
    rgb: npt.NDArray[np.uint8]
    coarse: int
    gray: npt.NDArray[np.uint8]
    light: npt.NDArray[np.uint16]
    focal_px: float | None
    turned_over: bool = False

    def smaller(self, long_px: int) -> tuple[npt.NDArray[np.uint8], int]:
        """The colours, so many times smaller that the longer side has about so many pixels; and how many times."""
        times = max(1, round(max(self.rgb.shape[:2]) / long_px))
        return _shrunk(self.rgb, times), times * self.coarse

    def smaller_gray(self, times: int) -> npt.NDArray[np.uint8]:
        """The brightness, so many times smaller."""
        return _shrunk(self.gray, times)

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height."""
        return self.gray.shape[1], self.gray.shape[0]

    def mirrored(self) -> Photo:
        """The photograph as seen from the other side of the paper."""
        return replace(
            self,
            rgb=np.ascontiguousarray(self.rgb[:, ::-1]),
            gray=np.ascontiguousarray(self.gray[:, ::-1]),
            light=np.ascontiguousarray(self.light[:, ::-1]),
            turned_over=not self.turned_over,
        )


def _shrunk(picture: npt.NDArray[np.uint8], times: int) -> npt.NDArray[np.uint8]:
    import cv2

    if times == 1:
        return picture
    size = picture.shape[1] // times, picture.shape[0] // times
    whole = picture[: size[1] * times, : size[0] * times]
    if times % 2:  # means of an odd number are slow to take
        return np.ascontiguousarray(cv2.blur(whole, (times, times))[times // 2 :: times, times // 2 :: times], np.uint8)
    return np.asarray(cv2.resize(whole, size, interpolation=cv2.INTER_AREA), np.uint8)


def refuse(name: str, place: str, expected: str, received: str, remedy: str) -> InputError:
    """One problem with a photograph or an outline."""
    return InputError([Problem(name, place, expected, received, remedy)])


def read(data: bytes, name: str = "photograph") -> Photo:
    """Decode a JPEG, PNG, WebP or TIFF photograph.

    Raises
    ------
    InputError
        Where it is none of these, is cut off, black, too small, or too large in bytes or pixels.
    """
    from PIL import Image

    what = "a whole JPEG or PNG photograph"
    again = "Send the file again as the camera wrote it, as JPEG."
    if len(data) > MAX_BYTES:
        size = f"{len(data) / 1e6:.0f} MB"
        raise refuse(name, "", f"at most {MAX_BYTES / 1e6:.0f} MB", size, "Take it at 12 to 50 megapixels.")
    bombs = (Image.DecompressionBombError, Image.DecompressionBombWarning)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            warnings.filterwarnings("ignore", category=UserWarning)
            image: Any = Image.open(io.BytesIO(data), formats=["JPEG", "PNG", "WEBP", "TIFF"])
            width, height = image.size
            if width * height > MAX_PIXELS:
                raise _too_many(name, width * height)
            if min(width, height) < SMALLEST_SIDE_PX:
                raise refuse(
                    name,
                    "",
                    f"at least {SMALLEST_SIDE_PX} px on the shorter side",
                    f"{width} x {height} px",
                    "Send the photograph itself, not a preview of it.",
                )
            focal = _focal(image)
            if image.format in ("JPEG", "MPO"):
                rgb, gray = _jpeg(data, width * height)
            else:
                rgb, gray = _plain(image)
    except bombs:
        raise _too_many(name, None) from None
    except InputError:
        raise
    except (OSError, ValueError, SyntaxError) as error:
        cut = "truncated" in str(error)
        received = "a file that is cut off" if cut else "something else"
        raise refuse(name, "", what, received, again) from None
    _not_black(rgb, name)
    coarse = max(1, round(gray.shape[0] / rgb.shape[0]))
    rows, columns = min(rgb.shape[0], gray.shape[0] // coarse), min(rgb.shape[1], gray.shape[1] // coarse)
    scaled = None if focal is None else focal * float(np.hypot(*gray.shape))
    gray = np.ascontiguousarray(gray[: rows * coarse, : columns * coarse])  # whole blocks: it may be turned over
    return Photo(name, np.ascontiguousarray(rgb[:rows, :columns]), coarse, gray, _light(gray), scaled)


def _jpeg(data: bytes, pixels: int) -> tuple[npt.NDArray[np.uint8], npt.NDArray[np.uint8]]:
    """Colours and brightness of a JPEG as they lie in the file; smaller where that is plenty."""
    import cv2

    start = data.find(b"\xff\xda")
    if start < 0 or data.find(b"\xff\xd9", start) < 0:  # the mark of its end; a decoder would fill in grey
        raise OSError("truncated")
    if pixels > FULL_PIXELS:
        sizes = cv2.IMREAD_REDUCED_COLOR_4, cv2.IMREAD_REDUCED_GRAYSCALE_2
    elif pixels > FINE_PIXELS:
        sizes = cv2.IMREAD_REDUCED_COLOR_2, cv2.IMREAD_GRAYSCALE
    else:
        sizes = cv2.IMREAD_COLOR, cv2.IMREAD_GRAYSCALE
    bgr, gray = (cv2.imdecode(np.frombuffer(data, np.uint8), s | cv2.IMREAD_IGNORE_ORIENTATION) for s in sizes)
    if bgr is None or gray is None:
        raise OSError("cannot be decoded")
    return np.asarray(cv2.cvtColor(bgr, cv2.COLOR_BGR2RGB), np.uint8), np.asarray(gray, np.uint8)


def _plain(image: Any) -> tuple[npt.NDArray[np.uint8], npt.NDArray[np.uint8]]:
    """Colours and brightness of a picture of another kind, in the sizes of a JPEG."""
    import cv2

    rgb = np.asarray(image.convert("RGB"), np.uint8)
    gray = np.asarray(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY), np.uint8)
    if gray.size > FULL_PIXELS:
        rgb, gray = _shrunk(rgb, 2), _shrunk(gray, 2)
    return _shrunk(rgb, 2) if gray.size > FINE_PIXELS else rgb, gray


def _too_many(name: str, pixels: int | None) -> InputError:
    received = "more than that" if pixels is None else f"{pixels / 1e6:.0f} megapixels"
    return refuse(
        name, "", f"at most {MAX_PIXELS / 1e6:.0f} megapixels", received, "Set the camera to 12 to 50 megapixels."
    )


def _focal(image: Any) -> float | None:
    """Focal length over the diagonal of the picture."""
    try:
        value = float(image.getexif().get_ifd(_EXIF_PART).get(_FOCAL_35MM, 0))
    except Exception:
        return None
    return value / _DIAGONAL_35MM if 8.0 <= value <= 300.0 else None


def _not_black(rgb: npt.NDArray[np.uint8], name: str) -> None:
    bright = float(np.percentile(rgb[::8, ::8], 99.5))
    if bright < 40.0:
        raise refuse(
            name,
            "",
            "a picture with light in it",
            f"brightest parts at {bright / 2.55:.0f} % of white",
            "Put on a light, from the side and not from behind you, and take it again.",
        )


@lru_cache(maxsize=1)
def _table() -> npt.NDArray[np.uint16]:
    v = np.arange(256) / 255.0
    light = np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)
    return np.round(light * 65535.0).astype(np.uint16)


def _light(gray: npt.NDArray[np.uint8]) -> npt.NDArray[np.uint16]:
    import cv2

    return np.asarray(cv2.LUT(gray, _table()), np.uint16)
