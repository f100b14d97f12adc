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
_STEP_MM, _TURNS = 0.05, 17
_NEAR_MM, _FINER_MM = 0.36, (0.04, 0.02)
"""So near to one line its pieces look for themselves, from place to place; then about the best."""
ABOUT = 0.35
"""Where the other edge of a wall may lie is not known better than to this part of the blur."""
TURN_MM = 0.5
"""The ends of a side usually lie so far, or less, from where it was looked for, one out and one in."""
LIKELY, UNSEEN = 2.0, 0.15
"""A rim whose step is less than this part of the face's light is not seen, where another place is nearly as likely."""
ALIKE = 0.25
"""Walls that differ by about this part of the blur are taken for equally wide at the first look."""


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
    grid = np.linspace(-reach - inward, reach, math.ceil((2.0 * reach + inward) / _STEP_MM) + 1)
    count = len(wide)
    pieces = _Rows.of(channels)
    whole = [replace(c, rows=c.rows.mean(axis=0, keepdims=True), noise=c.noise / math.sqrt(count)) for c in channels]
    middle = np.array([usual(wide)])
    both = _Rows.of([*whole, *(replace(c, sigma=SOFT * c.sigma) for c in whole)])
    side, softer = both.misfit(offsets, middle, grid[None]).reshape(2, len(channels), -1).sum(axis=1)
    pieces, every = _weighed(pieces, pieces.misfit(offsets, wide, grid[None]), len(offsets))
    wall = float(middle[0])
    doubt = soft = False
    if float(softer.min()) < 0.5 * float(side.min()) - 4.0 * len(offsets):
        sharp, blurred = (float(grid[int(m.argmin())]) for m in (side, softer))
        soft = not any(_sharp(c, offsets, wall, sharp, blurred) for c in whole)
        if soft and apart:  # the wall is seen to one side of a circle only: its pieces tell, not all of it at once
            softly = _Rows.of([replace(c, sigma=SOFT * c.sigma) for c in channels]).misfit(offsets, wide, grid[None])
            soft = float(softly.sum(axis=0).min(axis=1).sum()) < 0.5 * float(every.min(axis=1).sum())
    if apart:
        t = _lowest(grid, every, np.zeros(count), float(np.ptp(grid)))
    else:  # one side is one line: all of it says where its pieces then look for themselves
        line = _line(grid, every, 2.0 * len(offsets))
        if wall > 1.2 * channels[0].sigma:
            shift, doubt = _seen_rim(whole[0], offsets, grid, side, wall, float(line.mean()))
            line = line + shift
        t = _lowest(grid, every, line, _NEAR_MM)

    def misfit(t: Array) -> Array:
        """Of each piece (rows) for each of its places."""
        out: Array = pieces.misfit(offsets, wide, t).sum(axis=0)
        return out

    left = curve = np.ones(count)
    for h in _FINER_MM:
        low, mid, high = misfit(t[:, None] + np.array([-h, 0.0, h])).T
        curve = np.maximum(low - 2.0 * mid + high, 1e-9)
        step = np.clip(0.5 * h * (low - high) / curve, -h, h)
        left = mid + step / h * (0.5 * (high - low) + 0.5 * step / h * curve)
        t = np.clip(t + step, -1.5 * reach - inward, 1.5 * reach)
    spread = 2.0 * _FINER_MM[-1] * np.sqrt(2.0 * np.maximum(left / (2.0 * len(offsets)), 1.0) / curve)
    if wall > 1.2 * channels[0].sigma:
        for other in (usual(t) - wall, usual(t) + wall):
            near = np.abs(grid - other) < ABOUT * channels[0].sigma
            doubt |= bool(near.any()) and float(side[near].min()) < 1.3 * float(side.min()) + 20.0
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
        if len(t) < count:
            left = np.empty((n * count, t.shape[1]))
            same = np.rint(wide / (ALIKE * float(self.sigma.min())))
            for width in np.unique(same):
                mine = np.flatnonzero(same == width)
                for c in range(n):
                    k, first = mine + c * count, slice(c * count, c * count + 1)
                    left[k] = across.unexplained(
                        self.rows[k], offsets, t, wide[mine].mean(keepdims=True), self.sigma[first], self.held[first]
                    )
        else:
            left = across.unexplained(
                self.rows, offsets, np.tile(t, (n, 1)), np.tile(wide, n), self.sigma, self.held
            )
        out: Array = (left / self.noise2[:, None]).reshape(n, count, t.shape[1])
        return out


def _seen_rim(
    light: Channel, offsets: Array, grid: Array, side: Array, wall: float, best: float
) -> tuple[float, bool]:
    """How much farther out the rim of a side is better placed, and whether that is a choice.

    A rim that shows no step is hardly one. Where a wall has about the light of the floor, a rim outside of it and one
    that is not seen, so far inside of it, tell the light across the side equally well.
    """
    near = np.flatnonzero(np.abs(grid - (best + wall)) < ABOUT * light.sigma)
    if not len(near):
        return 0.0, False
    other = int(near[side[near].argmin()])
    if float(side[other]) > LIKELY * float(side.min()) + 20.0:
        return 0.0, False
    seen = []
    for t in (best, float(grid[other])):
        steps = across.steps(offsets, np.array([[t]]), np.array([wall]), np.array([light.sigma]))
        columns = np.column_stack([np.ones(len(offsets)), *(e[0, 0] for e in steps)])
        answer, *_ = np.linalg.lstsq(columns, light.rows[0], rcond=1e-6)
        seen.append(abs(float(answer[1])) / max(float(answer[0]), 0.01))
    swapped = seen[0] < UNSEEN and seen[1] > 2.0 * UNSEEN
    return (float(grid[other]) - best, True) if swapped else (0.0, False)


def _weighed(pieces: _Rows, misfit: Array, usual_misfit: int) -> tuple[_Rows, Array]:
    """What all channels together leave of each piece; one that fits nowhere, as on a grainy floor, says less."""
    least = np.median(misfit.min(axis=2), axis=1) / usual_misfit
    times = np.maximum(least, 1.0)
    noise2 = (pieces.noise2.reshape(len(times), -1) * times[:, None]).ravel()
    return replace(pieces, noise2=noise2), (misfit / times[:, None, None]).sum(axis=0)


def _line(grid: Array, misfit: Array, usual_misfit: float) -> Array:
    """Where the straight line along which the pieces of a side misfit least passes each of them, strays held down."""
    count, size = misfit.shape
    held = np.log1p((misfit - misfit.min(axis=1, keepdims=True)) / usual_misfit)
    step = float(grid[1] - grid[0])
    along = np.linspace(-1.0, 1.0, count)
    least, best = np.inf, np.zeros(count)
    rows = np.arange(count)[:, None]
    for turn in np.linspace(-0.5, 0.5, _TURNS) * float(np.ptp(grid)):
        shift = np.rint(turn * along / step).astype(int)
        total = held[rows, np.clip(np.arange(size) + shift[:, None], 0, size - 1)].sum(axis=0)
        k = int(total.argmin())
        price = float(total[k]) + (turn / TURN_MM) ** 2
        if price < least:
            least, best = price, grid[k] + turn * along
    return best


def _lowest(grid: Array, misfit: Array, about: Array, reach: float) -> Array:
    """The lowest place of each row so near to a place, by a parabola where it is not the first or the last."""
    far = np.abs(grid - about[:, None]) > reach
    near = np.abs(grid - about[:, None]).argmin(axis=1)
    k = np.where(far.all(axis=1), near, np.where(far, np.inf, misfit).argmin(axis=1))
    rows, inner = np.arange(len(k)), np.clip(k, 1, len(grid) - 2)
    low, mid, high = (misfit[rows, inner + d] for d in (-1, 0, 1))
    shift = 0.5 * (low - high) / np.maximum(low - 2.0 * mid + high, 1e-9)
    out: Array = grid[k] + np.where(k == inner, np.clip(shift, -0.5, 0.5), 0.0) * (grid[1] - grid[0])
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
