"""Ways of connectors, fuses and their holes, and a recipe kept from a circuit, on the command line."""

from __future__ import annotations

import pytest

from loomwright.brief.brief import briefed
from loomwright.sheets.opening import write_job
from tests.allocation.test_fuse_ways import box
from tests.allocation.through_plug import through_plug

FUSES = {"F1": ("BUS.3", "10"), "F2": ("BUS.4", "10"), "F3": ("BUS.5", "10")}
LOADS = {f"M{number}": ("motor", "nose_left", f"F{number}") for number in range(1, 4)}


@pytest.fixture
def car(tmp_path):
    """Three motors, each on a fuse, through a connector of eight ways; the box has two holes."""
    path = tmp_path / "car"
    write_job(through_plug(box(LOADS, FUSES), tuple(LOADS), holes=2), path)
    return path


def test_cavities_tells_ways_spares_and_why(ask, car):
    told = ask("cavities", car)
    assert told.code == 0
    assert "X1: 2 spare ways" in told.out
    assert "No answer is better" in told.out
    plain = ask("cavities", car, "X1", "--json").plain
    assert set(plain) >= {"status", "proved", "ways", "spares", "moved", "moved_plug", "conflict", "fixed", "goals"}
    assert plain["status"] == "fits"
    assert all(way["says"] for way in plain["ways"].values())
    assert len(plain["ways"]) + len(plain["spares"]["X1"]) == 8


def test_a_connector_that_is_none_is_refused_with_those_there_are(ask, car):
    assert any("X1" in one["allowed"] for one in ask("cavities", car, "X9", "--json").refused)


def test_fuse_ways_tells_what_too_few_holes_move_and_keep_leads_it_there(ask, car):
    told = ask("fuse-ways", car)
    assert told.code == 1, "something has to move"
    assert "box has 2 holes and 3 fuses" in told.out
    plain = ask("fuse-ways", car, "--json").plain
    assert len(plain["moved"]) == 1
    assert len({one["fuse"] for one in plain["branches"].values()}) == 2
    kept = ask("fuse-ways", car, "--keep", "--json")
    assert kept.code == 0
    assert kept.plain["written"] == str(car)
    again = ask("fuse-ways", car, "--json")
    assert (again.code, again.plain["moved"], again.plain["new"]) == (0, [], [])


def test_an_example_is_not_written_to(ask):
    assert ask("fuse-ways", "tourer", "--keep", "--json").refused


def test_a_circuit_is_kept_as_a_recipe_and_offered_with_the_rest(ask, tmp_path):
    job, shelf = tmp_path / "job", tmp_path / "shelf"
    write_job(briefed({"cylinders": "1", "gearbox": "shifted by hand"}).job, job)
    tried = ask("save-recipe", job, "fan1", "our_fan", "--try", "--shelf", shelf)
    assert tried.out.startswith("[our_fan]")
    assert not shelf.exists()
    kept = ask("save-recipe", job, "fan1", "our_fan", "--title", "fan as we fit it", "--shelf", shelf, "--json")
    assert kept.plain["written"] == str(shelf / "recipes.toml")
    assert "fan as we fit it" in ask("add", "--shelf", shelf).out
    assert "at_radiator" in ask("add", "our_fan", "--shelf", shelf).out
    assert ask("save-recipe", job, "fan1", "our_fan", "--shelf", shelf, "--json").refused
