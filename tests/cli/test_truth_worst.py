"""`truth` and `worst` from the command line: sentences, JSON, workbooks, refusals."""

from __future__ import annotations

import json

import openpyxl
import pytest

from loomwright.cli.main import main
from loomwright.sheets.csv_folder import write_folder
from tests.states.small_jobs import car
from tests.states.test_truth import HOLDING


@pytest.fixture(scope="module")
def job(tmp_path_factory) -> str:
    folder = tmp_path_factory.mktemp("truth") / "car"
    write_folder(car(**HOLDING), folder)
    return str(folder)


def test_a_table_is_told_as_data_and_written_as_a_workbook(job, tmp_path, capsys):
    file = tmp_path / "table.xlsx"
    words = ["truth", job, "--points", "K1,LA2.1", "--over", "PB", "--at", "key=run", "--json", "--out", str(file)]
    assert main(words) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["at"] == {"key": "run"}
    assert [row["state"] for row in told["rows"]] == [{"PB": "off"}, {"PB": "on"}]
    assert [row["cells"]["K1"]["word"] for row in told["rows"]] == ["released", "pulled"]
    assert told["rows"][0]["other"]["before"] == {"PB": "on"}
    assert told["rows"][1]["cells"]["LA2.1"]["number"] == pytest.approx(12.5, abs=0.1)
    rows = list(openpyxl.load_workbook(file).worksheets[0].iter_rows(values_only=True))
    assert rows[1][0:2] == ("off", "released")
    assert rows[1][4] == "PB on"
    assert str(rows[1][5]).startswith("K1 pulled; LA2.1 live 12.4")


def test_a_table_is_told_in_lines(job, capsys):
    assert main(["truth", job, "--points", "LA1", "--over", "key=off|run,SW1"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].split() == ["key", "SW1", "LA1"]
    assert lines[4].split()[:3] == ["run", "on", "works"]
    assert lines[5] == "4 combinations of key, SW1; everything else at rest."


def test_the_worst_of_one_fuse_is_told_with_what_draws_on_it(job, capsys):
    assert main(["worst", job, "--of", "F1", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [one["name"] for one in told["worst"]] == ["F1"]
    assert told["worst"][0]["state"]["SW1"] == "on"
    assert told["worst"][0]["share_frac"] == pytest.approx(told["worst"][0]["judged_a"] / 10.0, rel=1e-4)
    assert [(one["name"], one["loads"]) for one in told["supplies"]] == [("F1", ["K1", "LA1", "LA2"])]


@pytest.mark.parametrize(
    "words",
    [
        ["truth", "{job}", "--points", "LA9", "--over", "key"],
        ["truth", "{job}", "--points", "LA1", "--over", "key=sideways"],
        ["truth", "{job}", "--points", "LA1", "--out", "table.pdf"],
        ["worst", "{job}", "--of", "W99"],
        ["worst", "{job}", "--out", "worst.csv"],
    ],
)
def test_what_is_not_there_is_refused(job, words, capsys):
    assert main([word.format(job=job) for word in words]) == 2
    assert capsys.readouterr().err
