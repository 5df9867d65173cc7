"""An archive holds the whole job, the same bytes each time; whatever is changed in one is told with its member."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from loomwright.job.reading import job_from_text
from loomwright.job.schema import FORMAT
from loomwright.refusals import BadDocument
from loomwright.sheets import archive, one_file
from loomwright.sheets.archive import ABOUT, archive_bytes, read_archive, read_kept, write_archive
from loomwright.sheets.csv_folder import write_folder
from tests.job.small import read, sheets
from tests.job.test_round_trip import jobs
from tests.sheets.containers import csv_files, members, rewritten, small_job
from tests.sheets.zips import Piece, zip_of

KEPT = {"photos/box lid.jpg": b"\xff\xd8\xff" + bytes(range(256)), "history/0001/wires.csv": b"id\nW1\n"}


@pytest.fixture
def path(tmp_path) -> Path:
    """Where an archive can be put."""
    return tmp_path / "van.loomjob"


def put(path: Path, found: dict[str, bytes], *, digests: bool = True, **about: object) -> Path:
    """Write members as an archive, with the right digests and anything in `about` said besides."""
    listed = {name: hashlib.sha256(raw).hexdigest() for name, raw in found.items() if name != ABOUT}
    told = json.loads(found[ABOUT]) | ({"sha256": listed} if digests else {}) | about
    path.write_bytes(zip_of([Piece(name, raw) for name, raw in ({**found, ABOUT: json.dumps(told).encode()}).items()]))
    return path


def refused(path: Path) -> tuple:
    with pytest.raises(BadDocument) as refusal:
        read_archive(path)
    for problem in refusal.value.problems:
        assert problem.allowed
        assert problem.mend
    return refusal.value.problems


def only(path: Path):
    (problem,) = refused(path)
    return problem


# there and back


def test_the_job_comes_back_whole(path):
    job = small_job()
    write_archive(job, path)
    assert read_archive(path).job == job
    assert read_archive(str(path)).job == job


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(jobs())
def test_any_job_comes_back_whole(tmp_path_factory, named):
    job = job_from_text(named)
    path = tmp_path_factory.mktemp("job") / "x.loomjob"
    write_archive(job, path)
    assert read_archive(path).job == job
    assert archive_bytes(read_archive(path).job) == path.read_bytes()


def test_the_sheets_are_those_of_a_folder(tmp_path):
    job = small_job()
    found = members(archive_bytes(job))
    assert {name.removeprefix("sheets/"): raw for name, raw in found.items() if name != ABOUT} == csv_files(
        job, tmp_path / "van"
    )


def test_about_says_the_format_who_made_it_and_every_digest():
    found = members(archive_bytes(small_job(), KEPT))
    about = json.loads(found.pop(ABOUT))
    assert about["format"] == FORMAT
    assert about["made_by"] == "loomwright"
    assert about["sha256"] == {name: hashlib.sha256(raw).hexdigest() for name, raw in found.items()}


def test_the_same_job_gives_the_same_bytes_in_any_process_and_zone(tmp_path):
    folder = tmp_path / "van"
    write_folder(small_job(), folder)
    told = "import sys; from loomwright.sheets.archive import archive_bytes; import hashlib;"
    told += "from loomwright.sheets.csv_folder import open_folder;"
    told += "print(hashlib.sha256(archive_bytes(open_folder(sys.argv[1]))).hexdigest())"
    found = {hashlib.sha256(archive_bytes(small_job())).hexdigest()}
    for number, zone in enumerate(("UTC", "Asia/Tokyo")):
        environment = {**os.environ, "TZ": zone, "PYTHONHASHSEED": str(number)}
        ran = subprocess.run([sys.executable, "-c", told, str(folder)], env=environment, capture_output=True, text=True)
        assert ran.returncode == 0, ran.stderr
        found.add(ran.stdout.strip())
    assert len(found) == 1


def test_the_same_job_gives_the_same_bytes_on_any_system(monkeypatch):
    before = archive_bytes(small_job(), KEPT)
    monkeypatch.setattr(zipfile.sys, "platform", "win32")
    assert archive_bytes(small_job(), KEPT) == before


def test_the_order_in_which_own_sheets_and_photos_came_says_nothing():
    named = sheets()
    one = job_from_text({**named, "b": [{"x": "1"}], "a": [{"x": "1"}]})
    other = job_from_text({"a": [{"x": "1"}], "b": [{"x": "1"}], **named})
    assert archive_bytes(one, KEPT) == archive_bytes(other, dict(reversed(KEPT.items())))


def test_any_zip_program_opens_it_and_finds_no_date_and_no_extra():
    with zipfile.ZipFile(io.BytesIO(archive_bytes(small_job(), KEPT))) as found:
        assert found.testzip() is None
        assert found.namelist()[0] == ABOUT
        for info in found.infolist():
            assert (info.date_time, info.extra, info.compress_type) == ((1980, 1, 1, 0, 0, 0), b"", 0)


def test_an_archive_packed_anew_by_another_program_is_read(path):
    found = rewritten(small_job(), KEPT)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.mkdir("sheets")
        for name in reversed(found):
            packed.writestr(name, found[name])
    assert read_archive(path).job == small_job()


def test_photos_and_history_are_given_back_byte_for_byte(path):
    write_archive(small_job(), path, KEPT)
    found = read_archive(path)
    assert (found.job, dict(found.kept)) == (small_job(), KEPT)
    again = path.with_name("again.loomjob")
    write_archive(found.job, again, found.kept)
    assert again.read_bytes() == path.read_bytes()
    assert dict(read_kept(path)) == KEPT


def test_what_a_spreadsheet_would_run_is_written_as_text():
    job = job_from_text({"parts": [{"id": "B1", "kind": "battery", "notes": '=HYPERLINK("x")', "=own": "@x"}]})
    text = members(archive_bytes(job))["sheets/parts.csv"].decode()
    assert [cell for row in csv.reader(io.StringIO(text)) for cell in row if cell[:1] in set("=@+-\t")] == []
    assert "'=HYPERLINK" in text


# what is told


def test_a_file_that_is_no_archive(path):
    path.write_bytes(b"not a zip")
    assert only(path).found == "van.loomjob: no zip"
    path.write_bytes(zip_of([Piece("a", b"x")]))
    assert only(path).found == "van.loomjob holds no about.json"
    path.unlink()
    assert only(path).found.endswith("is not there")
    path.mkdir()
    assert only(path).found.endswith("is a folder")


def test_a_changed_sheet_is_told_and_so_is_what_is_wrong_in_it(path):
    found = rewritten(small_job())
    found["sheets/wires.csv"] = found["sheets/wires.csv"].replace(b"RD", b"LG")
    about = json.loads(found[ABOUT])["sha256"]
    put(path, found, sha256=about)
    assert [(problem.sheet, problem.row, problem.column) for problem in refused(path)] == [
        ("wires", None, ""),
        ("wires", 2, "colour"),
    ]
    assert refused(path)[0].found == "sheets/wires.csv in van.loomjob is not as it was written"
    assert [problem.column for problem in refused(put(path, found))] == ["colour"]


def test_a_changed_photo_is_told(path):
    found = rewritten(small_job(), KEPT)
    found["photos/box lid.jpg"] += b"\0"
    put(path, found, digests=False)
    assert only(path).found == "photos/box lid.jpg in van.loomjob is not as it was written"
    with pytest.raises(BadDocument):
        read_kept(path)


def test_members_more_or_fewer_than_listed_are_told(path):
    found = rewritten(small_job(), KEPT)
    found["sheets/crimps.csv"] = b"terminal\nring 6\n"
    del found["history/0001/wires.csv"]
    put(path, found, digests=False)
    assert sorted(problem.found for problem in refused(path)) == [
        "history/0001/wires.csv in van.loomjob is listed and not there",
        "sheets/crimps.csv in van.loomjob is not listed",
    ]


@pytest.mark.parametrize("name", ["run.exe", "sheets/deep/wires.csv", "sheets/wires.txt", "Photos/a.jpg", "sheets"])
def test_a_member_where_none_lies_is_told(path, name):
    problem = only(put(path, rewritten(small_job()) | {name: b"x"})) if name != "sheets" else None
    if problem is None:
        put(path, rewritten(small_job()) | {name: b"x"})
        assert "is a file and a folder" in only(path).found
    else:
        assert problem.found == f"{name} in van.loomjob"
        assert "sheets/NAME.csv" in problem.allowed


def test_sheets_that_are_not_text_are_told_without_echoes(path):
    found = rewritten(small_job())
    found["sheets/parts.csv"] = found["sheets/parts.csv"] + "Z1,lamp,Rückfahrlicht\n".encode("latin-1")
    found["sheets/metals.csv"] = b'id,name\nbonnet,"lid\n'
    lines = found["sheets/parts.csv"].count(b"\n")
    assert [(problem.sheet, problem.row) for problem in refused(put(path, found))] == [("parts", lines), ("metals", 2)]


def test_a_sheet_in_capitals_is_read_and_one_told_twice(path):
    found = rewritten(small_job())
    found["sheets/Old wires.CSV"] = found.pop("sheets/old_wires.csv")
    assert read_archive(put(path, found)).job == small_job()
    found["sheets/old_wires.csv"] = found["sheets/Old wires.CSV"]
    assert only(put(path, found)).allowed == "each sheet once"


def test_an_archive_without_a_sheet(path):
    found = {ABOUT: rewritten(small_job())[ABOUT]}
    assert only(put(path, found)).found == "van.loomjob holds no sheet"


@pytest.mark.parametrize(
    ("told", "found"),
    [
        ({"format": FORMAT + 1}, f"about.json in van.loomjob: format {FORMAT + 1}"),
        ({"format": 0}, "about.json in van.loomjob: format 0"),
        ({"format": "1"}, 'about.json in van.loomjob: format "1"'),
        ({"format": True}, "about.json in van.loomjob: format true"),
        ({"format": None}, "about.json in van.loomjob: no format"),
        ({"sha256": []}, "about.json in van.loomjob has no sound list of the members"),
        ({"sha256": {"sheets/wires.csv": 5}}, "about.json in van.loomjob has no sound list of the members"),
    ],
)
def test_what_about_may_not_say(path, told, found):
    assert only(put(path, rewritten(small_job()), **told)).found == found


def test_a_newer_format_says_what_to_do(path):
    assert "newer version" in only(put(path, rewritten(small_job()), format=FORMAT + 1)).mend


@pytest.mark.parametrize("raw", [b"", b"{", b"[]", b"[" * 5000, b"\xff", b'{"format": 1, "format": 1, "sha256": {}}'])
def test_an_about_that_cannot_be_read(path, raw):
    found = rewritten(small_job()) | {ABOUT: raw}
    path.write_bytes(zip_of([Piece(name, each) for name, each in found.items()]))
    assert "about.json in van.loomjob" in only(path).found


def test_a_damaged_zip_is_not_read_in_part(path):
    found = rewritten(small_job())
    pieces = [Piece(name, raw, says_checksum=1 if name == "sheets/bonds.csv" else None) for name, raw in found.items()]
    path.write_bytes(zip_of(pieces))
    assert only(path).found == "sheets/bonds.csv in van.loomjob: is damaged: its checksum does not come out"


def test_a_sheet_of_millions_of_lines_is_told_without_reading_it(path):
    found = rewritten(small_job())
    found["sheets/stock.csv"] = b"item\n" + b"\n" * 5_000_000
    assert only(put(path, found)).found == "5000001 cells and lines"


# writing


@pytest.mark.parametrize("name", ["sheets/x.csv", "about.json", "elsewhere/a", "photos/", "photos/../a", "photos/a\\b"])
def test_what_is_kept_lies_where_it_may(path, name):
    with pytest.raises(BadDocument):
        write_archive(small_job(), path, {name: b"x"})
    assert not path.exists()


@pytest.mark.parametrize("name", ["../up", "a/b", ".hidden", "a:b", "x" * 150, "Wires2\n", "List"])
def test_a_sheet_with_a_name_no_file_can_have_is_not_written(path, name):
    job = job_from_text({**sheets(), name: [{"a": "1"}], "list": [{"a": "1"}]})
    with pytest.raises(BadDocument):
        write_archive(job, path)
    assert not path.exists()


@pytest.mark.parametrize("text", ["a\0b", "half \ud83d sign"])
def test_a_text_no_sheet_can_hold_is_told_with_its_cell(path, text):
    job = job_from_text({"parts": [{"id": "B1", "kind": "battery", "notes": text}]})
    with pytest.raises(BadDocument) as refusal:
        write_archive(job, path)
    (problem,) = refusal.value.problems
    assert (problem.sheet, problem.row, problem.column) == ("parts", 2, "notes")


def test_more_than_can_be_read_back_is_not_written(path, monkeypatch):
    monkeypatch.setattr(archive, "MOST_ARCHIVE_BYTES", 100_000)
    with pytest.raises(BadDocument, match="2 MB"):
        write_archive(small_job(), path, {"photos/a": b"x" * 2 * 1024 * 1024})
    monkeypatch.setattr(archive, "MOST_BYTES", 100)
    with pytest.raises(BadDocument, match="Split the sheet"):
        write_archive(small_job(), path)
    assert not path.exists()


def test_the_largest_archive_that_is_written_is_read(path, monkeypatch):
    spare = len(archive_bytes(small_job()))
    monkeypatch.setattr(archive, "MOST_ARCHIVE_BYTES", spare + 20_000)
    for size in range(10_000, 20_000, 499):
        try:
            write_archive(small_job(), path, {"photos/ü": b"x" * size})
        except BadDocument:
            assert size > 15_000
            break
        assert read_archive(path).kept["photos/ü"] == b"x" * size
    else:
        pytest.fail("the bound was never met")


def test_stopped_half_way_the_old_archive_stands(path, monkeypatch):
    write_archive(read(sheets()), path)
    before = path.read_bytes()

    def full(_handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(one_file.os, "fsync", full)
    with pytest.raises(BadDocument, match="No space left"):
        write_archive(small_job(), path)
    assert path.read_bytes() == before
    assert [file.name for file in path.parent.iterdir()] == ["van.loomjob"]
