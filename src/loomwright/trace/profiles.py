"""Light across an edge: samples along its normal in linear light, and where between them the edge lies."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from loomwright.trace.camera import Array

_MOST_ROWS, _WIDE = 30_000, 256


@dataclass(frozen=True, slots=True)
class Crossings:
    """Where edges were found, one for each profile.

    Attributes
    ----------
    offset : Array
        From the middle of the profile, in its own unit.
    contrast : Array
        Brightness after the edge less that before it.
    blur : Array
        Width of the edge, as the sigma of a Gaussian, in the unit of the profile.
    ok : array of bool
        False where there was nothing to find.
    """

    offset: Array
    contrast: Array
    blur: Array
    ok: npt.NDArray[np.bool_]


def samples(picture: npt.NDArray[Any], column: Array, row: Array) -> npt.NDArray[np.float32]:
    """The picture at places between pixels, 0 to 1: of the shape of ``column`` and ``row``, or (..., 3) for colours."""
    import cv2

    shape = column.shape
    if len(shape) != 2 or max(shape) > _MOST_ROWS:
        wide = min(column.size, _WIDE)
        filled = -column.size % wide
        column, row = (np.pad(a.ravel(), (0, filled)).reshape(-1, wide) for a in (column, row))
    got = np.concatenate(
        [
            cv2.remap(
                picture,
                column[k : k + _MOST_ROWS].astype(np.float32),
                row[k : k + _MOST_ROWS].astype(np.float32),
                cv2.INTER_LINEAR,
                borderMode=cv2.BORDER_REPLICATE,
            )
            for k in range(0, len(column), _MOST_ROWS)
        ]
    )
    size = math.prod(shape)
    flat = got.reshape(-1, *picture.shape[2:])[:size].astype(np.float32)
    flat *= np.float32(1.0 / 65535.0 if picture.dtype == np.uint16 else 1.0 / 255.0)
    return flat.reshape(*shape, *picture.shape[2:])


def crossings(light: Array, offsets: Array, least_contrast: float = 0.02) -> Crossings:
    """Where each profile, a row of ``light`` at ``offsets``, passes from its first to its last brightness.

    The area under the profile says where: that is exact for any even blur, and takes noise well.
    """
    step = float(offsets[1] - offsets[0])
    n = max(2, len(offsets) // 4)
    before = light[:, :n].mean(axis=1)
    after = light[:, -n:].mean(axis=1)
    contrast = after - before
    ok = np.abs(contrast) > least_contrast
    safe = np.where(ok, contrast, 1.0)
    share = (light - before[:, None]) / safe[:, None]
    offset = offsets[-1] + step / 2.0 - step * share.sum(axis=1)
    slope = np.abs(np.diff(share, axis=1)).max(axis=1) / step
    blur = 1.0 / (np.sqrt(2.0 * np.pi) * np.maximum(slope, 1e-3))
    spread = np.maximum(share[:, :n].std(axis=1), share[:, -n:].std(axis=1))
    ok &= (np.abs(offset) < 0.6 * abs(offsets[-1])) & (spread < 0.25)
    return Crossings(offset, contrast, blur, ok)
