"""`loomwright gears`: lines as CSV and charts, faults with exit code 1, a file that cannot be used with 2."""

from __future__ import annotations

import json
from functools import partial

import pytest

from loomwright.cli import gears
from loomwright.cli.main import main
from loomwright.gearbox.fewest import fewest_changes
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


def test_fewest_changes_come_as_data_and_one_set_is_written(capsys, tmp_path, monkeypatch):
    small = partial(fewest_changes, cycle="urban", tried=9)
    monkeypatch.setattr(gears, "fewest_changes", small)
    asked = ["gears", "--programme", "normal", "--fewest", "--pick", "1", "--out", str(tmp_path), "--json"]
    assert main(asked) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["fewest"]["tried"] == 9
    assert told["fewest"]["curve"]
    first = told["programmes"]["normal"]["up_kmh"][0][0]
    written = (tmp_path / "lines_normal.csv").read_text(encoding="utf-8").splitlines()
    assert written[1].startswith(f"up 1-2,,{first:.1f}")
    assert main(["gears", "--fewest"]) == 2, "it wants one programme"
    assert main(["gears", "--programme", "normal", "--pick", "1"]) == 2
    assert main(["gears", "--programme", "normal", "--fewest", "--pick", "99"]) == 2


def test_a_recorded_drive_is_laid_over_the_lines(capsys, tmp_path):
    """Two changes up: one on its line (up 1-2 lies at 24.1 km/h with the pedal up), one 20 km/h late."""
    rows = [f"{k / 10:.1f},{20 + k * 0.05:.2f},0,{1 if k < 82 else 2}" for k in range(200)]
    rows += [f"{20 + k / 10:.1f},{30 + k * 0.2:.2f},0,{2 if k < 160 else 3}" for k in range(200)]
    path = tmp_path / "drive.csv"
    path.write_text("time [s],road speed [km/h],throttle [%],gear\n" + "\n".join(rows) + "\n", encoding="utf-8")
    assert main(["gears", "--programme", "normal", "--log", str(path), "--out", str(tmp_path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["road"]
    assert [one["line"] for one in told] == ["up 1-2", "up 2-3"]
    assert abs(told[0]["off_kmh"]) < 0.5
    assert told[1]["off_kmh"] > 10.0
    assert "on the road" in (tmp_path / "lines_normal.svg").read_text(encoding="utf-8")
    turns = tmp_path / "turns.csv"  # third at 60 km/h: 60 / 3.6 / 1.97488 m * 3.45 turns a second are 1747 a minute
    head, *body = path.read_text(encoding="utf-8").splitlines()
    more = [f"{240 + k / 10:.1f},60,30,3" for k in range(100)]
    turns.write_text("\n".join([f"{head},rpm [1/min]", *(f"{row},1660" for row in more)]) + "\n", encoding="utf-8")
    assert body
    assert main(["gears", "--programme", "normal", "--log", str(turns), "--json"]) == 0
    ratios = json.loads(capsys.readouterr().out)["ratios"]
    assert [(one["gear"], one["middle"]) for one in ratios["gears"]] == [(3, pytest.approx(1660 / 1747.0, abs=1e-3))]
    assert ratios["wrong"][0].startswith("Gear 3: the engine turns slower")
    bare = tmp_path / "bare.csv"
    bare.write_text("time [s],road speed [km/h]\n" + "\n".join(f"{k},50" for k in range(50)) + "\n", encoding="utf-8")
    assert main(["gears", "--programme", "normal", "--log", str(bare)]) == 2
    assert "throttle, gear" in capsys.readouterr().err
