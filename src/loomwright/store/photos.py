"""What picture belongs to which row, and what of a file that was sent is kept?

A picture is opened, turned the right way up, made no larger than a screen needs, and written anew as JPEG: what else
the file held (where it was taken, other data, anything that is no picture) is gone. A file that cannot be opened as a
picture is refused.
"""

from __future__ import annotations

import hashlib
import io
import warnings
from dataclasses import dataclass

from PIL import Image, ImageOps, UnidentifiedImageError
from sqlalchemy import Connection, insert, select

from loomwright.refusals import OutOfReach
from loomwright.store.group_commit import Written
from loomwright.store.shelf import Shelf
from loomwright.store.shelf_file import refused
from loomwright.store.shelf_tables import photos

__all__ = ["LONGEST_PX", "MOST_BYTES", "Photo", "Picture", "add_photo", "photo_data", "photos_of", "picture_of"]

MOST_BYTES = 30 * 1024 * 1024
"""Most a file that is sent may hold. [bytes]"""

LONGEST_PX = 2048
"""Longer side of a picture that is kept. [-]"""

_MOST_PIXELS = 120_000_000
_QUALITY = 85
_SMALLER = "Send a smaller one"
_FORMATS = ("JPEG", "PNG", "WEBP", "GIF", "BMP", "TIFF")


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture as it is kept: JPEG bytes. width_px, height_px: its sides. [-]"""

    data: bytes
    width_px: int
    height_px: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """A picture of the shelf without its bytes. id: its number. [-]   row: name of the row it belongs to."""

    id: int
    sheet: str
    row: str
    time: str
    who: str
    note: str
    width_px: int
    height_px: int


def picture_of(data: bytes) -> Picture:
    """The picture in a file that was sent.

    Raises:
        BadDocument: too large, or no picture.
    """
    if len(data) > MOST_BYTES:
        raise refused(
            f"a picture of {len(data) // 1024 // 1024} MB", f"at most {MOST_BYTES // 1024 // 1024} MB", _SMALLER
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # we count the dots ourselves
            with Image.open(io.BytesIO(data), formats=_FORMATS) as opened:
                if opened.width * opened.height > _MOST_PIXELS:
                    raise refused(
                        f"{opened.width} x {opened.height} dots", f"at most {_MOST_PIXELS // 10**6} million", _SMALLER
                    )
                opened.draft("RGB", (LONGEST_PX, LONGEST_PX))
                upright = ImageOps.exif_transpose(opened).convert("RGB")
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, Image.DecompressionBombError) as fault:
        raise refused("a file that is no picture", " ".join(_FORMATS), "Send the photo itself") from fault
    upright.thumbnail((LONGEST_PX, LONGEST_PX))
    into = io.BytesIO()
    upright.save(into, format="JPEG", quality=_QUALITY, optimize=True)
    return Picture(data=into.getvalue(), width_px=upright.width, height_px=upright.height)


def add_photo(
    shelf: Shelf, name: str, sheet: str, row: str, data: bytes, *, time: str, who: str, note: str = ""
) -> int:
    """Keep a picture with a row; gives its number, the same one where the same picture is there already. [-]

    Raises:
        OutOfReach: no such job.
        BadDocument: no picture, or the disk does not take it.
    """
    job = shelf.id_of(name)
    picture = picture_of(data)
    sha256 = hashlib.sha256(picture.data).hexdigest()

    def work(connection: Connection) -> Written[int]:
        same = (photos.c.job == job, photos.c.sheet == sheet, photos.c.row == row, photos.c.sha256 == sha256)
        there = connection.execute(select(photos.c.id).where(*same)).scalar()
        if there is not None:
            return Written(answer=int(there), published=_nothing)
        line = {
            "job": job, "sheet": sheet, "row": row, "time": time, "who": who, "note": note,
            "width_px": picture.width_px, "height_px": picture.height_px, "sha256": sha256, "data": picture.data,
        }  # fmt: skip
        made = connection.execute(insert(photos), line).inserted_primary_key
        return Written(answer=int(made[0]) if made else 0, published=_nothing)

    return shelf.write(work)


def photos_of(shelf: Shelf, name: str, sheet: str = "", row: str = "") -> tuple[Photo, ...]:
    """The pictures of a job, of one sheet or of one row where given, oldest first."""
    columns = [photos.c[each] for each in Photo.__dataclass_fields__]
    asked = select(*columns).where(photos.c.job == shelf.id_of(name)).order_by(photos.c.id)
    if sheet:
        asked = asked.where(photos.c.sheet == sheet)
    if row:
        asked = asked.where(photos.c.row == row)
    with shelf.engine.connect() as connection:
        return tuple(Photo(**line._mapping) for line in connection.execute(asked))


def photo_data(shelf: Shelf, name: str, number: int) -> bytes:
    """The bytes of a picture, JPEG.

    Args:
        number: of the picture. [-]
    Raises:
        OutOfReach: the job has no such picture.
    """
    asked = select(photos.c.data).where(photos.c.job == shelf.id_of(name), photos.c.id == number)
    with shelf.engine.connect() as connection:
        data = connection.execute(asked).scalar()
    if data is None:
        raise OutOfReach("photo", number, "a photo of this job")
    return bytes(data)


def _nothing() -> None:
    """Nothing that readers keep."""
