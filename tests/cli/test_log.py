"""`loomwright log`: words, JSON, what it writes, exit codes, what is refused."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from loomwright.cli.main import main
from loomwright.logs.fuel_table import table_from_text
from loomwright.refusals import NoAnswer
from tests.logs.drive import Plan, made

TABLE = "load,1000,2000,3000,4000\n30,50,52,54,55\n60,60,62,64,65\n90,70,72,74,75\n"


@pytest.fixture(scope="module")
def log(tmp_path_factory) -> Path:
    """A recorded drive."""
    path = tmp_path_factory.mktemp("log") / "drive.csv"
    made(Plan(seed=5, minutes=5.0)).write_csv(path)
    return path


@pytest.fixture(scope="module")
def job(tmp_path_factory) -> Path:
    """A job with a battery alone: no controller to ask about volts."""
    folder = tmp_path_factory.mktemp("job")
    (folder / "parts.csv").write_text("id,kind\nBAT,battery\n", encoding="utf-8")
    return folder


def test_it_answers_in_json_and_writes_its_files(log, job, tmp_path, capsys):
    table = tmp_path / "table.csv"
    table.write_text(TABLE)
    code = main(["log", str(log), str(job), "--json", "--table", str(table), "--out", str(tmp_path / "out")])
    answer = json.loads(capsys.readouterr().out)
    assert code == 0
    assert answer["findings"] == []
    assert answer["rows"] == 6000
    assert len(answer["mixture"]["cells"]) == 12
    assert answer["dyno"]["ready"] is False
    assert answer["dyno"]["certificate"] == ""
    lines = (tmp_path / "out" / "cells.csv").read_text().splitlines()
    assert len(lines) == 13
    assert all(line.count(",") >= 10 for line in lines)
    drawn = {path.name: path.read_text() for path in (tmp_path / "out").glob("*.svg")}
    assert {"drive.svg", "starts.svg", "cells.svg"} <= set(drawn)
    assert all(text.startswith("<svg") for text in drawn.values())
    main(["log", str(log), str(job), "--json", "--mapping", str(tmp_path / "out" / "mapping.toml")])
    again = json.loads(capsys.readouterr().out)
    assert [one["column"] for one in again["channels"]] == [one["column"] for one in answer["channels"]]


def test_it_tells_in_words_and_by_its_exit_code(log, job, tmp_path, capsys):
    mapping = tmp_path / "mapping.toml"
    mapping.write_text('fuel = "E10"\n[limits]\nlimit_rpm = 3000\n')
    code = main(["log", str(log), str(job), "--mapping", str(mapping), "--why"])
    out = capsys.readouterr().out
    assert code == 1
    assert "over the highest speed" in out
    assert "delay of the measured mixture" in out
    assert "fuel E10: 14.01" in out
    assert "ready for the dyno: no" in out
    assert "Nothing to ask why" in out


def test_what_cannot_be_read_is_refused(job, tmp_path, capsys):
    assert main(["log", str(tmp_path / "none.csv"), str(job)]) == 2
    assert "a file of a recorded drive" in capsys.readouterr().err
    with pytest.raises(NoAnswer):
        table_from_text("a,b\nc,d\n")


def test_a_table_is_read_low_loads_first():
    table = table_from_text("kpa;1000;2000\n90;1;2\n30;3;4\n")
    assert table.grid.load == (30.0, 90.0)
    assert table.figures == ((3.0, 4.0), (1.0, 2.0))
