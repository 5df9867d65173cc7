"""Somebody else's validator takes our documents by the published schema, and refuses what is no job's document."""

from __future__ import annotations

import copy
import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from jsonschema import Draft202012Validator

from loomwright.examples.shelf import example_folder, example_names
from loomwright.job.reading import job_from_text
from loomwright.job.schema import SHEETS, columns, headings, json_schema
from loomwright.sheets.csv_folder import open_folder
from loomwright.sheets.json_document import json_bytes
from tests.job.small import SOUND, read, sheets
from tests.job.test_round_trip import jobs
from tests.sheets.containers import small_job

PAGE = Path(__file__).parents[2] / "docs" / "job.schema.json"
WRITE_ANEW = "write it anew: json.dumps(json_schema(), indent=1, ensure_ascii=False) and a line end"


@pytest.fixture(scope="module")
def validator() -> Draft202012Validator:
    """The published schema in the validator."""
    return Draft202012Validator(json.loads(PAGE.read_text(encoding="utf-8")))


@pytest.fixture(scope="module")
def demo() -> dict:
    """The demonstration car as a document."""
    return json.loads(json_bytes(open_folder(example_folder("van"))))


def test_what_is_published_is_what_the_code_says():
    assert PAGE.read_text(encoding="utf-8") == json.dumps(json_schema(), indent=1, ensure_ascii=False) + "\n", (
        WRITE_ANEW
    )


def test_the_schema_is_a_schema():
    Draft202012Validator.check_schema(json_schema())


def test_the_schema_has_no_address_of_ours():
    assert json_schema()["$id"].startswith("urn:uuid:")
    assert "://" not in PAGE.read_text(encoding="utf-8").replace("https://json-schema.org/", "")


@pytest.mark.parametrize("name", example_names())
def test_every_example_is_taken(validator, name):
    document = json.loads(json_bytes(open_folder(example_folder(name))))
    assert list(validator.iter_errors(document)) == []


def test_a_job_with_sheets_and_columns_of_its_own_is_taken(validator):
    assert list(validator.iter_errors(json.loads(json_bytes(small_job())))) == []


@settings(max_examples=60, deadline=None)
@given(jobs())
def test_whatever_a_person_typed_that_we_read_is_taken(named):
    document = json.loads(json_bytes(job_from_text(named)))
    assert list(Draft202012Validator(json_schema()).iter_errors(document)) == []


def test_words_in_other_capitals_and_with_blanks_are_taken_as_we_read_them(validator):
    rows = [{**row} for row in SOUND["wires"]]
    for row, word in zip(rows, ("NEW", " Kept ", "donor", "Removed", "new", "", "new", "new"), strict=True):
        row["fitted"] = word
    named = sheets(wires=rows)
    named["places"] = [{"id": "bay", "zone": "Engine bay"}, {"id": "cabin", "zone": "engine-bay"}]
    document = json.loads(json_bytes(read(named)))
    assert [row.get("fitted", "") for row in document["sheets"]["wires"]][:4] == ["NEW", " Kept ", "donor", "Removed"]
    assert list(validator.iter_errors(document)) == []


# refused

MUTATIONS = {
    "a number for a text": lambda said: said["sheets"]["wires"][0].update(size_mm2=2.5),
    "null for a text": lambda said: said["sheets"]["wires"][0].update(notes=None),
    "a list for a text": lambda said: said["sheets"]["parts"][0].update(settings=["a=1"]),
    "no id": lambda said: said["sheets"]["parts"][0].pop("id"),
    "no kind": lambda said: said["sheets"]["parts"][3].pop("kind"),
    "a word that nobody knows": lambda said: said["sheets"]["wires"][1].update(fitted="maybe"),
    "a row that is a list": lambda said: said["sheets"]["wires"].append([]),
    "a row that is a text": lambda said: said["sheets"]["wires"].append("W1"),
    "a sheet that is an object": lambda said: said["sheets"].update(wires={}),
    "a sheet that is a text": lambda said: said["sheets"].update(wires="none"),
    "an own sheet that is a text": lambda said: said["sheets"].update({"my list": "none"}),
    "a number in an own sheet": lambda said: said["sheets"].update({"my list": [{"a": 1}]}),
    "a number in an own column": lambda said: said["sheets"]["wires"][0].update({"bin no": 7}),
    "no format": lambda said: said.pop("format"),
    "another format": lambda said: said.update(format=99),
    "the format as a text": lambda said: said.update(format="1"),
    "no sheets": lambda said: said.pop("sheets"),
    "the sheets as a list": lambda said: said.update(sheets=[]),
    "a sheet beside the sheets": lambda said: said.update(parts=[]),
}


@pytest.mark.parametrize("what", MUTATIONS)
def test_a_document_that_is_no_jobs_is_refused(validator, demo, what):
    said = copy.deepcopy(demo)
    MUTATIONS[what](said)
    assert list(validator.iter_errors(said)) != []


def test_every_cell_of_every_sheet_must_be_a_text(validator):
    for sheet in SHEETS:
        needed = {column.name for column in columns(sheet) if column.required}
        for heading in headings(sheet):
            row = dict.fromkeys(needed, "x") | {heading: 1}
            found = validator.iter_errors({"format": 1, "sheets": {sheet: [row]}})
            assert ["sheets", sheet, 0, heading] in [list(fault.path) for fault in found], (sheet, heading)
