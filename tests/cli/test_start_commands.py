"""`start`, `timing`, `numbers`: what is passed is written, readings are judged, tables come out as CSV."""

from __future__ import annotations

import csv
import json

import pytest

from loomwright.cli.main import main
from loomwright.job.edits import add_row
from loomwright.job.reading import job_from_text
from loomwright.sheets.csv_folder import open_folder, write_folder
from tests.pages.shelves import SMALL

ENGINE = "displacement_cc = 1998\ncylinders = 4\ninjector_cc_per_min = 270\ninjector_kpa = 300\nvolts = [10, 14]\n"


@pytest.fixture
def folder(tmp_path):
    job = add_row(job_from_text(SMALL), "parts", {"id": "ISO", "kind": "isolator"})
    write_folder(job, tmp_path / "job")
    return tmp_path / "job"


def test_what_is_passed_waived_and_tried_is_written(folder, capsys):
    words = ["start", str(folder), "--json", "--pass", "fluids", "--waive", "clear_of_belts=no belt yet"]
    assert main([*words, "--attempt", "crank_s=5; result=nothing"]) == 1
    told = json.loads(capsys.readouterr().out)
    verdicts = {one["item"]: one["verdict"] for one in told["stages"][0]["items"]}
    assert (verdicts["fluids"], verdicts["clear_of_belts"], verdicts["car_stands"]) == ("passed", "waived", None)
    job = open_folder(folder)
    assert [row.gate for row in job.gates] == ["fluids", "clear_of_belts"]
    assert job.attempts[0].result == "nothing"
    assert all(row.time for row in job.gates)


def test_a_closed_stage_and_a_mistyped_item_are_refused(folder, capsys):
    assert main(["start", str(folder), "--pass", "isolator_kills"]) == 2
    assert "fire_ready" in capsys.readouterr().err
    assert main(["start", str(folder), "--pass", "fluid=yes"]) == 2
    assert "nearest: fluids" in capsys.readouterr().err
    assert open_folder(folder).gates == ()


def test_readings_of_a_light_give_offset_and_delay(tmp_path, capsys):
    file = tmp_path / "light.csv"
    rows = "".join(f"{rpm},10,{10 + 2 - 6 * rpm * 50e-6:.3f}\n" for rpm in (1000, 2000, 3000, 5000))
    file.write_text("rpm,commanded_deg,seen_deg\n" + rows, encoding="utf-8")
    assert main(["timing", "--readings", str(file), "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["offset_deg"]["value"] == pytest.approx(2.0, abs=0.01)
    assert told["delay_us"]["value"] == pytest.approx(50.0, abs=0.2)
    file.write_text("rpm,seen_deg\n1000,10\n", encoding="utf-8")
    assert main(["timing", "--readings", str(file)]) == 2
    assert "commanded_deg" in capsys.readouterr().err


def test_readings_saved_by_a_spreadsheet_of_another_language_are_read(tmp_path, capsys):
    file = tmp_path / "light.csv"
    file.write_text("rpm;commanded_deg;seen_deg\n1000;10;12,1\n2000;10;11,9\n;;\n3000;10;12,0\n", encoding="utf-8")
    assert main(["timing", "--readings", str(file), "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["offset_deg"]["value"] == pytest.approx(2.1, abs=0.1)
    file.write_text("rpm,commanded_deg,seen_deg\n1000,10,12,1\n", encoding="utf-8")
    assert main(["timing", "--readings", str(file)]) == 2
    assert "light.csv, row 2" in capsys.readouterr().err


def test_numbers_come_with_their_source_and_tables_as_csv(folder, tmp_path, capsys):
    engine = tmp_path / "engine.toml"
    engine.write_text(ENGINE, encoding="utf-8")
    assert main(["numbers", str(folder), "--engine", str(engine), "--out", str(tmp_path / "out"), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["starting_point"] is True
    assert all(one["source"] and one["formula"] for one in told["numbers"])
    with (tmp_path / "out" / "opening_delay.csv").open(encoding="utf-8") as file:
        rows = list(csv.reader(file))
    # the coil of the worked example: 1.158 ms at 10 V, 0.848 at 14
    assert rows == [["supply_v", "delay_ms"], ["10", "1.158"], ["14", "0.848"]]
    engine.write_text(ENGINE.replace("injector_kpa = 300\n", ""), encoding="utf-8")
    assert main(["numbers", str(folder), "--engine", str(engine)]) == 2
    assert "injector_kpa" in capsys.readouterr().err


def test_what_the_light_and_sensors_read_is_kept_with_the_job_and_told_again(folder, tmp_path, capsys):
    file = tmp_path / "light.csv"
    file.write_text(
        "rpm,commanded_deg,seen_deg\n" + "".join(f"{n},10,12\n" for n in (900, 2000, 3000)), encoding="utf-8"
    )
    assert main(["timing", "--job", str(folder), "--readings", str(file), "--teeth", "36-1"]) == 1
    assert "At 200/min: 120 Hz, a tooth every 8.333 ms, the gap 16.67 ms" in capsys.readouterr().out
    assert main(["timing", "--job", str(folder), "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["offset_deg"]["value"] == pytest.approx(2.0)
    points = ["--thermistor", "0:5975 50:806.9 100:175.7", "--sensor", "coolant"]
    assert main(["sensor", "--job", str(folder), *points]) == 0
    capsys.readouterr()
    assert main(["sensor", "--job", str(folder), "--json"]) == 0
    [told] = json.loads(capsys.readouterr().out)["sensors"]
    assert (told["sensor"], told["points"]) == ("coolant", "0:5975 50:806.9 100:175.7")
    assert len(open_folder(folder).light_readings) == 3


def test_a_sensors_table_says_what_it_is_for_and_that_its_pull_up_is_typical(capsys):
    points = ["sensor", "--thermistor", "0:5975 50:806.9 100:175.7"]
    assert main(points) == 0
    told = capsys.readouterr().out
    assert "Temperature against volts at the input, 2490 Ω to 5 V:" in told
    assert "2490 Ω is typical" in told
    assert main([*points, "--pull-up", "1000"]) == 0
    told = capsys.readouterr().out
    assert "1000 Ω to 5 V" in told
    assert "is typical" not in told


def test_one_reading_of_a_sensor_is_told_by_its_law(capsys):
    assert main(["sensor", "--means", "flex_hz=135; flex_ms=3; k_per_ms=41.25"]) == 0
    assert capsys.readouterr().out == "Alcohol in the fuel: 85 %\nTemperature of the fuel: 42.5 °C\n"
    assert main(["sensor", "--means", "platinum_ohm=138.5055", "--json"]) == 0
    [found] = json.loads(capsys.readouterr().out)["means"]
    assert (found["what"], round(found["value"], 3), found["unit"]) == ("platinum thermometer", 100.0, "°C")
    assert main(["sensor", "--means", "type_k_mv=28"]) == 2
    assert "type_k_mv junction_c" in capsys.readouterr().err


def test_a_probe_beside_its_display_is_told_with_what_was_left_out(capsys):
    # by hand: 0.02 more at both mixtures; the third was read six seconds after the heater came on
    pairs = "0.95/0.97@60 1.05/1.07 1.0/1.4@6"
    assert main(["sensor", "--probe", pairs]) == 1
    said = capsys.readouterr().out
    assert "Left out: 1 shown, 1.4 logged: 6 s after its heater came on" in said
    assert "It logs +0.020 everywhere: two earths differ" in said
    assert main(["sensor", "--probe", pairs, "--json"]) == 1
    told = json.loads(capsys.readouterr().out)["probe"]
    assert (told["verdict"], told["offset"], told["slope"], told["used"]) == ("ground offset", 0.02, 1.0, 2)
    assert [one["since_s"] for one in told["left_out"]] == [6.0]
    assert main(["sensor", "--probe", "0.95/0.95 1.05/1.05"]) == 0
    assert "logs what the display shows" in capsys.readouterr().out
    assert main(["sensor", "--probe", "0.95:0.97"]) == 2
