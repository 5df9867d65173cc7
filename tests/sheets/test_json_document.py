"""A JSON document holds the whole job; what is no job in it is told with sheet, row and column."""

from __future__ import annotations

import json
import time
import tracemalloc
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loomwright.job.reading import job_from_text
from loomwright.job.schema import FORMAT, SHEETS
from loomwright.refusals import BadDocument
from loomwright.sheets import json_document, strict_json
from loomwright.sheets.json_document import job_from_json, json_bytes, open_json, write_json
from loomwright.sheets.strict_json import Digits, NoNumber, Pairs, parsed
from tests.job.small import SOUND, read, sheets
from tests.job.test_round_trip import jobs
from tests.sheets.containers import csv_files, document, small_job


def refused(said: object) -> list[tuple[str, int | None, str, str]]:
    """Where a document is refused, and what was found: sheet, row, column, found."""
    raw = said if isinstance(said, bytes) else (said if isinstance(said, str) else json.dumps(said)).encode()
    with pytest.raises(BadDocument) as refusal:
        job_from_json(raw, what="van.json")
    for problem in refusal.value.problems:
        assert problem.allowed
        assert problem.mend
    return [(problem.sheet, problem.row, problem.column, problem.found) for problem in refusal.value.problems]


def only(said: object) -> tuple[str, int | None, str, str]:
    (place,) = refused(said)
    return place


def text_with(row: str, sheet: str = "wires") -> str:
    """The small job's document with a row typed by hand put first into a sheet."""
    return json.dumps(document(small_job())).replace(f'"{sheet}": [', f'"{sheet}": [{row}, ', 1)


# there and back


def test_the_job_comes_back_whole(tmp_path):
    job = small_job()
    path = tmp_path / "van.json"
    write_json(job, path)
    assert open_json(path) == job
    assert open_json(str(path)) == job
    assert json_bytes(open_json(path)) == path.read_bytes()


@settings(max_examples=60)
@given(jobs())
def test_any_job_comes_back_whole(named):
    job = job_from_text(named)
    raw = json_bytes(job)
    assert job_from_json(raw, what="x.json") == job
    assert json_bytes(job_from_json(raw, what="x.json")) == raw


def test_the_document_is_plain_json_with_a_line_a_row():
    job = small_job()
    raw = json_bytes(job).decode()
    said = document(job)
    assert list(said) == ["format", "sheets"]
    assert said["format"] == FORMAT
    known = [sheet for sheet in SHEETS if sheet in said["sheets"]]
    assert list(said["sheets"]) == [*known, "my list"]
    assert said["sheets"]["wires"][0]["id"] == "W1"
    assert "condition" not in said["sheets"]["wires"][0]
    assert said["sheets"]["my list"] == [{"what": "tape", "=much": "1,5"}, {"what": "ties", "=much": ""}]
    assert sum(line.startswith("   {") for line in raw.splitlines()) == sum(map(len, said["sheets"].values()))


def test_blank_cells_written_or_left_out_are_the_same_job():
    said = document(read(sheets()))
    for row in said["sheets"]["wires"]:
        row["notes"] = ""
    assert job_from_json(json.dumps(said).encode(), what="x") == read(sheets())


def test_numbers_keep_the_digits_they_were_typed_with():
    row = '{"id": "W77", "from": "B1.+", "to": "F1.1", "size_mm2": 2.50, "length_mm": 1e3, "bin no": 007}'
    row = row.replace("007", "7")
    wire = job_from_json(text_with(row).encode(), what="x").wires[0]
    assert (wire.size_mm2, wire.length_mm, wire.extra["bin no"]) == (2.5, 1000.0, "7")
    assert (wire.written["size_mm2"], wire.written["length_mm"]) == ("2.50", "1e3")


def test_a_byte_order_mark_is_passed_over():
    assert job_from_json(b"\xef\xbb\xbf" + json_bytes(small_job()), what="x") == small_job()


def test_rows_with_other_columns_of_their_own_are_filled_as_in_a_table(tmp_path):
    said = document(read(sheets()))
    said["sheets"]["metals"] = [{"id": "bonnet", "shop": "7"}, {}, {"id": "lid"}]
    said["sheets"]["list"] = [{"a": "1"}, {"b": "2"}]
    job = job_from_json(json.dumps(said).encode(), what="x")
    assert [dict(row.extra) for row in job.metals] == [{"shop": "7"}, {"shop": ""}]
    assert job.extra_sheets["list"] == ({"a": "1", "b": ""}, {"a": "", "b": "2"})
    files = csv_files(job, tmp_path / "a")
    assert csv_files(job_from_json(json_bytes(job), what="x"), tmp_path / "b") == files


def test_headings_in_any_capitals_and_blanks_around_are_read():
    row = '{"ID": "W77", " From ": "B1.+", "to": "F1.1", "Size mm2": "4"}'
    said = document(read(sheets()))
    said["sheets"] |= {"wires": [json.loads(row)], "requirements": []}
    wire = job_from_json(json.dumps(said).encode(), what="x").wires[0]
    assert (wire.id, wire.from_, wire.size_mm2) == ("W77", "B1.+", 4.0)


# what is told, with its place

CELLS = [
    ("null", "null"),
    ("true", "true"),
    ("false", "false"),
    ("[1]", "a list"),
    ('{"a": 1}', "an object"),
    ("NaN", "NaN"),
    ("-Infinity", "-Infinity"),
    ("1" * 400, "a number of 400 signs"),
    ('"a\\u0000b"', "a zero byte or half a sign"),
    ('"\\ud83d"', "a zero byte or half a sign"),
    ('"' + "x" * 140_000 + '"', "140000 letters"),
    ("[" * 100 + "]" * 100, "a list"),
]


@pytest.mark.parametrize(("cell", "found"), CELLS, ids=[each[1] for each in CELLS])
def test_a_cell_that_is_no_text(cell, found):
    row = f'{{"id": "W77", "from": "B1.+", "to": "F1.1", "notes": {cell}}}'
    assert only(text_with(row)) == ("wires", 2, "notes", found)


def test_a_key_that_is_no_text_is_told_without_echoes():
    row = '{"id": null, "kind": "lamp"}'
    assert only(text_with(row, "parts")) == ("parts", 2, "id", "null")


def test_every_cell_is_told_and_the_sheets_own_faults_with_them():
    said = document(small_job())
    said["sheets"]["wires"][1] |= {"notes": None, "length_mm": [1]}
    said["sheets"]["wires"][2]["colour"] = "LG"
    said["sheets"]["metals"].append("bonnet")
    said["sheets"]["bonds"] = {"from": "a"}
    assert [place[:3] for place in refused(said)] == [
        ("metals", 3, ""),
        ("bonds", None, ""),
        ("wires", 3, "length_mm"),
        ("wires", 3, "notes"),
        ("wires", 4, "colour"),
    ]


def test_a_column_twice_in_a_row():
    row = '{"id": "W77", "from": "B1.+", "to": "F1.1", "notes": "a", "notes": "b"}'
    assert only(text_with(row)) == ("wires", 2, "notes", "this heading twice in the row")
    assert only(text_with(row.replace('"notes": "b"', '" notes": "b"')))[2] == "notes"


def test_a_cell_under_no_heading_and_a_heading_that_no_csv_sheet_can_have():
    row = '{"id": "W77", "from": "B1.+", "to": "F1.1", "": "x"}'
    assert only(text_with(row)) == ("wires", 2, "", "x under no heading")
    row = '{"id": "W77", "from": "B1.+", "to": "F1.1", "\\ufeffa": "x"}'
    assert only(text_with(row))[3] == "a zero byte or half a sign"


def test_a_sheet_twice_and_a_sheet_with_a_name_no_file_can_have():
    text = json.dumps(document(small_job()))
    twice = text.replace('"metals":', '"metals": [], "metals":')
    assert only(twice) == ("metals", None, "", "metals")
    named = text.replace('"metals":', '"../up": [], "metals":')
    assert only(named) == ("../up", None, "", "../up")
    none = text.replace('"metals":', '"": [], "metals":')
    assert only(none) == ("", None, "", "van.json: a sheet without a name")
    half = text.replace('"metals":', '"\\ud800": [], "metals":')
    assert only(half)[0] == "\\ud800"


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ([], "van.json: a list"),
        ("7", "van.json: 7"),
        ('"sheets"', 'van.json: "sheets"'),
        ("null", "van.json: null"),
        ({}, "van.json: no format"),
        ({"format": FORMAT}, "van.json: sheets: null"),
        ({"format": FORMAT, "sheets": []}, "van.json: sheets: a list"),
        ({"format": FORMAT, "sheets": {}}, "van.json holds no sheet"),
        ({"format": FORMAT + 1, "sheets": {"parts": 7}}, f"van.json: format {FORMAT + 1}"),
        ({"format": 1.5, "sheets": SOUND}, "van.json: format 1.5"),
        ({"format": -1, "sheets": SOUND}, "van.json: format -1"),
        ({"format": "1", "sheets": SOUND}, 'van.json: format "1"'),
        ({"format": True, "sheets": SOUND}, "van.json: format true"),
        ('{"format": ' + "9" * 5000 + "}", "van.json: format " + "9" * 40),
    ],
)
def test_a_document_of_another_shape(said, found):
    assert only(said) == ("", None, "", found)


def test_sheets_beside_the_sheets_are_told_where_to_go():
    said = {"format": FORMAT, "sheets": SOUND, "parts": [], "made": "x"}
    assert [place[3] for place in refused(said)] == ["van.json: made", "van.json: parts"]
    with pytest.raises(BadDocument, match="Put it into sheets"):
        job_from_json(json.dumps(said).encode(), what="van.json")
    twice = json.dumps({"format": FORMAT, "sheets": SOUND})[:-1] + ', "sheets": {}}'
    assert "van.json: sheets twice" in [place[3] for place in refused(twice)]


def test_what_is_no_json_says_the_line():
    raw = json_bytes(small_job()).decode()
    lines = raw.splitlines()
    lines[4] = lines[4].replace('"', "", 1)
    sheet, row, column, found = only("\n".join(lines))
    assert (sheet, row, column) == ("", None, "")
    assert found.startswith("van.json, line 5, sign ")
    assert only("")[3] == "van.json, line 1, sign 1: its end"
    assert only(raw[:200])[3].startswith("van.json, line ")
    assert only(b'{\n"format": 1,\n"\xb5": 1}')[3] == "van.json: a byte 0xb5 in line 3"
    assert "0xff in line 1" in only(raw.encode("utf-16"))[3]


def test_brackets_without_end_and_pieces_without_number_are_told_at_once():
    begun = time.process_time()
    tracemalloc.start()
    for bomb in (b"[" * 3_000_000, b'{"a":' * 1_500_000, b"[" * 5_000_000, b"[1," * 5_000_000):
        assert only(bomb)[3].startswith("van.json: ")
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert time.process_time() - begun < 5.0
    assert peak < 64 * 1024 * 1024


def test_a_document_that_is_too_large(tmp_path, monkeypatch):
    monkeypatch.setattr(strict_json, "MOST_BYTES", 1000)
    assert only(b" " * 1001)[3] == "van.json: 0 MB"
    monkeypatch.setattr(json_document, "MOST_BYTES", 1000)
    with pytest.raises(BadDocument, match="at most 0 MB"):
        write_json(small_job(), tmp_path / "van.json")
    (tmp_path / "van.json").write_bytes(b" " * 1001)
    with pytest.raises(BadDocument, match="holds more"):
        open_json(tmp_path / "van.json")


def test_a_text_or_name_no_sheet_can_hold_is_not_written(tmp_path):
    part = {"id": "B1", "kind": "battery"}
    for named in (
        {"parts": [{**part, "notes": "a\0"}]},
        {"parts": [part], "a/b": [{"a": "1"}]},
        {"parts": [part], "list": [{"\ufeffa": "1"}]},
        {"parts": [part], "list": [{"a": "1"}], "LIST": [{"a": "1"}]},
    ):
        with pytest.raises(BadDocument):
            write_json(job_from_text(named), tmp_path / "van.json")
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(BadDocument, match="is not there"):
        open_json(tmp_path / "van.json")


# the reader itself


def test_names_digits_and_what_is_no_number_are_kept_apart():
    said, broken = parsed(b'{"a": 1.50, "a": NaN, "b": [null, true, "x"]}', what="x")
    assert broken is None
    assert said == Pairs([("a", Digits("1.50")), ("a", NoNumber("NaN")), ("b", [None, True, "x"])])
    assert [type(value) for _, value in said] == [Digits, NoNumber, list]


@settings(max_examples=100, suppress_health_check=[HealthCheck.too_slow])
@given(st.binary(max_size=80), st.integers(0, 400), st.integers(0, 40))
def test_whatever_bytes_stand_in_it_it_is_read_or_refused(raw, place, length):
    sound = json_bytes(read(sheets()))
    place = place * len(sound) // 400
    try:
        job = job_from_json(sound[:place] + raw + sound[place + length :], what="x.json")
    except BadDocument as refusal:
        assert all(problem.mend and problem.allowed for problem in refusal.problems)
        return
    assert job.parts


def test_the_path_may_be_a_path(tmp_path: Path):
    write_json(small_job(), str(tmp_path / "van.json"))
    assert (tmp_path / "van.json").read_bytes() == json_bytes(small_job())
