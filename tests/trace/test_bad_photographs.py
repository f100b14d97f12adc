"""Photographs that cannot be used: each is refused with what is wrong and what to do."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from bench._scene import photograph
from loomwright.errors import InputError
from loomwright.trace.photograph import Bars, trace
from tests.trace.scenes import LEFT, board, lens, notched, scene, usual


def saved(pixels: np.ndarray, kind: str = "JPEG") -> bytes:  # type: ignore[type-arg]
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, kind)
    return out.getvalue()


def said(data: bytes, thickness: float | None = 3.0, bars: Bars | None = None) -> str:
    with pytest.raises(InputError) as caught:
        trace([("photo.jpg", data)], thickness, bars)
    for problem in caught.value.problems:
        assert problem.file
        assert problem.remedy.endswith(".")
    return str(caught.value)


def test_not_an_image() -> None:
    assert "something else" in said(b"GIF89a nothing of the kind")
    assert "something else" in said(b"")
    assert "something else" in said(b"\xff\xd8\xff\xda\xff\xd9")


def test_a_picture_cut_off_is_not_filled_in_with_grey() -> None:
    assert "cut off" in said(usual()[: len(usual()) * 2 // 3])


def test_black_blurred_and_flat_pictures() -> None:
    assert "brightest parts" in said(saved(np.full((800, 1000, 3), 9, np.uint8)))
    assert "without contrast" in said(saved(np.full((800, 1000, 3), 120, np.uint8)))
    soft = photograph(scene(notched(), blur_px=16.0))
    assert "sharper" in said(soft) or "blurred" in said(soft)


def test_a_picture_without_markers() -> None:
    noise = np.random.default_rng(1).integers(0, 255, (900, 1200, 3)).astype(np.uint8)
    assert "no marker" in said(saved(noise))


def test_two_hundred_megapixels_are_refused_before_they_are_decoded(monkeypatch: pytest.MonkeyPatch) -> None:
    large = io.BytesIO()
    Image.new("1", (20_000, 10_000)).save(large, "PNG")
    monkeypatch.setattr(Image.Image, "convert", lambda *_: pytest.fail("decoded"))
    assert "megapixels" in said(large.getvalue())


def test_a_preview_is_too_small() -> None:
    assert "600 px" in said(saved(np.full((400, 500, 3), 200, np.uint8)))


def test_the_thickness_is_asked_for_and_bounded() -> None:
    assert "--thickness-mm" in said(usual(), None)
    assert "millimetres" in said(usual(), -1.0)
    assert "0 to 60 mm" in said(usual(), 300.0)


def test_bars_of_a_print_fitted_to_the_page_or_in_inches() -> None:
    assert "100 %" in said(usual(), 3.0, Bars(120.0, 160.0))
    assert "inches" in said(usual(), 3.0, Bars(5.9, 7.87))


def test_the_same_sheet_twice() -> None:
    twice = photograph(scene(notched(), (LEFT, replace(LEFT, at_mm=(205.0, -140.0)))))
    assert "same sheet twice" in said(twice)


def test_a_board_that_runs_out_of_the_picture() -> None:
    near = photograph(scene(notched(), (LEFT,), lens=lens(far_mm=640.0, aim_mm=(-390.0, 0.0))))
    assert "board" in said(near)


def test_no_board_at_all() -> None:
    grey = (0.33, 0.33, 0.32)
    unseen = scene(notched(), contact=0.0, shadow=0.0, board=board(notched(), face=grey, wall=grey))
    assert "stands out" in said(photograph(unseen))


def test_a_camera_held_too_slanted() -> None:
    slanted = photograph(scene(notched(), lens=lens(tilt_deg=55.0, toward_deg=90.0, far_mm=1100.0)))
    assert "degrees" in said(slanted)
