"""One place for the schema: headings, help, allowed words and the JSON schema all come from the row types."""

from __future__ import annotations

import dataclasses

import pytest

from loomwright.job import rows
from loomwright.job.columns import columns_of, heading
from loomwright.job.job import Job
from loomwright.job.schema import (
    FORMAT,
    SHEETS,
    column_help,
    column_of,
    columns,
    headings,
    json_schema,
    look_alike_columns,
    row_key,
    sheet_help,
)
from loomwright.refusals import OutOfReach
from tests.job.small import more, read, sheets

# typed from the contract of the sheets, not taken from the code
CONTRACT = {
    "vehicle": "name value",
    "places": "id name x_mm y_mm z_mm zone ambient_c wet notes",
    "runs": "id from to length_mm covering hole_mm surface_c noise hazards notes",
    "parts": "id kind name place circuit role settings fitted rated_v notes",
    "circuits": "id name class feed drop_limit_v road_safety notes",
    "contacts": "part gang position joins rating_a momentary order variable verified notes",
    "metals": "id name spread_mohm",
    "bonds": "from to mohm",
    "cables": "id kind cores lay_mm drain_to open_end",
    "crimps": "terminal seal size_from_mm2 size_to_mm2 strip_mm die pull_n",
    "hours": "stage minutes who note time",
    "wires": "id circuit from to size_mm2 colour insulation length_mm via twist screen cable fitted condition "
    "ohm_per_m terminal_from terminal_to seal_from seal_to built_length_mm notes",
    "connectors": "id part terminals ways family side mates layout keying notes",
    "controller_pins": "id part terminal abilities max_a pull_up_ohm pull_up_v pwm_hz active boot unpowered clamp_v "
    "recirculates_to bank bank_max_a pair notes",
    "needs": "id does part terminal ability option rank prefer pin together apart load_a pwm_hz active notes",
    "drives": "output when duty_frac for_s notes",
    "requirements": "id point when must why",
    "old_wires": "id colour where plug stub segment size_mm2 fate joins_to notes",
    "readings": "old_wire point when measure to value unit stub instrument lamp_w amps battery_v visit note time seen"
    " off",
    "kinds": "kind element type terminals settings",
    "stock": "item size_mm2 colour length_m price",
    "variables": "name values rest order momentary notes",
    "waived": "rule point reason who",
    "snags": "id stage text status photo about",
    "questions": "id stage text status answer photo about",
    "wishes": "id text included circuits parts stage minutes price notes",
    "progress": "wire end step revision length_mm size_mm2 colour time who",
}


@pytest.mark.parametrize("sheet", CONTRACT)
def test_every_sheet_of_the_contract_has_its_columns_in_order(sheet):
    assert headings(sheet) == tuple(CONTRACT[sheet].split())


def test_the_records_are_sheets_too():
    beyond = ["proofs", "gates", "attempts", "light_readings", "sensor_points", "changes", "decisions", "reasons"]
    assert [sheet for sheet in SHEETS if sheet not in CONTRACT] == beyond


def test_a_job_has_one_field_a_sheet_in_the_same_order():
    fields = [field.name for field in dataclasses.fields(Job)]
    assert fields == [*SHEETS, "extra_sheets"]


def test_every_row_type_is_the_row_of_a_sheet():
    types = {getattr(rows, name) for name in rows.__all__} - {rows.Row}
    assert types == set(SHEETS.values())


@pytest.mark.parametrize("sheet", SHEETS)
def test_every_column_has_help_and_its_field(sheet):
    row_type = SHEETS[sheet]
    named = {heading(field.name) for field in dataclasses.fields(row_type)} - {"extra", "written"}
    assert named == set(headings(sheet))
    assert sheet_help(sheet)
    for column in columns(sheet):
        assert column.help
        assert column_help(sheet, column.name).startswith(column.help)
        assert set(column.refers) <= set(SHEETS)


@pytest.mark.parametrize("sheet", SHEETS)
def test_blank_figures_are_none_and_blank_words_empty(sheet):
    for column in columns_of(SHEETS[sheet]):
        if column.kind in ("number", "count", "yes_no", "value"):
            assert column.blank is None
        elif column.kind in ("text", "id", "ref", "colour", "point"):
            assert column.blank == ""


def test_units_are_those_of_the_headings():
    units = {column.name: column.unit for column in columns("wires") if column.unit}
    assert units == {"size_mm2": "mm2", "length_mm": "mm", "ohm_per_m": "ohm_per_m", "built_length_mm": "mm"}
    assert column_of("bonds", "mohm").unit == "mohm"
    assert column_of("readings", "amps").unit == "a"


def test_allowed_words_come_from_the_tables():
    assert "low_side" in column_help("controller_pins", "abilities")
    assert "reverse_lamp" in column_help("parts", "role")
    assert "ignition" in column_help("circuits", "class")


def test_the_json_schema_covers_every_column():
    schema = json_schema()
    assert schema["properties"]["format"]["const"] == FORMAT
    sheets = schema["properties"]["sheets"]["properties"]
    assert list(sheets) == list(SHEETS)
    for sheet in SHEETS:
        assert list(sheets[sheet]["items"]["properties"]) == list(headings(sheet))
    part = sheets["parts"]["items"]
    assert part["required"] == ["id", "kind"]
    assert part["properties"]["fitted"]["anyOf"][0]["enum"] == ["", "new", "kept", "donor", "removed"]


def test_the_key_of_a_row():
    job = read(sheets())
    assert row_key("wires", job.wires[0]) == ("W1",)
    assert row_key("contacts", job.contacts[1]) == ("STALK", "turn", "left")
    assert row_key("bonds", job.bonds[0]) == ()


def test_a_column_that_looks_like_one_of_the_contract_is_pointed_out():
    job = read(more("wires", {"id": "W9", "lenght_mm": "90", "shop": "7", "colours": ""}))
    assert look_alike_columns(job) == (("wires", "lenght_mm", "length_mm"), ("wires", "colours", "colour"))


def test_a_sheet_or_column_nobody_has():
    with pytest.raises(OutOfReach) as refused:
        headings("wire")
    assert (refused.value.name, refused.value.found) == ("sheet", "wire")
    with pytest.raises(OutOfReach) as refused:
        column_of("wires", "length")
    assert refused.value.found == "length"
