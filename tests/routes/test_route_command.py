"""`loomwright route`: words, JSON, one wire, keeping and adopting, and the example that is left as it is."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from loomwright.cli.keeping import write_back
from loomwright.cli.main import main
from loomwright.sheets.csv_folder import open_folder, write_folder
from loomwright.sheets.opening import open_with_kept, write_job
from tests.routes.looms import between, loom

RUNS = ("R08 box bulkhead 780", "R11 bulkhead kick 460", "R2 box nose 900")
WIRES = (
    between("W1", "box", "kick"),
    between("W2", "kick", "box", length_mm="1500"),
    between("W3", "box", "box"),
    between("W4", "box", "nose", fitted="kept", length_mm="990"),
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_folder(loom(RUNS, WIRES), tmp_path / "job")
    return tmp_path / "job"


@pytest.fixture
def ask(capsys):
    """Runs the command; gives its code, what it said, and what it said when it refused."""

    def run(*words: object) -> tuple[int, str, str]:
        code = main(["route", *(str(word) for word in words)])
        told = capsys.readouterr()
        return code, told.out, told.err

    return run


def cells(folder: Path, sheet: str) -> list[dict[str, str]]:
    with (folder / f"{sheet}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_every_wire_is_told_with_its_way_and_blank_lengths_are_marked(ask, folder):
    code, out, _ = ask(folder)
    lines = [" ".join(line.split()) for line in out.splitlines()]
    assert code == 0
    assert "W1 L_box.1 to L_kick.2 1360 mm, blank R08 R11" in lines
    assert "W2 L_kick.1 to L_box.2 1500 mm R11 R08" in lines
    assert "W3 L_box.1 to L_box.2 240 mm, blank within box" in lines
    # two wires of 1 mm2, 2.1 mm thick each
    assert "R08 – 2 4.2 mm" in lines
    assert "4 wires routed, 0 not; 2 lengths blank." in out


def test_the_answer_as_data_has_the_shape_of_the_contract(ask, folder):
    code, out, _ = ask(folder, "--json")
    told = json.loads(out)
    assert code == 0
    assert (told["wires"]["W1"]["length_mm"], told["wires"]["W1"]["runs"]) == (1360.0, ["R08", "R11"])
    assert (told["wires"]["W2"]["length_mm"], told["wires"]["W2"]["by_route_mm"]) == (1500.0, 1360.0)
    assert [one["stands"] for one in told["wires"].values()] == ["blank", "typed", "blank", "typed"]
    run = told["runs"]["R08"]
    assert (run["conductors"], run["bundle_mm"], run["covering"], run["typical"]) == (["W1", "W2"], 4.2, "", True)
    assert told["unrouted"] == {}
    assert told["findings"] == []


def test_one_wire_is_told_with_its_sum(ask, folder):
    code, out, _ = ask(folder, "W1")
    assert code == 0
    assert "W1 (L_box.1 to L_kick.2): box – R08 – bulkhead – R11 – kick." in out
    assert "R08 780 mm + R11 460 mm + 2 × 60 mm at the ends (typical) = 1360 mm, up to the next 10 mm." in out
    assert "W2" not in out
    told = json.loads(ask(folder, "W1", "--json")[1])
    assert (list(told["wires"]), list(told["runs"])) == (["W1"], ["R08", "R11"])


def test_a_wire_that_is_not_there_is_refused_with_the_nearest(ask, folder):
    code, _, err = ask(folder, "W11")
    assert code == 2
    assert "nearest: W1" in err


def test_keeping_writes_decisions_with_their_reasons_and_leaves_the_cells_blank(ask, folder):
    code, out, _ = ask(folder, "--keep")
    assert code == 0
    assert f"2 lengths kept as decisions in {folder}." in out
    assert [(row["row"], row["value"]) for row in cells(folder, "decisions")] == [("W1", "1360"), ("W3", "240")]
    assert cells(folder, "reasons")[0]["says"].startswith("R08 780 mm + R11 460 mm")
    assert [row["length_mm"] for row in cells(folder, "wires")] == ["", "1500", "", "990"]
    assert json.loads(ask(folder, "--json")[1])["wires"]["W1"]["stands"] == "decided"


def test_keeping_one_wire_keeps_that_alone(ask, folder):
    told = json.loads(ask(folder, "W3", "--keep", "--json")[1])
    assert (told["written"], told["lengths"]) == (str(folder), ["W3"])
    assert [row["row"] for row in cells(folder, "decisions")] == ["W3"]


def test_adopting_types_the_lengths_in_and_keeps_no_decision(ask, folder):
    ask(folder, "W1", "--keep")
    code, out, _ = ask(folder, "--adopt")
    assert code == 0
    assert f"2 lengths written into the sheet wires in {folder}." in out
    assert [row["length_mm"] for row in cells(folder, "wires")] == ["1360", "1500", "240", "990"]
    job = open_folder(folder)
    assert (job.decisions, job.reasons) == ((), ())


def test_a_kept_length_that_is_stale_is_told_and_keeping_mends_it(ask, folder):
    ask(folder, "--keep")
    rows = (folder / "runs.csv").read_text(encoding="utf-8")
    (folder / "runs.csv").write_text(rows.replace("780", "800"), encoding="utf-8")
    told = json.loads(ask(folder, "--json")[1])["wires"]
    assert [(one["length_mm"], one["by_route_mm"], one["stale"]) for one in (told["W1"], told["W3"])] == [
        (1360.0, 1380.0, True),
        (240.0, 240.0, False),
    ]
    assert "have changed: W1" in ask(folder)[1]
    assert "now it is 1380 mm" in ask(folder, "W1")[1]
    ask(folder, "--keep")
    assert json.loads(ask(folder, "--json")[1])["wires"]["W1"]["length_mm"] == 1380.0


def test_an_example_is_not_written_to_and_the_mend_is_told(ask):
    code, out, err = ask("van", "--keep")
    assert (code, out) == (2, "")
    assert "loomwright import van my_van" in err
    assert "import van-as-drawn my_van_as_drawn" in ask("van-as-drawn", "--adopt")[2]


def test_keeping_and_adopting_at_once_is_refused(ask, folder):
    assert ask(folder, "--keep", "--adopt")[0] == 2


def test_a_length_that_cannot_reach_leaves_with_1(ask, tmp_path):
    write_folder(loom(RUNS, [between("W1", "box", "kick", length_mm="600")]), tmp_path / "short")
    code, out, _ = ask(tmp_path / "short")
    assert code == 1
    assert "WARNING RTE-2  W1" in out


def test_wires_that_are_not_led_are_told_with_why(ask, tmp_path):
    strap = {"id": "W1", "from": "body", "to": "engine", "length_mm": "300"}
    adrift = {"id": "W2", "from": "BAT.+", "to": "L_box.1"}
    write_folder(loom(RUNS, [strap, adrift]), tmp_path / "job")
    code, out, _ = ask(tmp_path / "job")
    assert code == 1
    assert "Not routed: W1 (1 wire): both its ends are at metals" in out
    assert "WARNING RTE-1  W2" in out
    told = json.loads(ask(tmp_path / "job", "--json")[1])
    assert {name: one["cause"] for name, one in told["unrouted"].items()} == {"W1": "metals", "W2": "place"}


def test_a_size_that_no_table_has_and_one_that_is_blank_are_told_at_the_bundle(ask, tmp_path):
    wires = [between("W1", "box", "kick", size_mm2="95"), between("W2", "box", "nose", size_mm2="")]
    write_folder(loom(RUNS, wires), tmp_path / "job")
    out = ask(tmp_path / "job")[1]
    assert "not known: no table has the size of W1" in out
    assert "W2 taken as the thinnest of the class" in out


def test_the_demonstration_is_led_in_whole(ask):
    code, out, _ = ask("van", "--json")
    told = json.loads(out)
    assert code == 0
    assert told["unrouted"] == {}
    assert set(told["runs"]["R08"]["conductors"]) >= {"W145", "W203"}
    assert all(run["bundle_least_mm"] <= run["bundle_mm"] <= run["bundle_most_mm"] for run in told["runs"].values())


@pytest.mark.parametrize("ending", ["", ".json", ".loomjob"])
def test_a_changed_job_goes_back_into_the_container_it_came_from(tmp_path, ending):
    path = tmp_path / f"job{ending}"
    kept = {"photos/front.jpg": b"a photo"} if ending == ".loomjob" else {}
    write_job(loom(RUNS, WIRES), path, kept)
    longer = loom(RUNS, [{**row, "length_mm": "1700"} for row in WIRES])
    write_back(longer, path)
    opened = open_with_kept(path)
    assert opened.job == longer
    assert {name: opened.kept[name] for name in kept} == kept
