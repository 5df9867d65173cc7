"""What the commands answer, in words and as JSON, in the shape of the contract."""

from __future__ import annotations

import json

import pytest

from loomwright.cli.main import COMMANDS, main
from loomwright.cli.meter import reading_text
from loomwright.cli.printing import counted
from loomwright.cli.solve import as_plain, show_solved
from loomwright.network.meter import MeterReading
from loomwright.network.solve import Solved
from loomwright.sheets.csv_folder import open_folder
from tests.handover.van import changed, rows

FINDING_KEYS = {"rule", "severity", "at", "when", "touches", "says", "mend"}


# ------------------------------------------------------------------------ check


def test_a_sound_car_leaves_with_nothing_but_notes(ask, job):
    told = ask("check", job(), "--json")
    assert told.code == 0
    assert {finding["severity"] for finding in told.plain["findings"]} <= {"note"}
    assert told.plain["states_searched"] > 0


def test_a_part_with_no_earth_is_a_finding(ask, job):
    sheets = rows()
    sheets["wires"] = [row for row in sheets["wires"] if row["id"] != "W13"]
    folder = job(sheets)
    told = ask("check", folder, "--json")
    assert told.code == 1
    faults = [finding for finding in told.plain["findings"] if finding["severity"] == "fault"]
    assert any(place.startswith("BL") for finding in faults for place in (*finding["at"], *finding["touches"]))
    for finding in told.plain["findings"]:
        assert set(finding) >= FINDING_KEYS
        assert len(finding["at"]) <= 4
    words = ask("check", folder)
    assert words.code == 1
    assert "FAULT   NET-1  BL" in words.out
    assert "1 fault" in words.out.splitlines()[-1]


def test_a_warning_alone_leaves_with_1(ask, job):
    # a poor earth of the brake lamp: it loses over 0.9 V, under a tenth of the system's
    told = ask("check", job(changed("wires", "W13", ohm_per_m="2.4")), "--json")
    severities = {finding["severity"] for finding in told.plain["findings"]}
    assert severities == {"warning", "note"}
    assert told.code == 1


def test_every_state_solved_finds_the_same(ask, job):
    folder = job(changed("wires", "W13", ohm_per_m="2.4"))
    most, every = (ask("check", folder, "--json", *more).plain for more in ((), ("--every-state",)))
    assert [finding["says"] for finding in most["findings"]] == [finding["says"] for finding in every["findings"]]


# ------------------------------------------------------------------------ solve


def test_solve_tells_every_terminal_and_every_wire(ask, job):
    plain = ask("solve", job(), "--state", "key=run, engine=idle", "--json").plain
    assert set(plain) >= {"volts", "amps", "relays", "blown"}
    assert {"BAT.+", "FAN.-", "body", "engine", "gearbox", "axle"} <= set(plain["volts"])
    assert {f"W{number}" for number in range(1, 23)} <= set(plain["amps"])
    assert plain["relays"] == {"KF": "pulled"}
    assert plain["blown"] == []
    assert plain["volts"]["BAT.-"] == 0.0
    # amps are positive from `from` to `to`, and what flows into a splice-free fuse flows out of it
    assert plain["amps"]["W4"] == pytest.approx(plain["amps"]["W14"], abs=1e-6)
    assert plain["amps"]["W4"] > 1.0


def test_solve_shows_floating_as_null_and_in_words(ask, job):
    folder = job(changed("wires", "W13", to=""))
    assert ask("solve", folder, "--json").plain["volts"]["BL.1"] is None
    told = ask("solve", folder, "--circuit", "brake")
    assert told.code == 0
    lines = {line.split()[0]: line.split()[1:] for line in told.out.splitlines() if line.startswith("  ")}
    assert lines["BL.1"] == ["floating"]
    assert "FAN.+" not in lines
    assert "W12" in lines


def test_solve_with_something_wrong_on_purpose(ask, job):
    folder = job()
    state = ("--state", "key=run, engine=idle")
    assert ask("solve", folder, *state, "--pull", "F2", "--json").plain["volts"]["FAN.+"] == pytest.approx(
        0.0, abs=0.01
    )
    assert ask("solve", folder, *state, "--open", "W17", "--json").plain["relays"] == {"KF": "released"}
    assert ask("solve", folder, "--stuck", "KF", "--json").plain["relays"] == {"KF": "pulled"}
    slow = ask("solve", folder, *state, "--series", "W15=0.5", "--json").plain
    assert slow["volts"]["KF.87"] - slow["volts"]["FAN.+"] > 1.0
    assert ask("solve", folder, *state, "--unplug", "ECU", "--json").plain["alive"] == {"ECU": False}


def test_a_short_blows_its_fuse_and_both_are_told(ask, job):
    folder = job()
    told = ask("solve", folder, "--short", "TL.1", "--state", "lights=on", "--json")
    assert told.code == 0
    assert told.plain["blown"] == ["F1"]
    words = ask("solve", folder, "--short", "TL.1", "--state", "lights=on")
    assert "F1: more than twice its rating, blown" in words.out


def test_a_collapse_is_named_and_what_is_no_number_is_null(capsys):
    solved = Solved(
        state={"key": "off"},
        volts={"A.1": float("nan"), "A.2": -0.0},
        amps={"W1": float("inf")},
        relays={"K1": "buzzing"},
        alive={},
        blown=(),
        buzzing=("K1",),
        collapsed=True,
    )
    plain = as_plain(solved)
    assert (plain["volts"], plain["amps"], plain["collapsed"]) == ({"A.1": None, "A.2": 0.0}, {"W1": None}, True)
    show_solved(solved, None)
    text = capsys.readouterr().out
    assert "The supply cannot hold this load" in text
    assert "K1: buzzing, in and out by turns" in text


def test_the_state_before_may_be_typed_as_findings_write_it(ask, job):
    folder = job()
    typed = ask("solve", folder, "--state", "before.key=run, key=off, engine=idle", "--json").plain
    apart = ask("solve", folder, "--state", "key=off, engine=idle", "--before", "key=run", "--json").plain
    assert typed == apart


def test_figures_may_have_their_unit(ask, job):
    plain = ask("solve", job(), "--state", "coolant_c=68 F", "--json").plain
    assert plain["state"]["coolant_c"] == "20"


# ------------------------------------------------------------------------ meter


def test_meter_answers_in_the_shape_of_the_contract(ask, job):
    folder = job()
    volts = ask("meter", folder, "--volts", "F1.1", "body", "--json").plain
    assert set(volts) == {"value", "unit", "floating", "glow"}
    assert (volts["unit"], volts["floating"], volts["glow"]) == ("V", False, None)
    assert volts["value"] == pytest.approx(12.6, abs=0.1)
    lamp = ask("meter", folder, "--lamp", "F1.1", "body", "--watt", "21", "--json").plain
    assert (lamp["unit"], lamp["glow"]) == ("A", "full")
    assert lamp["value"] == pytest.approx(21 / 12, rel=0.1)


def test_a_test_lamp_on_a_dead_wire_stays_dark(ask, job):
    told = ask("meter", job(), "--lamp", "FAN.+", "body")
    assert told.out == "0 A, lamp dark\n"


def test_a_meter_on_a_free_end_says_floating(ask, job):
    folder = job(changed("wires", "W13", to=""))
    assert ask("meter", folder, "--volts", "BL.1", "body", "--json").plain["floating"] is True
    assert "floating: no path behind a lead" in ask("meter", folder, "--volts", "BL.1", "body").out


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (-1.13e-13, "A", "0 A"),
        (-0.0, "V", "0 V"),
        (-0.00002, "V", "0 V"),
        (-0.0004, "A", "-0.0004 A"),
        (0.00068, "ohm", "0.00068 ohm"),
    ],
)
def test_what_no_meter_tells_from_nothing_is_shown_as_nothing(value, unit, shown):
    assert reading_text(MeterReading(value=value, unit=unit)) == shown


def test_ohms_through_a_fuse_and_through_a_pulled_one(ask, job):
    folder = job()
    assert ask("meter", folder, "--ohms", "F1.1", "F1.2", "--json").plain["value"] < 0.1
    pulled = ask("meter", folder, "--ohms", "F1.2", "F2.2", "--pull", "F1", "F2", "--json").plain
    assert pulled["value"] is None or pulled["value"] > 1.0


def test_a_clamp_reads_what_solve_says(ask, job):
    folder, state = job(), ("--state", "key=run, engine=idle", "--json")
    amps = ask("meter", folder, "--amps", "W15", *state).plain
    assert amps["value"] == pytest.approx(ask("solve", folder, *state).plain["amps"]["W15"], abs=1e-6)


# -------------------------------------------------------------- import and export


def test_a_job_goes_out_and_comes_back_the_same(ask, job, tmp_path):
    folder = job()
    assert ask("import", folder, tmp_path / "taken").code == 0
    told = ask("export", tmp_path / "taken", tmp_path / "given", "--json")
    assert told.plain == {"written": str(tmp_path / "given"), "left_out": []}
    assert open_folder(tmp_path / "given") == open_folder(folder)


def test_import_counts_what_it_took(ask, job, tmp_path):
    folder = job()
    assert "14 parts and 24 wires written to" in ask("import", folder, tmp_path / "a").out
    plain = ask("import", folder, tmp_path / "b", "--json").plain
    assert plain == {"written": str(tmp_path / "b"), "parts": 14, "wires": 24, "left_out": []}


def test_a_netlist_goes_out(ask, job, tmp_path):
    file = tmp_path / "new" / "van.cir"
    assert ask("export", job(), file, "--state", "key=run", "--settled").code == 0
    text = file.read_text(encoding="utf-8")
    assert text.rstrip().endswith(".end")
    assert "W15" in text


# ------------------------------------------------------------------ the rest


def test_help_names_every_command_and_scares_nobody(capsys):
    with pytest.raises(SystemExit) as left:
        main(["--help"])
    assert left.value.code == 0
    text = capsys.readouterr().out
    assert [word for word in COMMANDS if f"    {word}" not in text] == []
    for word in COMMANDS:
        with pytest.raises(SystemExit):
            main([word, "--help"])
        assert "error" not in capsys.readouterr().out


def test_every_command_answers_as_json(capsys):
    for word in COMMANDS:
        with pytest.raises(SystemExit):
            main([word, "--help"])
        assert "--json" in capsys.readouterr().out


def test_counts_have_their_plural():
    assert [counted(number, "wire") for number in (0, 1, 2)] == ["0 wires", "1 wire", "2 wires"]
    assert json.dumps(counted(2, "entry", "entries")) == '"2 entries"'
