"""The demonstration shows what it claims, and the installation can look at itself."""

from __future__ import annotations

import pytest

from loomwright.cli.asking import open_car
from loomwright.cli.tour import show_circuit, show_meter


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


@pytest.mark.long
def test_the_tour_runs_from_end_to_end(ask, tmp_path):
    told = ask("tour", "--out", tmp_path / "papers")
    assert told.code == 0
    assert "Pellwick Quayman" in told.out
    assert told.out.index("as drawn (loomwright check") < told.out.index("mended (loomwright check")
    counts = [line for line in told.out.splitlines() if "settled by solving" in line]
    assert not counts[0].startswith("0 faults")
    assert counts[1].startswith("0 faults, 0 warnings")
    papers = sorted(path.name for path in (tmp_path / "papers").iterdir())
    assert papers == ["van-as-drawn.pdf", "van.pdf"]


@pytest.mark.long
def test_the_tour_as_json(ask, tmp_path):
    plain = ask("tour", "--out", tmp_path, "--json").plain
    assert any(finding["severity"] == "fault" for finding in plain["as_drawn"]["findings"])
    assert {finding["severity"] for finding in plain["mended"]["findings"]} <= {"note"}
    assert all(path.endswith(".pdf") for path in plain["written"])
