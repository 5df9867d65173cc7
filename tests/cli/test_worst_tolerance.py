"""`worst --tolerance` from the command line: sentences, JSON, a workbook, a cluster that is not there."""

from __future__ import annotations

import json

import openpyxl
import pytest

from loomwright.cli.main import main
from loomwright.sheets.csv_folder import write_folder
from tests.states.small_jobs import car


@pytest.fixture(scope="module")
def job(tmp_path_factory) -> str:
    folder = tmp_path_factory.mktemp("tolerance") / "car"
    write_folder(car(), folder)
    return str(folder)


def test_strays_are_told_as_data_and_written_as_a_workbook(job, tmp_path, capsys):
    file = tmp_path / "strays.xlsx"
    assert main(["worst", job, "--tolerance", "--samples", "12", "--seed", "4", "--json", "--out", str(file)]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["samples"], told["seed"], told["passed"]) == (12, 4, 12)
    # the twelfth root of 0.05
    assert told["sure_frac"] == pytest.approx(0.7791, abs=1e-4)
    lamp = next(one for one in told["strays"] if one["unit"] == "V")
    assert lamp["name"] == "LA1"
    assert lamp["bound"]["holds"] is True
    assert lamp["bound"]["least"] <= lamp["least"] <= lamp["low"] <= lamp["solved"]
    book = openpyxl.load_workbook(file)
    assert book.sheetnames == ["strays", "still passes"]


def test_strays_are_told_in_sentences(job, capsys):
    assert main(["worst", job, "--tolerance", "--samples", "12", "--of", "F1"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "nine in ten" in said
    assert "never beyond" in said
    assert "Everything that passes as solved still passes in 12 of 12 (sure of 77.9 %)." in said
    assert "W5" not in said


@pytest.mark.parametrize("address", ["nowhere", "tcp://127.0.0.1:1"])
def test_a_cluster_that_is_not_there_is_told(job, address, monkeypatch, capsys):
    monkeypatch.setattr("loomwright.pages.strays_work._WAIT_S", 1)
    assert main(["worst", job, "--tolerance", "--samples", "2", "--cluster", address]) != 0
    assert f"the cluster {address}: no answer." in " ".join(capsys.readouterr().err.split())
