"""Bad input of every sort: exit code 2, the place and the mend in a sentence, the same as JSON, never a traceback."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.handover.van import changed, rows, wire

SOLVE = [sys.executable, "-m", "loomwright", "solve"]
COMMANDS = (("check",), ("solve",), ("meter", "--volts", "BAT.+", "BAT.-"), ("pack", "--out", "never.pdf"))


def one(ask, folder, *words):
    """The one refused place of a command, which says the same in words."""
    command, *more = words or ("check",)
    told = ask(command, folder, *more)
    assert told.code == 2
    assert told.out == ""
    assert told.err.strip()
    (problem,) = ask(command, folder, *more, "--json").refused
    return problem


def place(problem):
    """Sheet, row and column of a refused place."""
    return problem["sheet"], problem["row"], problem["column"]


@pytest.mark.parametrize("command", COMMANDS, ids=lambda words: words[0])
def test_an_empty_folder(ask, tmp_path, command):
    problem = one(ask, tmp_path, *command)
    assert problem["found"].endswith("holds no sheet")
    assert problem["mend"] == "Put parts.csv and the others into it"


@pytest.mark.parametrize("name", ["nowhere", "", "no\0where", "n" * 5000])
def test_a_job_that_is_not_there(ask, name):
    problem = one(ask, name)
    assert problem["found"] == name
    for form in ("a folder of sheets", ".xlsx", ".loomjob", ".json", "an example (van, van-as-drawn, tourer, wagon)"):
        assert form in problem["allowed"]


def test_an_example_nearly_named_right(ask):
    assert one(ask, "turer")["allowed"].endswith("nearest: tourer")


def test_a_file_in_place_of_a_folder(ask, tmp_path):
    file = tmp_path / "van.csv"
    file.write_text("id\n", encoding="utf-8")
    problem = one(ask, file)
    assert problem["found"] == "van.csv is one sheet"
    assert "name the folder" in problem["mend"].lower()


def test_wrong_headings(ask, job):
    folder = job()
    (folder / "wires.csv").write_text("idd,frm,too\nW1,BAT.+,body\n", encoding="utf-8")
    problem = one(ask, folder)
    assert place(problem) == ("wires", 1, "id")
    assert problem["mend"] == "Write id in place of idd"


def test_a_hundred_thousand_rows(ask, job):
    sheets = rows()
    sheets["parts"] = [*sheets["parts"], *({"id": f"L{n}", "kind": "lamp"} for n in range(100_000))]
    problem = one(ask, job(sheets))
    assert place(problem) == ("parts", None, "")
    assert problem["found"] == "100014 rows"


def test_duplicate_ids_in_two_sheets_are_both_told(ask, job):
    sheets = rows()
    sheets["parts"].append({"id": "F1", "kind": "lamp"})
    sheets["wires"].append(wire("W3", "BAT.+", "F1.1", "supply"))
    folder = job(sheets)
    problems = ask("check", folder, "--json").refused
    assert [(place(problem), problem["found"]) for problem in problems] == [
        (("parts", 16, "id"), "F1"),
        (("wires", 26, "id"), "W3"),
    ]
    assert "2 places to mend; nothing was taken in." in ask("check", folder).err


@pytest.mark.parametrize(
    ("sheet", "id", "column", "typed", "found", "mend"),
    [
        ("wires", "W3", "to", "F9.1", "F9.1", "Add a row F9"),
        ("wires", "W3", "to", "F1.7", "F1.7", "F1.1"),
        ("wires", "W3", "length_mm", "-5", "-5", "Put it right"),
        ("wires", "W3", "size_mm2", "-1.5", "-1.5", "Put it right"),
        ("wires", "W3", "length_mm", "1e400", "1e400", "Write the figure"),
        ("wires", "W3", "length_mm", "nan", "nan", "Write the figure"),
        ("wires", "W3", "colour", "RDD", "RDD", ""),
        ("wires", "W3", "circuit", "suply", "suply", "supply"),
        ("parts", "TL", "kind", "lampp", "lampp", "lamp"),
        ("parts", "F1", "settings", "rating=10", "rating", "rating_a"),
        ("parts", "F1", "settings", "rating_a=ten", "rating_a=ten", "Put it right"),
    ],
)  # fmt: skip
def test_one_bad_cell(ask, job, sheet, id, column, typed, found, mend):
    sheets = changed(sheet, id, **{column: typed})
    row = [each["id"] for each in sheets[sheet]].index(id) + 2
    problem = one(ask, job(sheets))
    assert place(problem) == (sheet, row, column)
    assert problem["found"] == found
    assert mend in problem["mend"]


def test_supplies_in_a_ring(ask, job):
    sheets = changed("circuits", "supply", feed="TL.1")
    sheets["circuits"][1]["feed"] = "BAT.+"
    problem = one(ask, job(sheets))
    assert place(problem) == ("circuits", 2, "feed")
    assert problem["found"] == "supplies in a ring: supply from lights from supply"


def test_no_battery(ask, job):
    sheets = rows()
    sheets["parts"] = [row for row in sheets["parts"] if row["id"] != "BAT"]
    sheets["wires"] = [row for row in sheets["wires"] if "BAT" not in row["from"]]
    problem = one(ask, job(sheets))
    assert (problem["sheet"], problem["found"]) == ("parts", "no battery")
    assert "wire its + and its -" in problem["mend"]


@pytest.mark.parametrize(
    ("data", "row"),
    [(b"id,kind,name\nBAT,battery,Zuf\xfchrung\n", 2), (bytes(range(256)), 2), (b"id,kind\nBAT,\0\n", 2)],
)
def test_a_sheet_that_is_not_text(ask, job, data, row):
    folder = job()
    (folder / "parts.csv").write_bytes(data)
    problem = one(ask, folder)
    assert place(problem) == ("parts", row, "")
    assert "UTF-8" in problem["mend"]


def test_a_sheet_that_is_a_folder(ask, job):
    folder = job()
    (folder / "wires.csv").unlink()
    (folder / "wires.csv").mkdir()
    problem = one(ask, folder)
    assert (problem["sheet"], problem["found"]) == ("wires", "wires.csv is a folder")


def test_a_sheet_that_is_missing_leaves_its_points_unknown(ask, job):
    folder = job()
    (folder / "parts.csv").unlink()
    problems = ask("check", folder, "--json").refused
    assert {problem["sheet"] for problem in problems} >= {"wires"}


STATES = [
    ("key=rnu", "key", "rnu", "off accessory run start"),
    ("kee=run", "--state", "kee", "nearest: key"),
    ("key", "--state", "key", "variable=value"),
    ("=", "--state", "=", "variable=value"),
    ("key=run, key=off", "--state", "key=off", "key=run stands there already"),
    ("key=run|off", "key", "run|off", "off accessory run start"),
    ("coolant_c=hot", "coolant_c", "hot", "°C"),
    ("coolant_c>=95", "--state", "coolant_c>=95", "variable=value"),
    ("before.key=rnu", "key", "rnu", "off accessory run start"),
]


@pytest.mark.parametrize(("state", "column", "found", "allowed"), STATES)
def test_a_state_that_cannot_be(ask, job, state, column, found, allowed):
    problem = one(ask, job(), "solve", "--state", state)
    assert (problem["column"], problem["found"]) == (column, found)
    assert allowed in problem["allowed"]


def test_a_state_before_that_cannot_be(ask, job):
    assert one(ask, job(), "solve", "--before", "kee=run")["column"] == "--before"


OPTIONS = [
    (["--unplug", "X9"], "--unplug", "X9", "BAT BL ECU"),
    (["--pull", "F9"], "--pull", "F9", "F1 F2 F3"),
    (["--pull", "KEY"], "--pull", "KEY", "F1 F2 F3"),
    (["--open", "W99"], "--open", "W99", "nearest: W9"),
    (["--open", "W23"], "--open", "W23", "nearest"),
    (["--series", "W3"], "--series", "W3", "WIRE=OHM"),
    (["--series", "W3=x"], "--series", "x", "a number"),
    (["--series", "W3=-1"], "--series", "-1", "0 ohm or more"),
    (["--series", "W99=1"], "--series", "W99", "nearest: W9"),
    (["--short", "ZZ.1"], "--short", "ZZ.1", "BAT.+"),
    (["--short", "F1.1=F1.1"], "--short", "F1.1=F1.1", "two points"),
    (["--stuck", "TL"], "--stuck", "TL", "ECU KEY KF LSW SBRK"),
    (["--circuit", "brk"], "--circuit", "brk", "nearest: brake"),
]


@pytest.mark.parametrize(
    ("words", "column", "found", "allowed"),
    OPTIONS,
    ids=lambda each: " ".join(each) if isinstance(each, list) else None,
)
def test_an_option_that_names_nothing(ask, job, words, column, found, allowed):
    problem = one(ask, job(), "solve", *words)
    assert (problem["column"], problem["found"]) == (column, found)
    assert allowed in problem["allowed"]


METERS = [
    (["--volts", "F1.1", "F9.1"], "--volts", "F9.1"),
    (["--ohms", "TL", "body"], "--ohms", "TL"),
    (["--lamp", "F1.1", "bodi"], "--lamp", "bodi"),
    (["--amps", "W99"], "wire", "W99"),
    (["--lamp", "F1.1", "body", "--watt", "-5"], "--watt", "-5"),
    (["--lamp", "F1.1", "body", "--watt", "bright"], "--watt", "bright"),
]


@pytest.mark.parametrize(
    ("words", "column", "found"), METERS, ids=lambda each: " ".join(each) if isinstance(each, list) else None
)
def test_a_meter_put_to_nothing(ask, job, words, column, found):
    problem = one(ask, job(), "meter", *words)
    assert (problem["column"], problem["found"]) == (column, found)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "The following arguments are required: COMMAND"),
        (["check"], "The following arguments are required: JOB"),
        (["check", "van", "--jsn"], "Unrecognized arguments: --jsn"),
        (["meter", "van"], "One of the arguments --volts --ohms --amps --lamp is required"),
        (["meter", "van", "--volts", "BAT.+"], "Argument --volts: expected 2 arguments"),
        (["solve", "van", "--stat", "key=run"], "Unrecognized arguments: --stat key=run"),
    ],
)
def test_words_that_no_command_takes(ask, words, said):
    told = ask(*words)
    assert told.code == 2
    assert said in told.err
    assert "--help" in told.err
    if words:
        (problem,) = ask(*words, "--json").refused
        assert said in problem["mend"]


def test_a_command_nearly_named_right(ask):
    told = ask("chek", "van")
    assert told.code == 2
    assert told.err.startswith("command: found 'chek'")
    assert told.err.endswith("nearest: check.\n")


def test_a_file_that_cannot_be_written(ask, job, tmp_path):
    folder = job()
    (tmp_path / "taken").write_text("a file", encoding="utf-8")
    for words in (
        ("export", folder, tmp_path / "taken" / "van.cir"),
        ("pack", folder, "--out", tmp_path / "taken" / "van.pdf"),
        ("export", folder, tmp_path / "taken"),
    ):
        (problem,) = ask(*words, "--json").refused
        assert "taken" in problem["found"]
        assert ask(*words).code == 2


def test_sheets_that_stand_there_are_not_written_over(ask, job):
    folder = job()
    before = (folder / "wires.csv").read_bytes()
    for command in ("import", "export"):
        told = ask(command, "tourer", folder)
        assert told.code == 2
        assert "holds sheets already" in told.err
    assert (folder / "wires.csv").read_bytes() == before


@pytest.mark.parametrize("name", ["van.ods", "van.txt"])
def test_a_form_that_there_is_none_of(ask, job, name, tmp_path):
    (problem,) = ask("export", job(), tmp_path / name, "--json").refused
    assert problem["found"] == name
    assert ".cir" in problem["allowed"]


@pytest.mark.parametrize("words", [["--out", "van.txt"], ["--date", "17.5.2024"], ["--date", "2024-02-30"]])
def test_a_paper_that_cannot_be(ask, job, words):
    problem = one(ask, job(), "pack", *words)
    assert problem["found"] == words[1]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no full device on this system")
def test_an_answer_that_cannot_be_printed(job):
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        ran = subprocess.run([*SOLVE, str(job())], stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert ran.returncode == 2
    assert ran.stderr.endswith("the answer could not be told to its end.\n")
    assert "Traceback" not in ran.stderr


def test_a_reader_that_leaves_early_is_no_trouble(job):
    with subprocess.Popen([*SOLVE, str(job())], stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running:
        running.stdout.close()
        assert running.stderr.read() == b""
    assert running.returncode == 0


def test_letters_a_terminal_lacks_do_not_stop_the_answer(job):
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    sheets = changed("wires", "W13", ohm_per_m="2.4")
    command = [*SOLVE[:-1], "check", str(job(sheets))]
    ran = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    assert (ran.returncode, ran.stderr) == (1, "")
    assert "DRP-1" in ran.stdout
