"""What cannot be searched is told in a sentence, the same from Python, from the command and on a page."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time

import pytest

from loomwright.car import Car
from loomwright.examples.shelf import example_folder
from loomwright.job.reading import job_from_text
from loomwright.pages.checking import _no_end
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach, Stopped
from loomwright.sheets.csv_folder import open_folder
from loomwright.states.asking import too_large
from loomwright.states.rules import sheets
from tests.pages.shelves import SMALL, client_on, shelf_in
from tests.states.small_jobs import car, findings, wire

ASKED_WRONG = [
    ({"point": "LA9.1"}, "point", "LA9.1", "Write LA1.1, or add a row LA9 to the sheet parts"),
    ({"point": "LA1.7"}, "point", "LA1.7", "Name one of its terminals, LA1.1"),
    ({"point": "W99", "must": "<= 3 A"}, "point", "W99", "Name the wire"),
    ({"when": "ky=run"}, "when", "ky=run", "Write key, or add a row ky to the sheet variables"),
    ({"when": "key=rum"}, "when", "key=rum", "Write key=run"),
    ({"when": "before.SW1=onn"}, "when", "before.SW1=onn", "Write SW1=on"),
    ({"must": "lit"}, "must", "lit", "Write one of these, with V or A behind a figure"),
]


def with_requirement(**cells: str) -> dict[str, list[dict[str, str]]]:
    """The small job of the pages, with one requirement."""
    row = {"id": "R1", "point": "LA1.1", "when": "key=run", "must": "live", **cells}
    return {**{name: [dict(each) for each in many] for name, many in SMALL.items()}, "requirements": [row]}


@pytest.mark.parametrize(("cells", "column", "found", "mend"), ASKED_WRONG)
def test_a_requirement_on_what_is_not_there(ask, job, tmp_path, cells, column, found, mend):
    sheets = with_requirement(**cells)
    with pytest.raises(BadDocument) as refused:
        job_from_text(sheets)
    (problem,) = refused.value.problems
    assert (problem.sheet, problem.row, problem.column, problem.found) == ("requirements", 2, column, found)
    assert mend in problem.mend
    folder = job(sheets)
    told = ask("check", folder)
    assert (told.code, told.err.strip()) == (2, problem.says)
    (plain,) = ask("check", folder, "--json").refused
    assert plain["mend"] == problem.mend
    shelf = shelf_in(tmp_path / "shelf", small=SMALL)
    client = client_on(shelf)
    document = json.dumps({"format": 1, "sheets": sheets}).encode()
    answer = client.post("/jobs/file", files={"file": ("wrong.json", document)}, data={"name": "wrong"})
    assert problem.mend.split(",")[0] in answer.text
    shelf.close()


def test_too_many_states_are_refused_at_once_with_what_makes_them_and_what_to_fix(ask):
    van = Car(open_folder(example_folder("van")))
    begun = time.process_time()
    with pytest.raises(NoAnswer) as refused:
        van.check(everything=True)
    assert time.process_time() - begun < 10.0, "nothing is solved, and nothing multiplied out, before it is refused"
    many, most, fix = refused.value.reasons
    assert many.startswith(f"{van.scene.space.raw} states would have to be solved")
    assert "selector (" in most
    held = dict(
        pair.split("=")
        for pair in fix.removeprefix("Fix some of them at one value: with ").split(" there")[0].split(", ")
    )
    left = too_large.with_fixed(van.scene.compiled, van.scene.space, held).raw
    assert fix.endswith(f"there are {left}.")
    assert left <= too_large.STATES_MOST
    assert str(refused.value) == _no_end(refused.value)[0].found
    told = ask("check", "van", "--every-state")
    assert (told.code, told.err.strip()) == (2, str(refused.value))


def test_a_planned_search_too_large_is_refused_too(monkeypatch):
    job = car()
    monkeypatch.setattr(too_large, "STATES_MOST", 63)
    with pytest.raises(NoAnswer, match="64 states would have to be solved, and no more than 63 can be"):
        Car(job).check()
    monkeypatch.setattr(too_large, "STATES_MOST", 64)
    assert Car(job).check().solved >= 48


def test_a_variable_that_is_fixed_is_asked_at_its_one_value(ask, job):
    folder = job(with_requirement(when="", must="dead"))
    free = ask("check", folder, "--json").plain
    fixed = ask("check", folder, "--json", "--fix", "SW1=off").plain
    assert fixed["raw_states"] * 2 == free["raw_states"]
    broken = [one["rule"] == "REQ-1" for one in free["findings"]]
    assert any(broken)
    assert not any(one["rule"] == "REQ-1" for one in fixed["findings"])


@pytest.mark.parametrize(("typed", "found"), [("SW9=off", "SW9"), ("SW1=half", "half"), ("SW1", "SW1")])
def test_what_cannot_be_fixed_is_told(ask, job, typed, found):
    told = ask("check", job(with_requirement()), "--fix", typed)
    assert told.code == 2
    assert found in told.err
    assert "Traceback" not in told.err


def in_series(count: int):
    """The small car with so many switches more between its own and the lamp."""
    names = [f"SX{number}" for number in range(count)]
    ends = [*(f"{name}.2" for name in names), "LA1.1"]
    starts = ["SW1.2", *(f"{name}.1" for name in names)]
    links = [
        wire(f"X{number}", "SW1.2" if not number else f"SX{number - 1}.2", f"SX{number}.1") for number in range(count)
    ]
    assert len(starts) == len(ends)
    parts = [{"id": name, "kind": "switch"} for name in names]
    return car(parts=parts, wires=links, changed={"W6": {"from": f"SX{count - 1}.2"}})


def test_more_switches_on_one_thing_than_are_combined_is_told():
    [one] = [finding for finding in findings(in_series(8), sheets) if finding.rule == "JOB-5"]
    assert one.severity == "note"
    assert one.at == ("SX7",)
    assert "SW1" in one.touches


def test_as_many_as_are_combined_is_not_told():
    assert "JOB-5" not in [finding.rule for finding in findings(in_series(7), sheets)]


def test_a_check_stopped_by_hand_says_how_far_it_was(ask, job, monkeypatch):
    def stopped(self, tell, everything, fixed):
        tell(3, 9)
        raise KeyboardInterrupt

    monkeypatch.setattr(Car, "check", stopped)
    told = ask("check", job(with_requirement()))
    assert (told.code, told.out) == (130, "")
    assert told.err.strip() == "stopped at 3 of 9. Nothing was kept of it; the job is as it was."


def test_one_thing_wrong_stopped_by_hand_says_so_too(ask, job, monkeypatch):
    def stopped(self, tell, executor=None):
        tell(3, 9)
        raise KeyboardInterrupt

    monkeypatch.setattr(Car, "wrong", stopped)
    told = ask("check", "--wrong", job(with_requirement()))
    assert (told.code, told.out) == (130, "")
    assert told.err.strip() == "stopped at 3 of 9. Nothing was kept of it; the job is as it was."


def test_what_tell_raises_ends_the_search_and_nothing_is_kept():
    job = Car(car())

    def tell(done: int, of: int) -> None:
        if done:
            raise Stopped(done, of)

    with pytest.raises(Stopped) as stopped:
        job.check(tell)
    assert 0 < stopped.value.done <= stopped.value.of
    assert job.check().raw_states == 64


def test_an_unknown_variable_is_refused_by_python_as_well():
    with pytest.raises(OutOfReach) as refused:
        Car(car()).check(fixed={"SW9": "off"})
    assert "SW1" in refused.value.allowed


@pytest.mark.long
def test_ctrl_c_ends_a_long_check_in_a_moment_with_a_sentence(tmp_path):
    words = [sys.executable, "-m", "loomwright", "check", "van", "--wrong"]
    run = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env={**os.environ})
    time.sleep(8.0)
    run.send_signal(signal.SIGINT)
    _, err = run.communicate(timeout=60.0)
    # a shell calls both 130; the second where it came while something was still being loaded
    assert run.returncode in (130, -signal.SIGINT)
    assert "stopped" in err
    assert "Traceback" not in err
