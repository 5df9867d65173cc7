"""`identify` and `read`: what they say, what they write, what they refuse."""

from __future__ import annotations

import pytest

from loomwright.sheets.opening import open_job

SHEETS = {
    "parts": [{"id": "BAT", "kind": "battery"}, {"id": "LB", "kind": "lamp"}],
    "old_wires": [
        {"id": "7", "colour": "GN/VT", "where": "pedals"},
        {"id": "8", "notes": "yellow sleeve"},
        {"id": "6"},
    ],
    "readings": [
        {"old_wire": "7", "when": "key=run", "measure": "volts", "value": "0.0"},
        {"old_wire": "7", "when": "key=run, brake=on", "measure": "volts", "value": "12.2"},
        {"old_wire": "7", "when": "key=run, light=side", "measure": "volts", "value": "0.0"},
        {"old_wire": "7", "when": "key=run, brake=on", "measure": "lamp", "value": "full"},
    ],
}


def test_it_says_what_how_sure_and_what_next(ask, job) -> None:
    told = ask("identify", job(SHEETS))
    assert told.code == 0
    assert "7 (GN/VT, pedals): brake lamps" in told.out
    assert "caution: airbag" in told.out
    assert "Nothing here is certain" in told.out


def test_the_json_is_the_contract(ask, job) -> None:
    plain = ask("identify", job(SHEETS), "--json").plain
    assert max(plain["wires"]["7"], key=plain["wires"]["7"].get) == "brake_lamps"
    assert set(plain["next"]) >= {"wire", "when", "measure", "bits"}


def test_only_the_wires_named_are_told(ask, job) -> None:
    told = ask("identify", job(SHEETS), "8")
    assert "brake lamps" not in told.out.split("\n")[0]
    assert ask("identify", "van", "nowhere").code == 2


def test_a_reading_is_added_to_the_job_and_weighed(ask, job) -> None:
    folder = job(SHEETS)
    told = ask("read", folder, "7", "240 mV", "--state", "key=run, light=head", "--battery", "12.4 V")
    assert told.code == 0
    assert "row 6 of readings" in told.out
    last = open_job(folder).readings[-1]
    assert (last.old_wire, last.value, last.unit, last.measure, last.battery_v) == ("7", 240.0, "mV", "volts", 12.4)
    assert last.time


def test_a_reading_that_cannot_be_is_written_down_and_asked_about(ask, job) -> None:
    folder = job(SHEETS)
    told = ask("read", folder, "7", "15.2 V", "--state", "key=run", "--json")
    assert told.code == 1
    assert "more than 13.2 V" in told.plain["asks"][0]["says"]
    assert open_job(folder).readings[-1].value == 15.2


def test_a_wire_nobody_listed_gets_a_row(ask, job) -> None:
    folder = job(SHEETS)
    assert ask("read", folder, "9", "dim", "--state", "key=run", "--seen", "charge lamp").code == 0
    found = open_job(folder)
    assert [wire.id for wire in found.old_wires] == ["7", "8", "6", "9"]
    assert (found.readings[-1].measure, found.readings[-1].seen) == ("lamp", "charge lamp")


@pytest.mark.parametrize(
    "words", [("7", "twelve"), ("7", "12 V", "--state", "key=upside"), ("7", "12", "--seen", "a cat")]
)
def test_what_cannot_be_read_is_refused_and_nothing_written(ask, job, words) -> None:
    folder = job(SHEETS)
    assert ask("read", folder, "7", *words).code == 2
    assert len(open_job(folder).readings) == 4


def test_an_example_is_not_written_over(ask) -> None:
    assert ask("read", "van", "O1", "12 V", "--state", "key=run").code == 2


def test_a_known_wire_goes_into_the_plan_of_a_copy(ask, job, tmp_path) -> None:
    out = tmp_path / "planned"
    told = ask("identify", job(SHEETS), "--plan", "7", "--to", "LB.1", "--out", out)
    assert told.code == 0
    planned = open_job(out)
    assert next(part.kind for part in planned.parts if part.id == "OLD_7") == "old_switch"
    assert next(wire.to for wire in planned.wires if wire.id == "OW_7") == "LB.1"


def test_an_unsure_wire_does_not(ask, job, tmp_path) -> None:
    told = ask("identify", job(SHEETS), "--plan", "8", "--to", "LB.1", "--out", tmp_path / "planned")
    assert told.code == 2
    assert not (tmp_path / "planned").exists()


def test_the_demo_van_has_a_colour_that_lies_and_a_reading_that_is_wrong(ask) -> None:
    told = ask("identify", "van", "--json")
    assert told.code == 1
    said = told.plain["said"]
    assert len(said) == 19
    assert said["O13"]["colour"] == "GN"
    assert said["O13"]["likeliest"][0]["function"] == "brake_lamps"
    assert [each["wire"] for each in told.plain["asks"]] == ["O17", "O6"]
    assert said["O12"]["called"]
    assert said["O12"]["likeliest"][0]["function"] == "indicator_lr"
