"""Plain holes: told from each other and from other shapes, a stretch that strayed left out."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from bench._boards import circle, rounded, slot
from loomwright.trace import slots
from loomwright.trace.outline import Ring


def seen(ring: Ring, turn: float = 0.4) -> npt.NDArray[np.float64]:
    """The ring as a rim is seen: points about half a millimetre apart, a little off, with one stretch that strayed."""
    corners = np.array([*ring.points(0.005), next(iter(ring.points(0.005)))])
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(corners, axis=0), axis=1))])
    at = np.arange(0.0, run[-1], 0.5)
    even = np.column_stack([np.interp(at, run, corners[:, k]) for k in (0, 1)])
    even += np.random.default_rng(3).normal(0.0, 0.05, even.shape)
    even[20:32] += 1.0
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    out: npt.NDArray[np.float64] = even @ spin.T + [100.0, 50.0]
    return out


@pytest.mark.parametrize(
    ("ring", "kinds"),
    [
        (circle(0.0, 0.0, 15.0), ["arc"]),
        (slot(0.0, 0.0, 47.0, 18.0, False), ["line"] * 4),
        (slot(0.0, 0.0, 47.0, 18.0, True), ["arc", "line", "arc", "line"]),
        (rounded([(0, 0), (60, 0), (60, 40), (0, 40)], [8.0] * 4), ["arc", "line"] * 4),
    ],
)
def test_a_plain_hole_is_seen_as_what_it_is(ring: Ring, kinds: list[str]) -> None:
    points = seen(ring)
    made = next(slots.plain(points, np.ones(len(points), bool)), None)
    assert made is not None
    assert [p.kind for p in made.pieces] == kinds
    assert made.pieces[-1].last - made.pieces[0].first == len(points)


def test_the_pieces_lie_on_the_slot_that_was_drawn() -> None:
    points = seen(slot(0.0, 0.0, 47.0, 18.0, False), 0.0)
    made = next(slots.plain(points, np.ones(len(points), bool)), None)
    assert made is not None
    long = made.points_mm.max(axis=0) - made.points_mm.min(axis=0)
    assert long == pytest.approx([47.0, 18.0], abs=0.1)


def test_a_triangle_is_no_plain_hole() -> None:
    points = seen(rounded([(0, 0), (60, 0), (30, 40)], [0.0] * 3))
    assert not list(slots.plain(points, np.ones(len(points), bool)))
