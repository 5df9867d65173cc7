"""A job comes back from a workbook the same, whatever its texts are; so does a folder of sheets, byte for byte."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loomwright.examples.shelf import example_folder, example_names
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.reading import job_from_text
from loomwright.job.rows import Decision, Reason
from loomwright.job.schema import SHEETS
from loomwright.job.writing import text_from_job
from loomwright.sheets.csv_folder import open_folder, write_folder
from loomwright.sheets.workbook import open_workbook, read_workbook
from loomwright.sheets.workbook_guide import guide_of
from loomwright.sheets.workbook_writing import workbook_bytes, write_workbook
from loomwright.tables.kinds import load_kinds
from tests.job.small import SOUND, more, read, sheets
from tests.job.test_round_trip import jobs

NASTY = [
    *("=1+1", "+1", "-1", "@SUM(1)", "'quoted", "''twice", "\tx", "\rx", "=", "+", "-", "=cmd|' /C calc'!A0", "{=1}"),
    *("_x0041_", "_x005F_x0041_", "_x0041_x0042_", "__x0041__x0042_", "_x000D_", "_x00e9_", "_X0041_", "_x0041"),
    *(
        "<r>x</r>",
        "<r><t>x</t></r>",
        "<r></r>",
        "<r>",
        "<b>&amp;",
        "]]>",
        "<![CDATA[x]]>",
        "<!-- x -->",
        "&#65;",
        "&lol;",
    ),
    *(
        " lead",
        "trail ",
        "  ",
        "a\nb",
        "a\r\nb",
        "a\rb",
        "\n",
        "a\tb",
        "\x07\x0b\x1f",
        "\x7f\x85\u2028",
        "é ü ß Ω µ ° ²",
    ),
    *(
        "😀",
        "😀_x0041_",
        "עברית",
        "中文",
        "\u200b",
        "\ufeff",
        "x" * 32_767,
        "😀" * 16_383,
        "#REF!",
        "#N/A",
        "TRUE",
        "yes",
    ),
    *(
        "007",
        "1e3",
        "1.0",
        "2.50",
        "1,5",
        "1,234",
        "12345678901234567",
        "0.30000000000000004",
        "1/2",
        "1-2",
        "50%",
        "2024-05-31",
    ),
    *("http://a.b/c", "mailto:a@b", "file:///x", "internal:Sheet1!A1", "\\\\host\\share", "NaN", "inf", "None", "null"),
]
nasty = st.one_of(
    st.sampled_from(NASTY),
    st.text(st.characters(blacklist_categories=("Cs",), blacklist_characters="\0\ufffe\uffff"), max_size=30),
    st.text(alphabet="_x0041<>r/&;=' \n\r\t", max_size=20),
)


def back(job: Job) -> Job:
    """The job as it comes back from a workbook."""
    read_back, faults = read_workbook(workbook_bytes(job))
    assert faults == []
    return job_from_text(read_back)


@settings(max_examples=15, suppress_health_check=[HealthCheck.too_slow])
@given(jobs())
def test_a_job_comes_back_from_its_workbook(named):
    job = job_from_text(named)
    assert back(job) == job
    assert text_from_job(back(job)) == text_from_job(job)


@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.tuples(nasty, nasty, nasty), min_size=1, max_size=4))
def test_every_text_comes_back_as_it_was(texts):
    named = sheets()
    named["snags"] = [
        {"id": f"s{n}", "text": one, "photo": other, "mine": own} for n, (one, other, own) in enumerate(texts)
    ]
    named["my sheet"] = [{"first": "x", "second": one, "third": own} for one, _, own in texts]
    job = read(named)
    assert back(job) == job


def test_each_text_that_has_tripped_somebody_up_comes_back():
    job = read({**sheets(), "my sheet": [{"own": text, "other": "x"} for text in NASTY]})
    kept = [each["own"] for each in back(job).extra_sheets["my sheet"]]
    assert kept == NASTY


def test_headings_and_names_of_sheets_come_back_as_they_were():
    own = {"=1+1": "a", "_x0041_": "b", "<r>x</r>": "c", "5": "d", "1.50": "e", "Id": "f", "notes 😀": "g", "'x": "h"}
    job = read({**sheets(), "a & b, c": [own], "guide": [{"how": "slowly"}], "Mike's list": [own]})
    again = back(job)
    assert again == job
    assert list(again.extra_sheets) == list(job.extra_sheets)
    assert list(again.extra_sheets["a & b, c"][0]) == list(own)


def test_a_sheet_of_the_jobs_own_without_rows_comes_back():
    job = replace(read(sheets()), extra_sheets=FixedMap({"later": ()}))
    assert back(job) == job


def test_an_empty_job_comes_back_empty():
    read_back, faults = read_workbook(workbook_bytes(Job()))
    assert (faults, set(read_back), [rows for rows in read_back.values() if rows]) == ([], set(SHEETS), [])


def test_decisions_and_reasons_come_back():
    decision = Decision(sheet="wires", row="W3", column="size_mm2", value="0.5", decided_by="heat", digest="00ff")
    reason = Reason(
        sheet="wires", row="W3", column="size_mm2", limit="heat", says="- 40 °C, allowed 105 °C", asks="0.5"
    )
    job = replace(read(sheets()), decisions=(decision,), reasons=(reason,))
    assert back(job) == job


def test_the_same_job_gives_the_same_bytes():
    assert workbook_bytes(read(sheets())) == workbook_bytes(read(sheets()))


def files(path: Path) -> dict[str, bytes]:
    """The files of a folder."""
    return {file.name: file.read_bytes() for file in sorted(path.iterdir())}


@pytest.mark.parametrize("name", example_names())
def test_csv_to_workbook_to_csv_is_the_same_byte_for_byte(name, tmp_path):
    write_folder(open_folder(example_folder(name)), tmp_path / "one")
    write_workbook(open_folder(tmp_path / "one"), tmp_path / "van.xlsx")
    write_folder(open_workbook(tmp_path / "van.xlsx"), tmp_path / "other")
    assert files(tmp_path / "one") == files(tmp_path / "other")


def test_a_folder_with_every_odd_text_is_the_same_byte_for_byte(tmp_path):
    odd = [{"id": f"s{n}", "text": text, "own": text} for n, text in enumerate(NASTY) if len(text) < 1000]
    write_folder(read(more("snags", *odd)), tmp_path / "one")
    write_workbook(open_folder(tmp_path / "one"), tmp_path / "van.xlsx")
    write_folder(open_workbook(tmp_path / "van.xlsx"), tmp_path / "other")
    assert files(tmp_path / "one") == files(tmp_path / "other")
    assert set(files(tmp_path / "one")) == {f"{sheet}.csv" for sheet in (*SOUND, "snags")}


def test_a_second_workbook_is_the_same_byte_for_byte():
    data = workbook_bytes(read(sheets()))
    assert workbook_bytes(job_from_text(read_workbook(data)[0])) == data


def test_lists_of_the_guide_point_at_what_they_offer():
    guide = guide_of(load_kinds(), sheet="guide")
    assert set(guide.lists.rows) >= {"kind", "colour", "property", "classes", "roles", "abilities", "feeds"}
    first, last = guide.lists.rows["kind"]
    offered = [line.cells[1] for line in guide.lines[first - 1 : last]]
    assert offered == list(load_kinds())
    assert guide.lists.source("kind") == f"=guide!$B${first}:$B${last}"
