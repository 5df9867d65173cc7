"""`loomwright visit` and `loomwright symptom`: the sheet to fill in, what has moved, where to put a hand first."""

from __future__ import annotations

import csv

import pytest

from loomwright.handover.drift import drift_of
from loomwright.handover.later_visit import read_again
from loomwright.job.edits import add_row
from loomwright.job.reading import job_from_text
from tests.pages.shelves import SMALL
from tests.pages.test_symptom_page import THEN, TWO

DROP = {"test": "earth", "point": "LA1.2", "to": "body", "when": "key=run, SW1=on", "low": "0", "high": "0.4"}


@pytest.fixture
def car(job):
    drop = {**DROP, "unit": "V", "value": "0.02", "verdict": "passed", "time": "2025-01-01"}
    return job({**TWO, "proofs": [THEN, drop]})


def test_the_baseline_is_written_to_be_filled_in_and_read_back(ask, car, tmp_path):
    sheet = tmp_path / "today.csv"
    assert ask("visit", car, "--blank", sheet, "--json").plain == {"written": str(sheet), "tests": 2}
    with sheet.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(one["test"], one["then"], one["value"]) for one in rows] == [("lamp", "12.2", ""), ("earth", "0.02", "")]
    assert {one["for it"] for one in rows} == {"as on the test sheet"}, "tests of one's own: the plan knows neither"
    rows[1]["value"] = "240 mV"
    with sheet.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)
    told = ask("visit", car, sheet, "--date", "2026-01-01", "--json")
    assert told.code == 1
    [one] = told.plain["readings"]
    assert (one["test"], one["verdict"], one["by"]) == ("earth", "moved", "+0.22 V")
    assert "going high" in one["sign"]
    assert one["pace"] == "If it goes on so, out of its band (0.4 V) in about 9 months"
    assert told.plain["causes"]["suspects"]


def test_words_tell_what_is_worst_first_and_what_cannot_be_read_is_refused(ask, car, tmp_path):
    sheet = tmp_path / "today.csv"
    sheet.write_text("test,value\nearth,0.02\nlamp,9\n", encoding="utf-8")
    out = ask("visit", car, sheet).out.splitlines()
    assert out[0].startswith("OUTSIDE     lamp: then 12.2, now 9 V")
    assert "volts are lost on the way" in out[1]
    assert any(line.startswith("2 readings, 1 as then.") for line in out)
    sheet.write_text("test;value\nearth;0,02\nlamp;9,0\n", encoding="utf-8")
    assert ask("visit", car, sheet).out.splitlines()[0] == out[0], "as a spreadsheet of another language saves it"
    sheet.write_text("test,value\nearth,\n", encoding="utf-8")
    assert "what was read" in ask("visit", car, sheet, "--json").refused[0]["allowed"]
    assert ask("visit", car, "--json").refused
    assert ask("visit", car, sheet, "--blank", sheet, "--json").refused


def test_nothing_is_called_right_while_a_reading_is_outside(ask, job, tmp_path):
    narrow = {**THEN, "low": "12.1", "high": "12.3"}
    car, sheet = job({**TWO, "proofs": [narrow, {**narrow, "test": "lamp again"}]}), tmp_path / "today.csv"
    sheet.write_text("test,value\nlamp,12.05\n", encoding="utf-8")
    said = "no single fault that is tried explains it, and lamp is outside all the same: go by the signs above"
    told = " ".join(ask("visit", car, sheet).out.split())
    assert said in told
    assert "nothing is wrong" not in told
    [cause, *_] = ask("visit", car, sheet, "--json").plain["causes"]["suspects"]
    assert (cause["fault"], cause["probability"] > 0.5) == (said, True), "the fault finder's sound car leads"
    sheet.write_text("test,value\nlamp,12.05\nlamp again,12.05\n", encoding="utf-8")
    assert "and 2 readings are outside all the same" in " ".join(ask("visit", car, sheet).out.split())


def test_a_reading_that_moved_within_its_band_may_be_no_fault_at_all(ask, job, tmp_path):
    car, sheet = job({**TWO, "proofs": [{**THEN, "low": "12", "high": "12.5"}]}), tmp_path / "today.csv"
    sheet.write_text("test,value\nlamp,12.03\n", encoding="utf-8")
    out = ask("visit", car, sheet).out
    assert out.startswith("MOVED")
    assert "nothing is wrong that these readings show" in out


@pytest.mark.parametrize(
    ("cells", "now", "sign"),
    [
        ({"unit": "ohm", "low": "1000000", "value": "20000000"}, "2M", "damp"),
        ({"unit": "ohm", "low": "0", "high": "1", "value": "0.1"}, "0.6", "going high"),
        ({"unit": "ohm", "low": "10", "high": "30", "value": "14"}, "11 ohm", ""),
        ({"unit": "ohm", "low": "10", "high": "30", "value": "25"}, "14 ohm", "turns touch"),
        ({"unit": "A", "low": "0", "high": "0.05", "value": "0.01"}, "0.04", "stays awake"),
    ],
)
def test_a_move_is_a_sign_by_what_was_measured_and_which_way_it_went(cells, now, sign):
    job = add_row(job_from_text(SMALL), "proofs", {"test": "t", "verdict": "passed", **cells})
    [again] = read_again(job.proofs, [("t", now)])
    drift = drift_of(again)
    assert (sign in drift.sign) if sign else drift is None


@pytest.mark.parametrize(
    ("test", "low", "high", "then", "now", "sign"),
    [
        ("earth/EN.1/key.run", "-0.1", "0.1", "0.055", "0.3", "its bolt, ring or strap is going high"),
        ("earth/EN.1/key.run", "-0.1", "0.1", "-0.01", "-0.09", "its bolt, ring or strap is going high"),
        ("earth/EN.1/key.run", "-0.1", "0.1", "0.08", "0.01", "better than then"),
        ("live/LA1.1/off", "-0.5", "0.5", "0.01", "0.4", "something feeds it that did not"),
        ("live/LA1.1/key.run", "11.9", "13.3", "12.5", "12.0", "volts are lost on the way"),
    ],
)
def test_volts_at_an_earth_that_rise_are_its_joint_and_not_its_feed(test, low, high, then, now, sign):
    cells = {"test": test, "verdict": "passed", "point": "LA1.1", "unit": "V", "low": low, "high": high, "value": then}
    [again] = read_again(add_row(job_from_text(SMALL), "proofs", cells).proofs, [(test, now)])
    drift = drift_of(again)
    assert drift is not None
    assert sign in drift.sign


def test_the_few_places_are_told_and_narrowed_by_what_works(ask, car):
    told = ask("symptom", car, "LA1", "--json")
    assert told.code == 0
    assert told.plain["when"] == "key=run, SW1=on"
    assert told.plain["causes"][0]["at"] == "LA1"
    narrowed = ask("symptom", car, "LA1", "--works", "LA2", "--json").plain
    assert narrowed["faults"] < told.plain["faults"]
    words = ask("symptom", car, "LA1").out
    assert "Look first: LA2 (cabin lamp) in the same state." in words
    assert ask("symptom", car, "LA9", "--json").refused[0]["allowed"].endswith("nearest: LA2")
    assert (
        "it does in: key=run, SW1=on"
        in ask("symptom", car, "LA1", "--state", "key=off", "--json").refused[0]["allowed"]
    )
