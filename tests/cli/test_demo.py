"""The demonstration shows what it claims, and the installation can look at itself."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from loomwright.cli.asking import open_car
from loomwright.cli.demo import show_circuit, show_meter


@pytest.fixture(scope="module")
def vans():
    """The van as drawn and mended."""
    return open_car("van-as-drawn"), open_car("van")


def test_the_charge_lamp_keeps_the_engine_alive_as_drawn_only(vans, capsys):
    show_circuit(*vans)
    lines = {line.split()[0]: line.split()[1:] for line in capsys.readouterr().out.splitlines() if line}
    assert lines["controller"] == ["alive", "dead"]
    drawn, _, mended, _ = lines["ECU.A5"]
    assert float(drawn) > 9.0
    assert abs(float(mended)) < 0.5
    assert lines["DCHG.a"][:2] == ["not", "fitted"]


def test_the_test_lamp_tells_the_two_vans_apart(vans, capsys):
    show_meter(*vans)
    text = capsys.readouterr().out
    assert "lamp dark" in next(line for line in text.splitlines() if line.startswith("as drawn"))
    assert "lamp full" in next(line for line in text.splitlines() if line.startswith("mended"))


def test_warming_names_the_routines_and_how_long_each_step_took(ask):
    told = ask("selfcheck", "--warm", "--json")
    assert told.code == 0
    steps = {step["step"]: step for step in told.plain["steps"]}
    assert list(steps) == ["part kinds", "solving routines"]
    assert all(step["time_s"] >= 0.0 for step in steps.values())
    assert "settle_many" in steps["solving routines"]["found"]
    assert "eliminate" in steps["solving routines"]["found"]


def test_a_later_process_only_loads_what_was_compiled(ask):
    ask("selfcheck", "--warm")
    command = [sys.executable, "-m", "loomwright", "selfcheck", "--warm", "--json"]
    ran = subprocess.run(command, capture_output=True, text=True, check=True)
    assert json.loads(ran.stdout)["steps"][1]["found"] == "eliminate loaded, settle_many loaded"


def test_the_whole_look_solves_every_example_and_sets_a_page(ask):
    told = ask("selfcheck")
    assert told.code == 0
    steps = [line.split("  ")[0] for line in told.out.splitlines()]
    assert told.out.count("points solved") == 4
    assert steps == [
        "part kinds",
        "solving routines",
        "example van",
        "example van-as-drawn",
        "example tourer",
        "example wagon",
        "paper",
    ]


@pytest.mark.long
def test_the_demo_runs_from_end_to_end(ask, tmp_path):
    told = ask("demo", "--out", tmp_path / "papers")
    assert told.code == 0
    assert "Pellwick Quayman" in told.out
    assert told.out.index("as drawn (loomwright check") < told.out.index("mended (loomwright check")
    counts = [line for line in told.out.splitlines() if "settled by solving" in line]
    assert not counts[0].startswith("0 faults")
    assert counts[1].startswith("0 faults, 0 warnings")
    papers = sorted(path.name for path in (tmp_path / "papers").iterdir())
    assert papers == ["van-as-drawn.pdf", "van.pdf"]


@pytest.mark.long
def test_the_demo_as_json(ask, tmp_path):
    plain = ask("demo", "--out", tmp_path, "--json").plain
    assert any(finding["severity"] == "fault" for finding in plain["as_drawn"]["findings"])
    assert {finding["severity"] for finding in plain["mended"]["findings"]} <= {"note"}
    assert all(path.endswith(".pdf") for path in plain["written"])
