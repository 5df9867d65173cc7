"""Photos of any row: bounded, written anew, shown small, and taken along in an archive."""

from __future__ import annotations

import io
import struct
import zlib

import pytest
from PIL import Image

from loomwright.pages.routes import photos as route
from loomwright.sheets.opening import open_with_kept
from loomwright.store.photo_members import PHOTO_LIST, photo_faults
from loomwright.store.photos import photo_data, photos_of
from loomwright.store.text_rows import DropRow, SetCell
from tests.pages.quiet import quiet_client
from tests.pages.shelves import SMALL, Page, shelf_in


@pytest.fixture
def shelf(tmp_path):
    made = shelf_in(tmp_path, small=SMALL)
    yield made
    made.close()


def jpeg(width=900, height=600, exif=None):
    into = io.BytesIO()
    more = {"exif": exif} if exif is not None else {}
    Image.new("RGB", (width, height), "#806040").save(into, format="JPEG", **more)
    return into.getvalue()


def send(client, data, name="bay.jpg", row="BAT", sheet="parts", note=""):
    return client.post(
        "/api/j/small/photos",
        data={"sheet": sheet, "row": row, "note": note},
        files={"file": (name, data, "image/jpeg")},
    )


def key_of(shelf, sheet="parts", name="BAT"):
    return next(row.key for row in shelf.now("small").rows[sheet] if row.cells.get("id") == name)


def bomb():
    """A PNG of a few hundred bytes that says it is 40 000 x 40 000 dots."""

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 40_000, 40_000, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    )


def test_a_photo_is_kept_with_its_row_and_shown_there(shelf):
    client = quiet_client(shelf)
    there = f"/j/small/photos/parts/{key_of(shelf)}"
    answer = client.post(there, data={"note": "rust on the tray"}, files={"file": ("a.jpg", jpeg(), "image/jpeg")})
    page = Page(answer.text)
    assert (answer.status_code, page.unclosed) == (200, [])
    assert "rust on the tray" in page.words
    shown = page.all("img")[0]
    assert (shown["alt"], shown["width"], shown["height"]) == ("rust on the tray", "480", "320")
    assert [(one.sheet, one.row) for one in photos_of(shelf, "small")] == [("parts", "BAT")]


def test_all_photos_stand_by_sheet_and_row_and_a_row_that_is_gone_is_said(shelf):
    client = quiet_client(shelf)
    send(client, jpeg(), row="K1")
    send(client, jpeg(), row="cabin", sheet="places")
    shelf.edit("small", [DropRow(sheet="parts", row_key=key_of(shelf, name="K1"))], who="sam")
    told = Page(client.get("/j/small/photos").text).words
    assert "K1 parts: a row that is no longer there" in told
    assert "cabin places" in told
    only = Page(client.get("/j/small/photos?sheet=places").text).words
    assert "K1" not in only


def test_a_row_that_got_another_id_keeps_its_photos(shelf):
    client = quiet_client(shelf)
    send(client, jpeg(), row="K1", note="the relay")
    key = key_of(shelf, name="K1")
    shelf.edit("small", [SetCell(sheet="parts", row_key=key, column="id", old="K1", new="K7")], who="sam")
    there = Page(client.get(f"/j/small/photos/parts/{key}").text).words
    assert "Photos of K7" in there
    assert "the relay" in there
    told = Page(client.get("/j/small/photos").text).words
    assert "K7 parts" in told
    assert "no longer there" not in told


def test_a_job_without_photos_says_how_the_first_one_gets_there(shelf):
    assert "No photo is kept yet" in Page(quiet_client(shelf).get("/j/small/photos").text).words


def test_where_it_was_taken_is_left_out(shelf):
    client = quiet_client(shelf)
    exif = Image.Exif()
    exif[0x8825] = {1: "N", 2: (52.0, 30.0, 0.0)}
    exif[0x010F] = "some maker"
    sent = jpeg(exif=exif)
    assert b"Exif" in sent
    number = send(client, sent).json()["id"]
    kept = client.get(f"/api/j/small/photos/{number}").content
    assert b"Exif" not in kept
    assert b"some maker" not in kept


def test_a_large_one_is_kept_no_larger_than_a_screen_needs_and_shown_small(shelf):
    client = quiet_client(shelf)
    number = send(client, jpeg(5000, 2500)).json()["id"]
    whole = Image.open(io.BytesIO(client.get(f"/j/small/photo/{number}").content))
    small = Image.open(io.BytesIO(client.get(f"/j/small/photo/{number}?size=small").content))
    assert (whole.size, small.size) == ((2048, 1024), (480, 240))


def test_a_photo_that_is_known_is_not_sent_again(shelf):
    client = quiet_client(shelf)
    number = send(client, jpeg()).json()["id"]
    first = client.get(f"/j/small/photo/{number}?size=small")
    assert first.headers["content-type"] == "image/jpeg"
    assert first.headers["cache-control"] == "private, no-cache"
    again = client.get(f"/j/small/photo/{number}?size=small", headers={"if-none-match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert client.get(f"/j/small/photo/{number}").headers["etag"] != first.headers["etag"]


def test_the_same_photo_sent_twice_is_kept_once(shelf):
    client = quiet_client(shelf)
    assert send(client, jpeg()).json() == send(client, jpeg()).json()
    assert len(client.get("/api/j/small/photos").json()) == 1


@pytest.mark.parametrize(
    ("data", "status"),
    [(b"", 422), (b"GIF89a and then nothing", 422), (b"<svg onload='x'/>", 422), (jpeg()[:400], 422), (bomb(), 422)],
    ids=["nothing", "half a picture", "a drawing with a script", "cut off", "a bomb"],
)
def test_what_is_no_photo_is_refused_in_words_and_nothing_is_kept(shelf, data, status):
    client = quiet_client(shelf)
    answer = send(client, data)
    assert answer.status_code == status
    told = answer.json()["refused"][0]
    assert told["found"]
    assert told["mend"]
    there = client.post(
        f"/j/small/photos/parts/{key_of(shelf)}", data={"note": "typed"}, files={"file": ("x.jpg", data)}
    )
    assert there.status_code == status
    assert "It was not kept. Nothing was changed." in Page(there.text).words
    assert "typed" in [field.get("value") for field in Page(there.text).all("input")]
    assert photos_of(shelf, "small") == ()


def test_one_that_is_too_large_is_not_even_read(shelf, monkeypatch):
    monkeypatch.setattr(route, "MOST_BYTES", 1024 * 1024)
    client = quiet_client(shelf)
    data = b"\xff" * (1024 * 1024 + 100_000)
    answer = send(client, data)
    assert answer.status_code == 413
    assert answer.json()["refused"][0]["allowed"] == "at most 1 MB"
    page = client.post(f"/j/small/photos/parts/{key_of(shelf)}", files={"file": ("x.jpg", data)})
    assert page.status_code == 413
    assert "at most 1 MB" in Page(page.text).words


def test_dots_beyond_what_fits_are_too_large(shelf, monkeypatch):
    monkeypatch.setattr("loomwright.store.photos._MOST_PIXELS", 1000)
    answer = send(quiet_client(shelf), jpeg(100, 100))
    assert answer.status_code == 413
    assert "100 x 100 dots" in answer.json()["refused"][0]["found"]


@pytest.mark.parametrize(("sheet", "row"), [("parts", "NOPE"), ("nowhere", "BAT"), ("", "")])
def test_a_photo_of_no_row_is_refused(shelf, sheet, row):
    assert send(quiet_client(shelf), jpeg(), sheet=sheet, row=row).status_code == 422
    assert photos_of(shelf, "small") == ()


def test_a_form_without_a_photo_says_what_is_missing(shelf):
    answer = quiet_client(shelf).post(
        f"/j/small/photos/parts/{key_of(shelf)}", data={"note": "x"}, files={"other": b""}
    )
    assert answer.status_code == 422
    assert "no photo" in Page(answer.text).words


@pytest.mark.parametrize("path", ["/j/small/photo/9", "/j/small/photos/parts/999", "/api/j/small/photos/9"])
def test_what_is_not_there_is_not_found(shelf, path):
    assert quiet_client(shelf).get(path).status_code == 404


def test_photos_travel_in_an_archive_and_come_back_with_it(shelf, tmp_path):
    client = quiet_client(shelf)
    number = send(client, jpeg(), note="the tray").json()["id"]
    file = tmp_path / "small.loomjob"
    file.write_bytes(client.get("/j/small/pack/job/loomjob").content)
    kept = open_with_kept(file).kept
    assert sorted(kept) == ["history/edits.json", "history/revisions.json", "photos/0001.jpg", PHOTO_LIST]
    assert kept["photos/0001.jpg"] == photo_data(shelf, "small", number)
    answer = client.post("/jobs/file", data={"name": "back"}, files={"file": ("small.loomjob", file.read_bytes())})
    assert answer.status_code == 200
    back = photos_of(shelf, "back")
    assert [(one.sheet, one.row, one.note, one.who) for one in back] == [("parts", "BAT", "the tray", "sam")]


def test_an_archive_with_photos_that_are_none_is_not_taken_in():
    listed = b'[{"file": "photos/0001.jpg", "sheet": "parts", "row": "BAT"}]'
    assert photo_faults({}) == ()
    assert len(photo_faults({PHOTO_LIST: listed})) == 1
    assert len(photo_faults({PHOTO_LIST: listed, "photos/0001.jpg": b"no"})) == 1
    assert photo_faults({PHOTO_LIST: listed, "photos/0001.jpg": jpeg()}) == ()
    for odd in (b"{", b"{}", b'["x"]', b'[{"file": 3, "sheet": "parts"}]', b'[{"file": "", "sheet": "parts"}]'):
        assert len(photo_faults({PHOTO_LIST: odd})) == 1
