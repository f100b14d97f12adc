"""The outline drawn over the photograph, to look at before anything is cut."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from loomwright.trace import markers, picture

LONG_PX = 1600
Rings = Sequence[Sequence[tuple[float, float]]]


def png(name: str, data: bytes, rings: Rings) -> bytes:
    """A smaller copy of the photograph with the rings on it: white under red, so that it shows on any ground.

    Raises
    ------
    InputError
        Where the photograph cannot be read.
    """
    import cv2

    photo, _ = markers.find(picture.read(data, name))
    small, times = photo.smaller(LONG_PX)
    drawn = np.ascontiguousarray(small[:, :, ::-1])
    for colour, width in (((255, 255, 255), 4), ((40, 40, 200), 2)):
        for ring in rings:
            points = np.round(((np.array(ring) + 0.5) / times - 0.5) * 16.0).astype(np.int32)
            cv2.polylines(drawn, [points], True, colour, width, cv2.LINE_AA, 4)
    ok, made = cv2.imencode(".png", drawn)
    if not ok:
        raise picture.refuse(name, "picture", "a picture that can be written", "none", "Try another photograph.")
    return made.tobytes()
