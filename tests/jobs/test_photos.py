"""Photographs: by content, bounded, and without what they carried beside the picture."""

from __future__ import annotations

import hashlib
import io
import tracemalloc
from pathlib import Path

import pytest
from PIL import Image

from loomwright.errors import InputError, UnknownName
from loomwright.jobs.errors import Deleted, StoreError
from loomwright.jobs.images import MAX_BYTES, MAX_PIXELS, clean
from loomwright.jobs.store import Store
from tests.jobs.pictures import PLACE, photograph, png_that_claims, screenshot


def opened(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(data))


def test_where_and_when_a_photograph_was_taken_is_gone(store: Store) -> None:
    job = store.create_job("x")
    given = photograph()
    assert PLACE in given
    assert opened(given).getexif().get_ifd(0x8825)
    photo = store.add_photo(job.id, "seat", given, caption="Behind the seat", by="Bench 1")
    kept = store.photo_bytes(photo.id)
    assert PLACE not in kept
    assert not opened(kept).getexif()
    assert {"exif", "xmp", "comment"}.isdisjoint(opened(kept).info)
    assert (photo.media_type, opened(kept).format) == ("image/jpeg", "JPEG")
    assert (photo.width_px, photo.height_px) == opened(kept).size == (320, 240)
    assert (photo.sha256, photo.size_bytes) == (hashlib.sha256(kept).hexdigest(), len(kept))
    assert (photo.place, photo.caption, photo.by) == ("seat", "Behind the seat", "Bench 1")
    red, green, blue = opened(kept).convert("RGB").getpixel((40, 40))
    assert red > 180 > 60 > max(green, blue)


def test_a_png_keeps_its_pixels_and_loses_its_words(store: Store) -> None:
    job = store.create_job("x")
    given = screenshot()
    kept = store.photo_bytes(store.add_photo(job.id, "", given).id)
    assert PLACE in given
    assert PLACE not in kept
    assert opened(kept).info == {}
    assert opened(kept).convert("RGBA").tobytes() == opened(given).convert("RGBA").tobytes()


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "I;16"])
def test_every_kind_of_png_is_taken(mode: str) -> None:
    out = io.BytesIO()
    Image.new(mode, (30, 20)).save(out, "PNG")
    picture = clean(out.getvalue())
    assert (picture.media_type, picture.width_px, picture.height_px) == ("image/png", 30, 20)


def test_sixteen_bits_a_channel_become_eight() -> None:
    out = io.BytesIO()
    Image.new("I;16", (30, 20), 0x8000).save(out, "PNG")
    assert opened(clean(out.getvalue()).data).convert("L").getpixel((5, 5)) == 128


def test_a_cmyk_jpeg_is_taken() -> None:
    out = io.BytesIO()
    Image.new("CMYK", (30, 20), (0, 200, 200, 0)).save(out, "JPEG")
    assert opened(clean(out.getvalue()).data).mode == "RGB"


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_picture_on_its_side_is_turned_upright(orientation: int) -> None:
    """The red quarter goes where EXIF 2.3 (orientation, tag 0x0112) says the viewer sees it."""
    right = orientation in (2, 3, 6, 7)
    low = orientation in (3, 4, 7, 8)
    image = opened(clean(photograph(320, 240, orientation)).data).convert("RGB")
    assert image.size == ((240, 320) if orientation > 4 else (320, 240))
    x, y = (image.width * 3 // 4 if right else image.width // 4), (image.height * 3 // 4 if low else image.height // 4)
    assert image.getpixel((x, y))[0] > 180


def test_a_large_photograph_is_kept_at_4096_pixels_on_its_longer_side() -> None:
    picture = clean(photograph(6000, 1500))
    assert (picture.width_px, picture.height_px) == (4096, 1024)


def test_the_same_picture_is_kept_once_and_not_pressed_again(store: Store) -> None:
    job, other = store.create_job("x"), store.create_job("y")
    first = store.add_photo(job.id, "seat", photograph())
    again = store.add_photo(other.id, "nose", store.photo_bytes(first.id))
    assert again.sha256 == first.sha256
    assert again.id != first.id
    assert len(list((store.folder / "photos").rglob("*.jpg"))) == 1


@pytest.mark.parametrize("size", [(100_000, 100_000), (20_000, 20_000), (8_100, 8_000), (2**31 - 1, 2**31 - 1)])
def test_a_decompression_bomb_is_refused_before_it_is_decoded(size: tuple[int, int]) -> None:
    assert size[0] * size[1] > MAX_PIXELS
    bomb = png_that_claims(*size)
    tracemalloc.start()
    try:
        with pytest.raises(InputError, match="at most 64 million pixels"):
            clean(bomb)
        _, peak_bytes = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert peak_bytes < 5_000_000


def test_a_file_beyond_the_bound_is_refused_unread() -> None:
    with pytest.raises(InputError, match="at most 25 MB"):
        clean(photograph() + bytes(MAX_BYTES))


@pytest.mark.parametrize(
    "data",
    [
        b"", b"GIF89a", b"<svg xmlns='http://www.w3.org/2000/svg' onload='x()'/>", b"%PDF-1.7", b"\xff\xd8\xff",
        bytes(999),
        photograph()[:-500], screenshot()[:100], photograph()[:200], png_that_claims(30, 0), png_that_claims(0, 0),
    ],
    ids=range(11),
)  # fmt: skip
def test_what_is_no_whole_picture_is_refused(store: Store, data: bytes) -> None:
    job = store.create_job("x")
    with pytest.raises(InputError, match="JPEG"):
        store.add_photo(job.id, "seat", data)
    assert store.photos(job.id) == ()
    assert not list((store.folder / "photos").rglob("*.*"))


@pytest.mark.parametrize("kind", ["GIF", "BMP", "TIFF", "ICO", "WEBP"])
def test_other_kinds_of_picture_are_refused(kind: str) -> None:
    out = io.BytesIO()
    Image.new("RGB", (32, 32)).save(out, kind)
    with pytest.raises(InputError, match="save it as JPEG"):
        clean(out.getvalue())


def test_something_hung_on_behind_a_picture_is_gone() -> None:
    plain = clean(photograph()).data
    assert clean(plain).data == plain
    for hung_on in (b"PK\x03\x04 a zip", b"<script>x()</script>", b"\xff\xd9"):
        assert hung_on not in clean(plain + hung_on).data[-40:-2]
        assert clean(plain + hung_on).data.endswith(b"\xff\xd9")


@pytest.mark.parametrize("given", [photograph(3000, 1500), screenshot()], ids=["photograph", "screenshot"])
def test_a_small_copy_is_made_once_and_holds_the_same_picture(store: Store, given: bytes) -> None:
    job = store.create_job("x")
    photo = store.add_photo(job.id, "seat", given)
    small = store.photo_small(photo.id)
    assert store.photo_small(photo.id) == small
    assert Image.MIME[str(opened(small).format)] == photo.media_type
    width_px, height_px = opened(small).size
    assert max(width_px, height_px) == min(640, photo.width_px)
    assert width_px / height_px == pytest.approx(photo.width_px / photo.height_px, rel=0.01)
    colours = [im.convert("RGB").resize((4, 4)).getpixel((0, 0)) for im in map(opened, (small, given))]
    assert colours[0] == pytest.approx(colours[1], abs=12)


def test_marks_stay_with_their_photograph(store: Store) -> None:
    job = store.create_job("x")
    photo = store.add_photo(job.id, "seat", photograph())
    one = store.add_mark(photo.id, 12.5, 80, "<b>chafed</b> & hot")
    two = store.add_mark(photo.id, 0, 100, "bare end")
    assert store.photo(photo.id).marks == (one, two)
    moved = store.change_mark(one.id, 13, 81, "chafed through")
    store.delete_mark(two.id)
    assert store.photos(job.id)[0].marks == (moved,)
    assert (moved.x_pct, moved.y_pct, moved.text) == (13, 81, "chafed through")
    store.restore_mark(two.id)
    assert {m.id for m in store.photo(photo.id).marks} == {one.id, two.id}
    for x, y in ((-1, 0), (0, 100.1), (float("nan"), 0), (0, float("inf"))):
        with pytest.raises(InputError, match="from 0 to 100"):
            store.add_mark(photo.id, x, y, "")


def test_a_deleted_photograph_comes_back_with_its_marks(store: Store) -> None:
    job = store.create_job("x")
    photo = store.add_photo(job.id, "seat", photograph())
    store.add_mark(photo.id, 1, 2, "here")
    store.delete_photo(photo.id)
    assert store.photos(job.id) == ()
    assert store.jobs()[0].photos == 0
    store.restore_photo(photo.id)
    assert [m.text for m in store.photos(job.id)[0].marks] == ["here"]
    assert store.set_caption(photo.id, "Seat, from behind").caption == "Seat, from behind"
    assert store.jobs()[0].photos == 1


def test_a_changed_or_missing_file_is_said_and_not_shown(store: Store) -> None:
    job = store.create_job("x")
    photo = store.add_photo(job.id, "seat", photograph())
    (file,) = (p for p in (store.folder / "photos").rglob("*.jpg"))
    file.write_bytes(b"something else")
    with pytest.raises(StoreError, match="has changed"):
        store.photo_bytes(photo.id)
    store.add_photo(job.id, "seat", photograph())  # the same picture again mends it
    assert store.photo_bytes(photo.id)
    file.unlink()
    with pytest.raises(StoreError, match="missing"):
        store.photo_bytes(photo.id)


def test_ids_that_lead_nowhere_reach_no_file(store: Store, tmp_path: Path) -> None:
    job = store.create_job("x")
    for bad in ("../../jobs.sqlite3", "", "2222222222", "a\x00", "/etc/hostname"):
        with pytest.raises(UnknownName):
            store.photo_bytes(bad)
        with pytest.raises(UnknownName):
            store.add_mark(bad, 1, 1, "")
    store.delete_job(job.id)
    with pytest.raises(Deleted):
        store.add_photo(job.id, "seat", photograph())
    assert not (tmp_path / "photos").exists()


def test_readings_are_kept_struck_out_and_brought_back(store: Store) -> None:
    job = store.create_job("x")
    reading = store.add_reading(job.id, "battery", "at rest", 12.62, "V", by="Bench 2")
    assert store.readings(job.id) == (reading,)
    assert (reading.where, reading.quantity, reading.value, reading.unit) == ("battery", "at rest", 12.62, "V")
    store.delete_reading(reading.id)
    assert store.readings(job.id) == ()
    assert store.jobs()[0].readings == 0
    assert store.restore_reading(reading.id) == reading
    for value in (float("nan"), float("inf"), -1e300):
        with pytest.raises(InputError):
            store.add_reading(job.id, "battery", "at rest", value, "V")
    for where, unit in (("", "V"), ("x" * 81, "V"), ("x", "y" * 17), ("a\x00b", "V")):
        with pytest.raises(InputError):
            store.add_reading(job.id, where, "at rest", 1, unit)
