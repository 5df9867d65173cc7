"""`prove`: the plan told, readings taken down typed and from a meter, what cannot be asked about and nothing lost."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest

from loomwright.sheets.opening import open_job
from tests.instruments.socket_meter import meter_on_a_socket

SIMULATOR = f"{Path(__file__).parents[1] / 'instruments' / 'bench.yaml'}@sim"
STEADY = "TCPIP::192.0.2.1::5025::SOCKET"
SHEETS = {
    "parts": [
        {"id": "BAT", "kind": "battery", "place": "bay"},
        {"id": "F1", "kind": "fuse", "settings": "rating_a=10", "place": "bay"},
        {"id": "SW", "kind": "switch", "place": "cabin"},
        {"id": "LB", "kind": "lamp", "settings": "watt=21", "place": "rear"},
        {"id": "E1", "kind": "earth_point", "place": "rear"},
        {"id": "EB", "kind": "earth_point", "place": "bay"},
    ],
    "places": [
        {"id": "bay", "x_mm": "0", "y_mm": "0", "z_mm": "0"},
        {"id": "cabin", "x_mm": "1500", "y_mm": "0", "z_mm": "0"},
        {"id": "rear", "x_mm": "4000", "y_mm": "0", "z_mm": "0"},
    ],
    "wires": [
        {"id": "W1", "from": "BAT.+", "to": "F1.1"},
        {"id": "W2", "from": "F1.2", "to": "SW.1"},
        {"id": "W3", "from": "SW.2", "to": "LB.1"},
        {"id": "W4", "from": "LB.2", "to": "E1.1"},
        {"id": "W5", "from": "EB.1", "to": "BAT.-"},
    ],
}
for _wire in SHEETS["wires"]:
    _wire |= {"size_mm2": "1", "length_mm": "1000", "colour": "BK"}
LIT = "live/LB.1/SW.on"


def test_the_plan_is_told_stage_by_stage_and_as_json(ask, job) -> None:
    folder = job(SHEETS)
    told = ask("prove", folder)
    assert told.code == 0
    for title in ("Dead tests", "Power-up", "Live tests", "Earths under load"):
        assert title in told.out
    plain = ask("prove", folder, "--json").plain
    assert {"test", "stage", "point", "expected", "low", "high", "unit"} <= set(plain["tests"][0])
    ids = [one["test"] for one in plain["tests"]]
    assert LIT in ids
    assert len(ids) == len(set(ids))
    assert "power/F1/SW.on" in ids, "the fuse of a lamp is asked with its switch on"


def test_a_reading_is_taken_down_with_its_verdict_and_a_re_test_stands_beside_it(ask, job) -> None:
    folder = job(SHEETS)
    about = ("--who", "A", "--instrument", "pocket meter")
    first = ask("prove", folder, "--take", f"{LIT}=0.4 V", *about, "--warmth", "hot")
    assert (first.code, "failed" in first.out) == (1, True)
    assert "loomwright locate" in first.out
    assert ask("prove", folder, "--take", f"{LIT}=12.4", *about, "--warmth", "cold").code == 0
    rows = open_job(folder).proofs
    assert [(one.value, one.verdict, one.warmth) for one in rows] == [(0.4, "failed", "hot"), (12.4, "passed", "cold")]
    assert all((one.who, one.instrument) == ("A", "pocket meter") and one.time for one in rows)
    plain = ask("prove", folder, "--json").plain
    told = next(one for one in plain["tests"] if one["test"] == LIT)
    assert [(one["value"], one["warmth"], one["instrument"], one["who"]) for one in told["read"]] == [
        (0.4, "hot", "pocket meter", "A"),
        (12.4, "cold", "pocket meter", "A"),
    ]


@pytest.mark.parametrize(
    ("typed", "first"),
    [(f"{LIT}=0,1", "W2"), ("dead/body/SW.2=0.1", "W3"), ("dead/ends/W3=0L", "W3")],
)
def test_what_failed_is_handed_to_the_fault_finder_by_the_words_that_are_told(ask, job, typed, first) -> None:
    folder = job(SHEETS)
    told = ask("prove", folder, "--take", typed)
    assert told.code == 1
    words = shlex.split(told.out.partition("Where is it: loomwright ")[2])
    assert words[:2] == ["locate", str(folder)]
    found = ask(*words, "--json")
    assert found.code == 0
    assert first in found.plain["suspects"][0]["at"]
    reading = ask("prove", folder, "--take", typed, "--json").plain["reading"]
    assert words[3].startswith(reading["point"])


def test_power_is_held_off_where_a_dead_test_failed(ask, job) -> None:
    folder = job(SHEETS)
    ask("prove", folder, "--take", "dead/body/SW.2=0.1")
    said = "No power yet: dead/body/SW.2 failed."
    assert said in ask("prove", folder, "--take", "power/F1/lamp=dark").out
    dead, _, later = ask("prove", folder).out.partition("Power-up:")
    assert said not in dead
    assert said in later


def test_a_record_from_before_a_change_of_the_sheets_is_to_be_taken_again(ask, job) -> None:
    folder = job(SHEETS)
    ask("prove", folder, "--take", "dead/ends/W4=0.1")
    again = "to be taken again: the sheets have changed"
    assert again not in ask("prove", folder).out
    sheet = Path(folder) / "wires.csv"
    sheet.write_text(sheet.read_text(encoding="utf-8").replace("E1.1", "EB.1"), encoding="utf-8")
    assert [one.split()[0] for one in ask("prove", folder).out.splitlines() if again in one] == ["dead/ends/W4"]


@pytest.mark.parametrize(
    "typed", [f"{LIT}=12 ohm", f"{LIT}=much", f"{LIT}=-", "live/NOBODY.1/rest=12", LIT, f"{LIT}=125", "dead/ends/W1=45"]
)
def test_what_cannot_be_is_refused_with_words_and_nothing_is_written(ask, job, typed) -> None:
    folder = job(SHEETS)
    told = ask("prove", folder, "--take", typed)
    assert told.code == 2
    assert told.err.strip()
    assert open_job(folder).proofs == ()


def test_a_reading_that_was_asked_about_is_kept_where_it_is_insisted_on(ask, job) -> None:
    folder = job(SHEETS)
    assert ask("prove", folder, "--take", f"{LIT}=25", "--anyway").code == 1
    assert [one.value for one in open_job(folder).proofs] == [25.0]


def test_a_meter_is_held_and_its_reading_recorded_at_the_test(ask, job) -> None:
    folder = job(SHEETS)
    told = ask("prove", folder, "--take", LIT, "--from", STEADY, "--visa", SIMULATOR)
    assert told.code == 0
    assert told.out.startswith("! ")
    row = open_job(folder).proofs[-1]
    assert (row.test, row.value, row.unit, row.verdict, row.instrument) == (
        *(LIT, 12.41, "V", "passed"),
        "Bench six digits",
    )
    wordy = ask("prove", folder, "--take", "power/F1/lamp", "--from", STEADY, "--visa", SIMULATOR)
    assert (wordy.code, len(open_job(folder).proofs)) == (2, 1)
    both = ask("prove", folder, "--take", f"{LIT}=12.4", "--from", STEADY, "--visa", SIMULATOR)
    assert (both.code, len(open_job(folder).proofs)) == (2, 1)


def test_a_meter_lost_mid_reading_at_a_test_leaves_the_records_as_they_were(ask, job) -> None:
    folder = job(SHEETS)
    ask("prove", folder, "--take", f"{LIT}=12.4")
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    with meter_on_a_socket(["12.30"], "hangs up") as address:
        told = ask("prove", folder, "--take", LIT, "--from", address)
    assert told.code == 2
    assert "It last showed 12.3 V" in told.err
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
