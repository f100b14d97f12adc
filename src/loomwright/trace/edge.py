"""Where along each piece of a side the rim lies: the first step of light and colour, to a fraction of a pixel."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from loomwright.trace import across
from loomwright.trace.across import usual
from loomwright.trace.camera import Array

SOFT = 3.0
"""An edge that fits better so many times softer than the picture is no rim: it is a shadow."""
_GRID = 25
_WIDTH_MM, _FINER_MM = 0.12, (0.04, 0.02)
"""From place to place where pieces of a side look first, then about the best of them."""
ALIKE = 0.25
"""Walls that differ by less than this part of the blur are taken for equally wide at the first look."""


@dataclass(frozen=True, slots=True)
class Channel:
    """Light or colour across the pieces of a side, how far it is blurred [mm], its noise and its contrast."""

    rows: Array
    sigma: float
    noise: float
    contrast: float


@dataclass(frozen=True, slots=True)
class Places:
    """Where the rim lies in each piece.

    Attributes
    ----------
    at, spread : Array
        Offset from the middle of the rows, and how well it is known [mm].
    doubt : bool
        Whether rim and foot of the wall may have been taken for each other.
    soft : bool
        Whether it is too soft for an edge of card.
    """

    at: Array
    spread: Array
    doubt: bool
    soft: bool


def channel(rows: Array, sigma: float, trust: float) -> Channel:
    """``trust`` is the part of the contrast to which blur and colours can be modelled."""
    calm = np.abs(np.diff(rows, axis=1))[:, : max(3, rows.shape[1] // 5)]
    contrast = usual(np.ptp(rows, axis=1))
    return Channel(rows, sigma, max(1.05 * usual(calm), trust * contrast, 2e-4), contrast)


def places(
    channels: Sequence[Channel], offsets: Array, wide: Array, reach: float, inward: float, apart: bool
) -> Places | None:
    """Where the first step of each row lies; None where there is nothing to find.

    ``wide`` is how far outside of the rim the foot of the wall is seen [mm]. ``apart``: each piece looks over the whole
    reach for itself, as round a circle that may be off to one side.
    """
    if all(c.contrast < 6.0 * c.noise and c.contrast < 0.01 for c in channels):
        return None
    size = _GRID + math.ceil(_GRID * inward / (2.0 * reach))
    grid = np.linspace(-reach - inward, reach, size)
    count = len(wide)
    pieces = _Rows.of(channels)
    # one side is one line: all of it says where its pieces then look for themselves
    whole = [replace(c, rows=c.rows.mean(axis=0, keepdims=True), noise=c.noise / math.sqrt(count)) for c in channels]
    middle = np.array([usual(wide)])
    both = _Rows.of([*whole, *(replace(c, sigma=SOFT * c.sigma) for c in whole)])
    side, softer = both.misfit(offsets, middle, grid[None]).reshape(2, len(channels), size).sum(axis=1)
    best = float(grid[int(side.argmin())])
    soft = False
    if float(softer.min()) < 0.5 * float(side.min()) - 4.0 * len(offsets):
        at_soft = float(grid[int(softer.argmin())])
        soft = not any(_sharp(c, offsets, float(middle[0]), best, at_soft) for c in whole)
        if soft and apart:  # the wall is seen to one side of a circle only: its pieces tell, not all of it at once
            softly = _Rows.of([replace(c, sigma=SOFT * c.sigma) for c in channels])
            ways = [r.misfit(offsets, wide, grid[None]).sum(axis=0).min(axis=1).sum() for r in (pieces, softly)]
            soft = float(ways[1]) < 0.5 * float(ways[0])

    def misfit(t: Array) -> Array:
        """Of each piece (rows) for each of its places."""
        out: Array = pieces.misfit(offsets, wide, t).sum(axis=0)
        return out

    few = np.asarray(grid if apart else best + _WIDTH_MM * np.arange(-3, 4), np.float64)
    t = _lowest(few, pieces.misfit(offsets, wide, few[None]).sum(axis=0))
    left = curve = np.ones(count)
    for h in _FINER_MM:
        low, mid, high = misfit(t[:, None] + np.array([-h, 0.0, h])).T
        curve = np.maximum(low - 2.0 * mid + high, 1e-9)
        step = np.clip(0.5 * h * (low - high) / curve, -h, h)
        left = mid + step / h * (0.5 * (high - low) + 0.5 * step / h * curve)
        t = np.clip(t + step, -1.5 * reach - inward, 1.5 * reach)
    spread = 2.0 * _FINER_MM[-1] * np.sqrt(2.0 * np.maximum(left / (2.0 * len(offsets)), 1.0) / curve)
    wall = float(middle[0])
    doubt = False
    if wall > 1.2 * channels[0].sigma:
        for other in (usual(t) - wall, usual(t) + wall):
            if grid[0] <= other <= grid[-1]:
                doubt |= float(np.interp(other, grid, side)) < 1.3 * float(side.min()) + 20.0
    return Places(t, np.clip(spread, 0.002, 1.0), doubt, soft)


@dataclass(frozen=True, slots=True)
class _Rows:
    """The rows of several channels one below the other, each with its blur, noise, and what holds its steps."""

    rows: Array
    sigma: Array
    noise2: Array
    held: Array
    channels: int

    @staticmethod
    def of(channels: Sequence[Channel]) -> _Rows:
        """All rows of all channels."""
        many = [len(c.rows) for c in channels]
        held = np.array([across.pull(c.contrast, c.sigma, c.noise) for c in channels])
        return _Rows(
            np.concatenate([c.rows for c in channels]),
            np.repeat([c.sigma for c in channels], many),
            np.repeat([c.noise**2 for c in channels], many),
            np.repeat(held, many, axis=0),
            len(channels),
        )

    def misfit(self, offsets: Array, wide: Array, t: Array) -> Array:
        """What is left over the noise with the rim at ``t``, shape (pieces, places): (channels, pieces, places).

        One row of places stands for all pieces.
        """
        n, count = self.channels, len(wide)
        if len(t) < count and float(np.ptp(wide)) < ALIKE * float(self.sigma.min()):
            each = [slice(k * count, (k + 1) * count) for k in range(n)]
            same = np.array([usual(wide)])
            left = np.concatenate(
                [
                    across.unexplained(self.rows[c], offsets, t, same, self.sigma[c][:1], self.held[c][:1])
                    for c in each
                ]
            )
        else:
            places = np.tile(np.broadcast_to(t, (count, t.shape[1])), (n, 1))
            left = across.unexplained(self.rows, offsets, places, np.tile(wide, n), self.sigma, self.held)
        out: Array = (left / self.noise2[:, None]).reshape(n, count, t.shape[1])
        return out


def _lowest(few: Array, misfit: Array) -> Array:
    """The lowest place of each row, by a parabola where it is not the first or the last."""
    k = misfit.argmin(axis=1)
    rows, inner = np.arange(len(k)), np.clip(k, 1, len(few) - 2)
    low, mid, high = (misfit[rows, inner + d] for d in (-1, 0, 1))
    shift = 0.5 * (low - high) / np.maximum(low - 2.0 * mid + high, 1e-9)
    out: Array = few[k] + np.where(k == inner, np.clip(shift, -0.5, 0.5), 0.0) * (few[1] - few[0])
    return out


def _sharp(channel: Channel, offsets: Array, wide: float, t: float, soft: float) -> bool:
    """Whether there is a sharp step at ``t`` beside the soft edge of a shadow."""
    row = channel.rows[0]
    blur = np.array([channel.sigma])
    edge = across.steps(offsets, np.array([[soft]]), np.array([wide]), SOFT * blur)
    made = np.column_stack([np.ones(len(offsets)), *(e[0, 0] for e in edge)])
    step = across.steps(offsets, np.array([[t]]), np.array([0.0]), blur)[0][0, 0]
    left = []
    for columns in (made, np.column_stack([made, step])):
        answer, *_ = np.linalg.lstsq(columns, row, rcond=1e-6)
        left.append(float(((row - columns @ answer) ** 2).sum()))
    noise2 = max(channel.noise**2, left[1] / len(offsets))
    return left[0] - left[1] > 25.0 * noise2
