"""`loomwright size` and `loomwright why`: the shape of the contract, exit codes, what is kept and what is written."""

from __future__ import annotations

import pytest

from loomwright.cli.main import main
from loomwright.sheets.opening import open_job
from tests.handover.van import changed, rows

WIRE_KEYS = {"size_mm2", "decided_by", "conductor_c", "drop_v"}


def blank():
    """The small van without the size of its brake lamp's earth and without the rating of its lamp fuse."""
    sheets = changed("wires", "W13", size_mm2="")
    for part in sheets["parts"]:
        if part["kind"] == "fuse":
            part["settings"] = "; ".join(
                text for text in part["settings"].split("; ") if not text.strip().startswith("rating_a")
            )
            break
    return sheets


@pytest.fixture
def fuse():
    return next(row["id"] for row in rows()["parts"] if row["kind"] == "fuse")


def test_the_answer_has_the_shape_of_the_contract(ask, job, fuse):
    told = ask("size", job(blank()), "--json")
    assert told.code == 0
    wires, fuses = told.plain["wires"], told.plain["fuses"]
    fitted = {row["id"] for row in rows()["wires"] if row.get("fitted") != "removed"}
    assert set(wires) == fitted
    for one in wires.values():
        assert set(one) >= WIRE_KEYS
        assert one["size_mm2"] > 0.0
    assert {name for name, one in wires.items() if one["decided_by"] != "typed"} == {"W13"}
    assert fuses[fuse]["decided_by"] in ("load", "starting", "rush")
    assert fuses[fuse]["rating_a"] > 0.0
    assert {one["decided_by"] for name, one in fuses.items() if name != fuse} <= {"typed"}
    new = {row["id"] for row in rows()["wires"] if row.get("fitted", "new") in ("", "new")}
    # 0.00889 g/mm3 of every new wire whose length is known
    known = [one for name, one in wires.items() if name in new and one["length_mm"] is not None]
    assert len(known) > 10
    copper_g = sum(one["size_mm2"] * one["length_mm"] * 0.00889 for one in known)
    assert told.plain["copper_g"] == pytest.approx(copper_g, abs=0.1)


def test_the_words_name_wire_size_limit_and_what_was_not_looked_at(ask, job):
    told = ask("size", job(blank()))
    lines = told.out.splitlines()
    assert lines[0].split() == ["wire", "length", "worst", "size", "by", "drop", "warm", "in"]
    assert any(line.startswith("W13 ") for line in lines)
    assert any(line.startswith("W13: ") for line in lines)
    assert "Copper" in told.out
    assert lines[-1].startswith("Not looked at for a size: wires warming each other")


def test_a_job_without_blanks_says_so(ask, job):
    told = ask("size", job())
    assert told.code == 0
    assert "No size and no rating is blank." in told.out


def test_what_cannot_be_settled_leaves_with_1_and_a_mend(ask, job):
    sheets = blank()
    sheets["stock"] = [{"item": "wire", "size_mm2": "0.22"}]
    told = ask("size", job(sheets))
    assert told.code == 1
    assert "W13.size_mm2: its class asks for" in told.out
    assert "Take thicker wire into stock" in told.out


def test_keep_keeps_and_the_next_check_has_it(ask, job, fuse):
    folder = job(blank())
    told = ask("size", folder, "--keep")
    assert told.code == 0
    assert f"1 size and 1 rating kept as decisions in {folder}" in told.out
    kept = open_job(folder)
    assert {(one.row, one.column) for one in kept.decisions} == {("W13", "size_mm2"), (fuse, "settings.rating_a")}
    assert all(one.digest for one in kept.decisions)
    limits = {one.limit for one in kept.reasons if one.row == "W13"}
    assert limits == {"strength", "heat", "fuse", "volts"}
    assert next(wire.size_mm2 for wire in kept.wires if wire.id == "W13") is None
    check = ask("check", folder, "--json")
    assert not [one for one in check.plain["findings"] if one["rule"] == "JOB-4"]
    assert ask("size", folder, "--json").plain["wires"]["W13"]["decided_by"] != "typed"


def test_kept_decisions_that_rest_on_other_rows_are_a_note(ask, job):
    folder = job(blank())
    ask("size", folder, "--keep")
    sheet = folder / "wires.csv"
    text = sheet.read_text(encoding="utf-8")
    length = next(wire.length_mm for wire in open_job(folder).wires if wire.id == "W13")
    row = next(line for line in text.splitlines() if line.startswith("W13,"))
    sheet.write_text(text.replace(row, row.replace(f"{length:g}", "4321")), encoding="utf-8")
    told = ask("check", folder, "--json")
    [note] = [one for one in told.plain["findings"] if one["rule"] == "JOB-4"]
    assert note["severity"] == "note"
    assert note["at"][0] == "W13"
    assert "2 kept decisions" in note["says"]
    assert "loomwright size JOB --keep" in note["mend"]


def test_adopt_writes_the_cells(ask, job, fuse):
    folder = job(blank())
    told = ask("size", folder, "--adopt")
    assert told.code == 0
    found = open_job(folder)
    assert found.decisions == ()
    assert next(wire.size_mm2 for wire in found.wires if wire.id == "W13") > 0.0
    assert next(part.settings["rating_a"] for part in found.parts if part.id == fuse)
    assert ask("size", folder, "--json").plain["wires"]["W13"]["decided_by"] == "typed"


@pytest.mark.parametrize("word", ["--keep", "--adopt"])
def test_an_example_is_not_written_to(ask, word):
    told = ask("size", "tourer", word)
    assert told.code == 2
    assert "loomwright import tourer my_tourer" in told.err


def test_both_at_once_are_refused(capsys):
    assert main(["size", "tourer", "--keep", "--adopt"]) == 2
    assert "not allowed with" in capsys.readouterr().err


# ------------------------------------------------------------------------ why


def test_why_tells_every_limit_and_marks_the_one_that_ruled(ask, job):
    folder = job(blank())
    told = ask("why", folder, "W13.size_mm2")
    assert told.code == 0
    assert told.out.startswith("W13.size_mm2: 0.5 mm², worked out now; the cell is blank.")
    assert told.out.count("→") == 1
    for word in ("strength: asks for", "heat: asks for", "worked out by:", "table:", "source:"):
        assert word in told.out
    plain = ask("why", folder, "W13.size_mm2", "--json").plain
    assert set(plain) >= {"cell", "value", "unit", "stands", "decided_by", "limits"}
    assert plain["value"] == 0.5
    assert {"limit", "asks", "says", "left_frac", "when", "rests_on", "method", "table", "source"} <= set(
        plain["limits"][0]
    )


def test_why_of_a_typed_cell_says_it_was_typed(ask, job):
    told = ask("why", job(), "W13.size_mm2")
    assert told.code == 0
    assert "typed in the sheet" in told.out
    assert "→" not in told.out


def test_why_of_what_could_not_be_settled_says_why_and_leaves_with_1(ask, job):
    sheets = blank()
    sheets["stock"] = [{"item": "wire", "size_mm2": "0.22"}]
    told = ask("why", job(sheets), "W13.size_mm2")
    assert told.code == 1
    assert "nothing could be decided" in told.out
    assert "Take thicker wire into stock" in told.out


def test_why_of_a_cell_that_is_not_there_is_refused(ask, job):
    folder = job()
    assert ask("why", folder, "W13.colour").code == 2
    assert "nearest: W13" in ask("why", folder, "W113.size_mm2").err
