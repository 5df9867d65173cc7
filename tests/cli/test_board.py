"""`loomwright board` and `draw --dxf`: the files they write, what they tell, and their exit codes."""

from __future__ import annotations

import ezdxf
import pypdfium2

from tests.drawings.test_board import sheets


def test_the_board_is_told_and_written_and_what_is_missing_makes_the_exit_code_1(ask, job, tmp_path):
    told = ask("board", job(sheets()), "--out", tmp_path / "board", "--page-size", "a3", "--json")
    assert told.code == 1
    plain = told.plain
    assert {row["run"]: row["length_mm"] for row in plain["runs"]} == {
        "R1": 800.0, "R2": 600.0, "R3": 1500.0, "R4": 400.0, "R5": 1100.0,
    }  # fmt: skip
    assert plain["runs_mm"] == 4400.0
    assert [row["id"] for row in plain["missing"]] == ["W7", "step"]
    assert [row["turn"] for row in plain["sleeving"]] == [1, 2, 3, 4, 5]
    with pypdfium2.PdfDocument((tmp_path / "board" / "board.pdf").read_bytes()) as document:
        assert len(document) >= len(plain["sheets"]) + 1
    audit = ezdxf.readfile(tmp_path / "board" / "board.dxf").audit()
    assert (list(audit.errors), list(audit.fixes)) == ([], [])


def test_it_is_told_in_words_with_every_run_in_its_turn(ask, job):
    said = ask("board", job(sheets()), "--margin", "95").out
    assert "4.4 m of runs, 5 runs" in said
    assert "A margin of 95 mm leaves no room for the rule on A4" in said
    assert "wire W7: " in said
    assert said.index("push on conduit") < said.index("wrap tape")


def test_circuit_drawings_are_written_as_dxf(ask, job, tmp_path):
    told = ask("draw", job(sheets()), tmp_path / "drawn", "--dxf", "--json")
    assert told.code == 0
    (path,) = told.plain["written"]
    assert path.endswith(".dxf")
    layers = {one.dxf.layer for one in ezdxf.readfile(path).modelspace()}
    assert {"wires-RD", "wires-open", "words"} <= layers
