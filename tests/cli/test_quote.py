"""`loomwright quote` and `loomwright hours`: the shape of the answers, exit codes, the paper, what is refused."""

from __future__ import annotations

import pytest

from tests.cli.conftest import put
from tests.handover.small_quote import SHEETS, sheets


def test_the_quote_is_told_as_data(ask, job):
    told = ask("quote", job(sheets()), "--json")
    assert told.code == 0
    assert set(told.plain["parts"]) == {"one", "two"}
    one = told.plain["parts"]["one"]
    assert one["sum_price"] == {"least": 70.51, "usual": 89.0, "most": 129.47}  # 89 - sqrt(342), 89 + sqrt(1638)
    assert one["stages"]["arrival"]["work"][0]["operation"] == "vehicle_taken_in"
    assert told.plain["parts"]["two"]["no_price"] == ["fuse blade c, 10 A, red", "crimp terminal, not named"]
    assert told.plain["wishes"]["second"]["minutes"]["usual"] == 81.88


def test_one_part_can_be_asked_for_alone(ask, job):
    folder = job(sheets())
    assert set(ask("quote", folder, "--part", "one", "--json").plain["parts"]) == {"one"}
    said = ask("quote", folder, "--part", "two").out
    assert "Part two: The rest" in said
    assert "Part one" not in said


def test_the_quote_is_told_in_sentences(ask, job):
    folder = job(sheets())
    said = ask("quote", folder).out
    assert "sum          89 EUR (70 to 130)" in said
    # by hand in tests/handover/test_quote.py: 284.26 of work, 24 of materials
    for line in ("work         284 EUR", "materials    24 EUR, 2 of 5 items without a price", "sum          308 EUR"):
        assert line in said
    assert "Both parts together: 397 EUR" in said
    assert "Both parts" not in ask("quote", folder, "--part", "two").out
    made = "3 wires, 2 parts, 4.38 m of wire, 1.5 h (1 to 2.5), 94 EUR (74 to 141)"
    assert f"second (yes): A second lamp. {made}" in said


def test_the_quote_is_written_as_a_paper(ask, job, tmp_path):
    path = tmp_path / "papers" / "quote.pdf"
    told = ask("quote", job(sheets()), "--out", str(path), "--date", "2026-03-20", "--json")
    assert told.plain["written"] == str(path)
    assert path.read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("words", "column"),
    [(("--part", "three"), "--part"), (("--out", "quote.txt"), "--out"), (("--date", "soon"), "--date")],
)
def test_what_cannot_be_asked_is_refused(ask, job, words, column):
    refused = ask("quote", job(sheets()), *words, "--json").refused
    assert [problem["column"] for problem in refused] == [column]


OVER = [
    {"stage": "arrival", "minutes": "50", "who": "A"},
    {"stage": "arrival", "minutes": "50", "who": "B"},
]


def test_the_survey_of_no_old_wire_says_so_beside_its_hours(ask, job):
    [line] = [line for line in ask("quote", job()).out.splitlines() if line.split()[:1] == ["survey"]]
    assert line.endswith(", no old wire listed yet")


def test_the_survey_of_an_old_wire_is_hours_alone(ask, job):
    told = ask("quote", job({**SHEETS, "old_wires": [{"id": "O1"}]})).out
    assert "no old wire listed" not in told
    assert "No old wire is listed" not in told


def test_hours_leave_with_nought_where_nothing_is_over(ask, job):
    assert ask("hours", job({**SHEETS, "hours": OVER[:1]}), "--json").code == 0


def test_hours_leave_with_one_where_a_stage_is_over(ask, job):
    folder = job({**SHEETS, "hours": OVER})
    told = ask("hours", folder, "--json")
    assert told.code == 1
    arrival = told.plain["stages"][0]
    assert (arrival["spent_minutes"], arrival["over_minutes"], arrival["standing"]) == (100.0, 10.0, "over")
    assert arrival["by"] == {"A": 50.0, "B": 50.0}
    assert "over by 10 min" in ask("hours", folder).out


def test_a_car_just_in_without_a_battery_row_is_quoted(ask, tmp_path):
    job = put(
        tmp_path / "just_in",
        {
            "vehicle": [{"name": "rate_per_hour", "value": "60"}],
            "parts": [{"id": "L1", "kind": "lamp"}, {"id": "S1", "kind": "switch"}],
            "wires": [{"id": "W1", "from": "S1.2", "to": "L1.1", "fitted": "new"}],
        },
    )
    assert ask("check", job).code == 2, "it cannot be solved"
    quoted = ask("quote", job, "--json")
    assert quoted.code == 0
    assert quoted.plain["parts"]["one"]["minutes"]["usual"] > 0
