"""`loomwright gears`: lines as CSV and charts, faults with exit code 1, a file that cannot be used with 2."""

from __future__ import annotations

import json

import pytest

from loomwright.cli.main import main
from loomwright.tables.load import read_toml


def test_a_first_set_is_told_as_csv(capsys):
    assert main(["gears", "--programme", "normal", "--breakpoints", "0,50,100", "--axis", "output"]) == 0
    out = capsys.readouterr().out
    assert "line,output,0,50,100" in out
    assert "converter typical" in out


@pytest.mark.long
def test_findings_and_drives_come_as_data(capsys):
    code = main(["gears", "--programme", "economy", "--check", "--drive", "--cycle", "urban", "--steps", "--json"])
    answer = json.loads(capsys.readouterr().out)
    assert code == 1
    assert {one["rule"] for one in answer["findings"]} >= {"GEA-9", "GEA-11"}
    [drive] = answer["drives"]
    assert drive["run"] == "urban"
    assert sum(drive["gear_frac"]) > 0.999
    assert any("five seconds at most" in step["caution"].lower() for step in answer["steps"])
    assert answer["unplugged_gear"] == 4


def test_lines_changed_by_hand_are_checked(capsys, tmp_path):
    assert main(["gears", "--programme", "normal", "--out", str(tmp_path)]) == 0
    path = tmp_path / "lines_normal.csv"
    assert (tmp_path / "lines_normal.svg").read_text(encoding="utf-8").startswith("<svg")
    rows = path.read_text(encoding="utf-8").splitlines()
    up = next(row for row in rows if row.startswith("up 2-3"))
    changed = [up.replace("up 2-3", "down 3-2") if row.startswith("down 3-2") else row for row in rows]
    path.write_text("\n".join(changed), encoding="utf-8")
    capsys.readouterr()
    assert main(["gears", "--programme", "normal", "--lines", str(path), "--check"]) == 1
    assert "FAULT   down 3-2" in capsys.readouterr().out


def test_a_file_that_cannot_be_used_is_refused_with_every_mend(capsys, tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text('ratios = [0, 1.5]\nfinal_drive = 3.9\ntyre = "2O5"\nmass_kg = 1300\n', encoding="utf-8")
    assert main(["gears", "--box", str(path)]) == 2
    told = capsys.readouterr().err
    assert "ratios" in told
    assert "tyre" in told
    assert "limit_rpm" in told
    assert main(["gears", "--box", str(tmp_path / "nowhere.toml")]) == 2
    assert main(["gears", "--programme", "racing"]) == 2


def test_the_gearbox_that_ships_says_that_it_is_made_up():
    assert "made up" in str(read_toml("boxes", "four_speed")["title"])
