"""Pictures are made anew and bounded; what is no picture is refused."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from loomwright.refusals import BadDocument, OutOfReach
from loomwright.store import photos
from loomwright.store.photos import LONGEST_PX, add_photo, photo_data, photos_of, picture_of


def picture(width=640, height=480, form="JPEG", **more):
    into = io.BytesIO()
    Image.new("RGB", (width, height), "#b4652b").save(into, format=form, **more)
    return into.getvalue()


def opened(data):
    return Image.open(io.BytesIO(data))


def test_a_picture_is_kept_with_its_row(shelf):
    number = add_photo(shelf, "car", "wires", "W2", picture(), time="t", who="A", note="behind the dash")
    [photo] = photos_of(shelf, "car", "wires", "W2")
    assert (photo.id, photo.note, photo.width_px, photo.height_px) == (number, "behind the dash", 640, 480)
    assert opened(photo_data(shelf, "car", number)).format == "JPEG"
    assert photos_of(shelf, "car", "wires", "W1") == ()


def test_a_huge_picture_is_made_small(shelf):
    made = picture_of(picture(6000, 4000))
    assert (made.width_px, made.height_px) == (LONGEST_PX, 1365)
    assert len(made.data) < 200_000


def test_the_same_picture_is_kept_once(shelf):
    first = add_photo(shelf, "car", "wires", "W2", picture(), time="t", who="A")
    assert add_photo(shelf, "car", "wires", "W2", picture(), time="u", who="B") == first
    assert len(photos_of(shelf, "car")) == 1


def test_where_it_was_taken_is_not_kept_and_it_stands_upright():
    exif = Image.Exif()
    exif[0x0112] = 6  # turned a quarter
    exif[0x010E] = "the owner's street"
    made = picture_of(picture(640, 480, exif=exif))
    assert (made.width_px, made.height_px) == (480, 640)
    assert b"owner" not in made.data
    assert dict(opened(made.data).getexif()) == {}


@pytest.mark.parametrize("form", ["PNG", "WEBP", "BMP", "TIFF", "GIF"])
def test_other_pictures_become_jpeg(form):
    assert opened(picture_of(picture(form=form)).data).format == "JPEG"


@pytest.mark.parametrize(
    "data", [b"", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"%PDF-1.7", picture()[:300], b"\xff\xd8" + b"x" * 5000]
)
def test_what_is_no_picture_is_refused(shelf, data):
    with pytest.raises(BadDocument):
        add_photo(shelf, "car", "wires", "W2", data, time="t", who="A")
    assert photos_of(shelf, "car") == ()


def test_too_many_bytes_or_dots_are_refused(monkeypatch):
    monkeypatch.setattr(photos, "MOST_BYTES", 1000)
    with pytest.raises(BadDocument):
        picture_of(picture())
    monkeypatch.undo()
    monkeypatch.setattr(photos, "_MOST_PIXELS", 300_000)
    with pytest.raises(BadDocument):
        picture_of(picture())


def test_a_photo_of_another_number_is_told(shelf):
    with pytest.raises(OutOfReach):
        photo_data(shelf, "car", 9)
