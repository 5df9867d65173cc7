"""`loomwright splices`: words, JSON, exit codes, and what is written."""

from __future__ import annotations

from tests.routes.looms import run_rows

SHEETS = {
    "places": [{"id": name} for name in "abcm"],
    "runs": run_rows(("R1 a m 1000", "R2 b m 1000", "R3 c m 400")),
    "parts": [
        {"id": "BAT", "kind": "battery"},
        *({"id": f"L_{name}", "kind": "lamp", "place": name} for name in "abcm"),
        {"id": "S1", "kind": "splice", "place": "a", "fitted": "new"},
    ],
    "wires": [
        {"id": f"W{n}", "from": f"L_{name}.1", "to": f"S1.{n}", "size_mm2": "1", "fitted": "new"}
        for n, name in enumerate("abc", 1)
    ],
}


def test_it_tells_the_place_of_least_copper_and_writes_it(ask, job):
    folder = job(SHEETS)
    told = ask("splices", folder, "--json")
    one = told.plain["splices"]["S1"]
    assert (told.code, one["now"], one["best"]["place"], one["moves"], one["proved"]) == (0, "a", "m", True, True)
    assert one["best_g"] < one["now_g"]
    assert ask("splices", folder, "--adopt").code == 0
    assert ask("splices", folder, "--json").plain["splices"]["S1"]["moves"] is False


def test_a_splice_that_is_not_there_is_refused(ask, job):
    assert ask("splices", job(SHEETS), "S9", "--json").refused
