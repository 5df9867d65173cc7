"""A zip is opened only if every member is plain, whole, by itself and no larger than it may be."""

from __future__ import annotations

import io
import struct
import time
import tracemalloc
import zipfile
import zlib

import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.sheets import zip_guard
from loomwright.sheets.zip_guard import MOST_MEMBERS, names_faults, zip_members, zip_names
from loomwright.sheets.zip_layout import Broken, members_of
from tests.sheets.zips import END, Piece, deflated, zip_of

WORDS = b"id,kind\nB1,battery\n"
MB = 1024 * 1024


def found(data: bytes, **more: int) -> list[str]:
    """What is told of a zip, in words; every problem is whole, and what is not whole gives no member."""
    members, problems = zip_members(data, what="van.zip", **more)
    for problem in problems:
        assert problem.allowed
        assert problem.mend
        assert problem.says
        assert "van.zip" in problem.found
    assert not (problems and any(problem.found.split(" in van.zip")[0] in members for problem in problems))
    return [problem.found for problem in problems]


def only(data: bytes, **more: int) -> str:
    (text,) = found(data, **more)
    return text


def one(**said: object) -> bytes:
    """A zip of a sound member and one of which something is said that may not be so."""
    name = said.pop("name", "b.csv")
    return zip_of([Piece("a.csv", WORDS), Piece(name, said.pop("raw", WORDS), **said)])  # type: ignore[arg-type]


def made(members: dict[str, bytes], way: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A zip as the standard library makes it."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", way) as archive:
        for name, raw in members.items():
            archive.writestr(name, raw)
    return file.getvalue()


# what is let pass


@pytest.mark.parametrize("way", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED])
def test_a_plain_zip_is_opened(way):
    members = {"a.csv": WORDS, "sheets/größe.csv": b"x" * 3 * MB, "empty": b"", "folder/": b""}
    data = made(members, way)
    assert found(data) == []
    given_back = {name: raw for name, raw in members.items() if not name.endswith("/")}
    assert zip_members(data, what="van.zip") == (given_back, [])
    assert zip_names(data) == tuple(members)


def test_the_zips_of_this_folder_are_read_as_the_standard_library_reads_them():
    data = one()
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.testzip() is None
        assert {name: archive.read(name) for name in archive.namelist()} == zip_members(data, what="van.zip")[0]


def test_a_workbook_as_a_library_makes_it_is_opened():
    file = io.BytesIO()
    book = xlsxwriter.Workbook(file)
    for _ in range(3):
        sheet = book.add_worksheet()
        for row in range(2000):
            sheet.write_row(row, 0, ["W1", "", 0, "the same in every row"] * 5)
    book.close()
    assert found(file.getvalue()) == []


def test_a_zip_written_in_one_go_has_its_sizes_behind_the_members():
    class Forward(io.BytesIO):
        def seekable(self) -> bool:
            return False

        def seek(self, *_: object) -> int:
            raise OSError

    file = Forward()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a.csv", WORDS)
        with archive.open("b.csv", "w", force_zip64=True) as member:
            member.write(WORDS)
    assert found(file.getvalue()) == []


def test_wide_figures_are_read():
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive, archive.open("b.csv", "w", force_zip64=True) as member:
        member.write(WORDS)
    assert found(file.getvalue()) == []
    wide = struct.pack("<2HQ", 1, 8, len(WORDS))
    far = Piece("b.csv", WORDS, says_unpacked=0xFFFFFFFF, extra=wide, local_extra=wide)
    data = zip_of([far])
    # the same figures once more in an end record with wide fields
    *_, size, start, _ = END.unpack(data[-22:])
    end = struct.pack("<4sQ2H2L4Q", b"PK\6\6", 44, 45, 45, 0, 0, 1, 1, size, start)
    place = struct.pack("<4sLQL", b"PK\6\7", 0, start + size, 1)
    narrow = END.pack(b"PK\5\6", 0, 0, 0xFFFF, 0xFFFF, 0xFFFFFFFF, 0xFFFFFFFF, 0)
    assert zip_members(data[:-22] + end + place + narrow, what="van.zip") == ({"b.csv": WORDS}, [])
    other = END.pack(b"PK\5\6", 0, 0, 2, 2, size, start, 0)
    assert only(data[:-22] + end + place + other) == "van.zip: its two end records differ"


def test_a_remark_at_the_end_is_let_pass():
    data = one()
    assert found(data[:-2] + struct.pack("<H", 6) + b"PK\5\6ab") == []


def test_a_zip_in_a_zip_is_a_member_like_any_other():
    inner = zip_of([Piece("bomb", b"\0" * 20 * MB)])
    members, problems = zip_members(zip_of([Piece("photos/x.zip", inner)]), what="van.zip")
    assert (members, problems) == ({"photos/x.zip": inner}, [])


# what is told


@pytest.mark.parametrize("data", [b"", b"PK", b"%PDF-1.7", b"id,kind\n", b"\0" * 100, bytes(range(256))])
def test_what_is_no_zip(data):
    assert only(data) == "van.zip: no zip"


def test_a_zip_cut_off_anywhere_is_told():
    data = one()
    for length in range(4, len(data)):
        assert len(found(data[:length])) == 1, length
    assert "cut off" in only(data[:-1])
    assert "something follows it" in only(data + b"\0")


def test_what_stands_before_a_zip_is_told():
    assert only(b"#!/bin/sh\n" + one()) == "van.zip: no zip"
    assert "directory is not where it should be" in only(b"PK\3\4" + b"\0" * 96 + one())


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"flags": 1}, "b.csv in van.zip: is under a password"),
        ({"flags": 0x41}, "b.csv in van.zip: is under a password"),
        ({"method": 99, "flags": 1}, "b.csv in van.zip: is under a password"),
        ({"method": 12}, "b.csv in van.zip: is packed in a way (number 12) that is not read here"),
        ({"mode": 0o120777, "raw": b"/etc/passwd"}, "b.csv in van.zip: is a link"),
        ({"mode": 0o020666}, "b.csv in van.zip: is no plain file"),
        ({"mode": 0o040755}, "b.csv in van.zip: is no plain file"),
        ({"name": "b/", "mode": 0o040755, "raw": b"x"}, "b/ in van.zip: is a folder with bytes of its own"),
        ({"says_unpacked": 5, "local_unpacked": 5}, "b.csv in van.zip: unpacks to more than it says"),
        ({"says_unpacked": 500}, "b.csv in van.zip: unpacks to less than it says"),
        ({"says_unpacked": 500, "local_unpacked": 18}, "b.csv in van.zip: has another size or checksum in the"),
        ({"says_packed": 5}, "b.csv in van.zip: is cut off"),
        ({"says_packed": 500_000}, "b.csv in van.zip: is cut off, or its size is not true"),
        ({"says_checksum": 7}, "b.csv in van.zip: is damaged: its checksum does not come out"),
        ({"packed": b"\xff\xff\xff"}, "b.csv in van.zip: is damaged"),
        ({"packed": b""}, "b.csv in van.zip: is cut off"),
        ({"packed": deflated(WORDS) + b"more"}, "b.csv in van.zip: has bytes behind its end"),
        ({"local_name": b"c.csv"}, "b.csv in van.zip: has another name in the directory than where it lies"),
        ({"local_method": 0}, "b.csv in van.zip: is packed otherwise than the directory says"),
        ({"extra": b"\x01\x00\xff\x00"}, "b.csv in van.zip: has damaged fields beside its name"),
        ({"says_unpacked": 0xFFFFFFFF, "extra": b"\1\0\0\0"}, "b.csv in van.zip: has damaged fields beside its name"),
        ({"extra": struct.pack("<2HBL", 0x7075, 10, 1, 0) + b"c.csv"}, "b.csv in van.zip: has two names"),
        ({"name": b"\xff.csv", "flags": 0x800}, "\\xff.csv in van.zip: has a name that is no text"),
        ({"front": 3}, "b.csv in van.zip: is not where the directory says"),
        ({"front": 9_999_999}, "b.csv in van.zip: is not where the directory says"),
    ],
)
def test_a_member_that_may_not_be_unpacked(said, told):
    assert only(one(**said)).startswith(told)


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("../up.csv", "leads out of its folder"),
        ("sheets/../../up.csv", "leads out of its folder"),
        ("..", "leads out of its folder"),
        ("/etc/up.csv", "begins at the root of a disk"),
        ("C:/up.csv", "begins at the root of a disk"),
        ("c:up.csv", "begins at the root of a disk"),
        ("sheets\\up.csv", "has a name with \\ in it"),
        ("..\\up.csv", "has a name with \\ in it"),
        ("sheets//up.csv", "has a name with an empty piece"),
        ("./up.csv", "has a name with an empty piece"),
        ("", "has a name with an empty piece"),
        ("up.csv\0.txt", "a sign that no file can have"),
        ("up\n.csv", "a sign that no file can have"),
        ("up.csv:hidden", "a sign that no file can have"),
        ("n" * 300, "has a name of 300 letters"),
        ("a.csv", "stands in it 2 times"),
        ("a.csv/b", "is a file and a folder"),
    ],
)
def test_names_that_no_member_may_have(name, told):
    assert told in only(one(name=name))


def test_names_that_differ_only_in_capitals_or_in_how_a_letter_is_built():
    assert found(zip_of([Piece("Parts.csv"), Piece("parts.CSV")])) == [
        "Parts.csv in van.zip: has a name that another has too, but for capitals",
        "parts.CSV in van.zip: has a name that another has too, but for capitals",
    ]
    assert len(found(zip_of([Piece("gro\u0308\u00dfe"), Piece("GR\u00d6SSE")]))) == 2


def test_names_alone_can_be_asked_about():
    assert names_faults(["photos/a.jpg", "about.json"], what="van.zip") == []
    assert len(names_faults(["photos/../a", "x", "x"], what="van.zip")) == 2


def test_every_member_with_something_wrong_is_told():
    data = zip_of([Piece("../a", WORDS), Piece("b", WORDS, flags=1), Piece("c", WORDS), Piece("d", WORDS, method=9)])
    assert [text.split(" in ")[0] for text in found(data)] == ["../a", "b", "d"]
    damaged = [Piece(name, WORDS, says_checksum=1) for name in "ab"]
    assert len(found(zip_of([*damaged, Piece("c", WORDS)]))) == 2


# bombs


def test_members_that_lie_over_one_another_are_not_unpacked():
    first = Piece("a", b"\0" * MB)
    copies = [Piece(f"b{count}", b"\0" * MB, front=0, only_listed=True, local_name=b"a") for count in range(50)]
    assert "has another name" in only(zip_of([first, *copies]))
    # the inner member lies in the bytes of the outer, stored one
    inner = zip_of([Piece("b", b"\0" * MB)])[: -(46 + 1 + 22)]
    listed = Piece("b", b"\0" * MB, front=31, only_listed=True)
    assert only(zip_of([Piece("a", inner, method=0), listed])) == "b in van.zip: lies over another member"


def test_a_bomb_is_told_from_what_it_claims():
    bomb = Piece("a", b"\0" * 100 * MB)
    begun = time.process_time()
    assert only(zip_of([bomb])) == "a in van.zip: unpacks to 100 MB, more than 200 times what it is packed"
    assert time.process_time() - begun < 2.0
    large = zip_of([Piece(f"m{count}", b"\0" * 15 * MB) for count in range(20)])
    assert only(large) == "van.zip: unpacks to 300 MB"


@pytest.mark.parametrize("says", [10, 15 * MB])
def test_a_bomb_that_says_less_than_it_is_stops_there(says):
    data = zip_of([Piece("a", b"\0" * 120 * MB, says_unpacked=says)])
    tracemalloc.start()
    begun = time.process_time()
    _, problems = zip_members(data, what="van.zip")
    taken_s = time.process_time() - begun
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert [problem.found for problem in problems] == ["a in van.zip: unpacks to more than it says"]
    assert taken_s < 2.0
    assert peak < says + 8 * MB


def test_the_bound_can_be_set():
    data = one(raw=b"x" * 2 * MB)
    assert only(data, most_bytes=MB) == "van.zip: unpacks to 3 MB"
    assert found(data, most_bytes=3 * MB) == []


def test_too_many_members_are_told_before_they_are_looked_at():
    many = zip_of([Piece(f"m{count}", method=0) for count in range(MOST_MEMBERS + 1)])
    assert only(many) == f"van.zip: {MOST_MEMBERS + 1} members"
    assert found(zip_of([Piece(f"m{count}", method=0) for count in range(50)])) == []
    assert "breaks off at member 3 of 9999" in only(zip_of([Piece("a"), Piece("b")], count=9999))
    assert only(zip_of([Piece("a"), Piece("b")], count=1)) == "van.zip: its directory holds more than its members"


def test_a_piece_that_ends_where_a_member_ends_is_the_end():
    for length in (MB - 1, MB, MB + 1, 2 * MB):
        raw = b"q" * length
        assert zip_members(zip_of([Piece("a", raw)]), what="van.zip") == ({"a": raw}, [])
        assert zip_members(zip_of([Piece("a", raw, method=0)]), what="van.zip") == ({"a": raw}, [])


def test_where_the_layout_breaks_the_member_is_named():
    with pytest.raises(Broken) as broken:
        members_of(one(local_name=b"c.csv"), most=10)
    assert broken.value.name == "b.csv"
    (member, *_) = members_of(one(), most=10)
    assert (member.name, member.unpacked, member.checksum) == ("a.csv", len(WORDS), zlib.crc32(WORDS))


# anything at all


@settings(max_examples=150)
@given(st.binary(max_size=200))
def test_any_bytes_behind_the_first_four_are_told(raw):
    assert found(b"PK\3\4" + raw)


@settings(max_examples=150)
@given(st.data())
def test_any_bytes_changed_give_the_same_members_or_are_told(data):
    sound = zip_of([Piece("a.csv", WORDS), Piece("sheets/b.csv", WORDS * 40), Piece("c", WORDS, method=0)])
    places = data.draw(st.lists(st.tuples(st.integers(0, len(sound) - 1), st.integers(1, 255)), min_size=1, max_size=4))
    changed = bytearray(sound)
    for place, by in places:
        changed[place] ^= by
    members, problems = zip_members(bytes(changed), what="van.zip")
    # a date, a version or a right may change unseen; what a member holds may not
    assert problems or list(members.values()) == [WORDS, WORDS * 40, WORDS]


@pytest.mark.parametrize("piece", [1, 2, 3, 16, 64])
def test_what_is_left_in_the_unpacker_is_fetched(monkeypatch, piece):
    # all that was packed is taken in, and more comes out than fits into a piece
    monkeypatch.setattr(zip_guard, "_PIECE_BYTES", piece)
    for length in range(300):
        raw = b"q" * length
        assert zip_members(zip_of([Piece("a", raw)]), what="x") == ({"a": raw}, [])


def test_the_size_of_a_piece_says_nothing(monkeypatch):
    raw = bytes(range(256)) * 30
    for piece in (1, 7, 256, 4096):
        monkeypatch.setattr(zip_guard, "_PIECE_BYTES", piece)
        assert zip_members(zip_of([Piece("a", raw), Piece("b", raw, method=0)]), what="x")[0] == {"a": raw, "b": raw}
