"""From a page of answers to a checked car on the command line; a circuit added, tried first."""

from __future__ import annotations

import pytest

from loomwright.brief.brief import briefed
from loomwright.sheets.opening import write_job

ANSWERS = "cylinders = 1\nfans = 0\ngearbox = shifted by hand\nfuel_gauge = no\n"
FAN = ("place=radiator", "box=box", "feed=BUS1", "coil_feed=SPR", "earth=EB")


@pytest.fixture
def single(tmp_path):
    """The car of a brief, in a folder."""
    path = tmp_path / "single"
    write_job(briefed({"cylinders": "1", "fans": "0", "gearbox": "shifted by hand", "fuel_gauge": "no"}).job, path)
    return path


def test_a_brief_makes_a_job_that_decides_and_checks_clean(ask, tmp_path):
    answers, job = tmp_path / "brief.txt", tmp_path / "car"
    answers.write_text(ANSWERS, encoding="utf-8")
    made = ask("new", "--brief", answers, job, "--json")
    assert made.code == 0
    assert made.plain["pins"] > 10
    decided = ask("decide", job, "--keep", "--json")
    assert decided.code == 0
    assert decided.plain["blank"] == []
    assert {one["column"] for one in decided.plain["changed"]} == {"pin", "length_mm", "size_mm2", "settings.rating_a"}
    checked = ask("check", job, "--json").plain
    assert [one for one in checked["findings"] if one["severity"] == "fault"] == []
    again = ask("decide", job, "--json").plain
    assert again["changed"] == []


def test_a_terminal_is_told_how_far_deciding_is(ask, single, monkeypatch):
    assert ask("decide", single).err == ""
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    told = ask("decide", single).err
    assert told.startswith("\r0 of 17 steps")
    assert told.endswith("\r17 of 17 steps\n")


def test_a_check_of_a_car_whose_pins_are_not_given_says_what_comes_first(ask, single):
    told = ask("check", single)
    assert "have no pin yet, and wires that wait for one end nowhere" in told.out
    assert f"decide {single} --keep, then check again" in told.out
    ask("decide", single, "--keep")
    assert "no pin yet" not in ask("check", single).out


def test_why_a_need_has_its_pin_is_told_like_any_other_why(ask, single):
    told = ask("why", single, "PUMP_relay.pin")
    assert told.code == 0
    assert "worked out now; the cell is blank" in told.out
    assert told.out.count("→") == 1
    assert "instead" in told.out
    plain = ask("why", single, "PUMP_relay.pin", "--json").plain
    assert f"ECU.{plain['value']}" == ask("allocate", single, "--json").plain["pins"]["PUMP_relay"]
    assert plain["limits"][0]["asks"] == plain["value"]
    assert all(one["rests_on"] for one in plain["limits"])
    assert "nearest: PUMP_relay" in ask("why", single, "PUMP_relais.pin").err


def test_nothing_is_written_over(ask, single):
    assert ask("new", "--brief", "nowhere.txt", single).code == 2


def test_a_circuit_is_tried_and_only_then_written(ask, single):
    before = (single / "parts.csv").read_text(encoding="utf-8")
    tried = ask("add", "fan_on_relay", single, *FAN, "--try", "--json")
    assert tried.code == 0
    assert tried.plain["written"] is None
    assert (single / "parts.csv").read_text(encoding="utf-8") == before
    taken = ask("add", "fan_on_relay", single, *FAN)
    assert taken.code == 0
    assert "KFAN" in (single / "parts.csv").read_text(encoding="utf-8")


def test_what_a_recipe_asks_and_which_there_are_is_told(ask):
    assert "fan_on_relay" in ask("add").out
    assert "caution" in ask("add", "fan_on_relay").out
    assert ask("add", "fan_on_relay", "--json").plain["asks"][0]["name"] == "fan"
    assert any(one["name"] == "cylinders" for one in ask("new", "--questions", "--json").plain)


def test_an_answer_that_is_no_answer_is_refused(ask, single):
    assert ask("add", "fan_on_relay", single, "place", "--json").refused
