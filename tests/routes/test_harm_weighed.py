"""Runs that pass harm count as longer than they are: which way is taken, and how long the wire is all the same."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.routes.wire_routes import wire_routes
from loomwright.tables.kinds import load_kinds
from tests.routes.looms import between, loom

ROUND = ("R1 a b 1000", "R2 a c 900", "R3 c b 900")


NEARER = ("R1 a b 1000", "R2 a c 700", "R3 c b 700")


def way(wire=None, circuits=(), lines=ROUND, **cells):
    """The runs from a to b, and the length along them, with R1 changed."""
    job = loom(lines, [wire or between("W1", "a", "b")], circuits=circuits)
    rows = tuple(replace(run, **cells) if run.id == "R1" else run for run in job.runs)
    route = wire_routes(replace(job, runs=rows), load_kinds()).wires["W1"]
    return route.runs, route.along_mm


def test_without_harm_the_shortest_is_taken():
    assert way() == (("R1",), 1000.0)


@pytest.mark.parametrize("word", ["hot", "moving", "fuel"])
def test_a_bare_run_past_harm_is_gone_round_and_the_wire_is_as_long_as_its_runs(word):
    assert way(hazards=(word,)) == (("R2", "R3"), 1800.0)


@pytest.mark.parametrize("word", ["wet", "sharp"])
def test_lesser_harm_is_worth_half_as_much(word):
    # 1000 * 1.5 is less than 1800
    assert way(hazards=(word,)) == (("R1",), 1000.0)
    assert way(hazards=("wet", "sharp")) == (("R2", "R3"), 1800.0)


def test_a_sleeve_takes_the_harm_away_and_tape_does_not():
    assert way(hazards=("hot",), covering="conduit") == (("R1",), 1000.0)
    assert way(hazards=("hot",), covering="cloth tape") == (("R2", "R3"), 1800.0)


def test_where_there_is_no_way_round_it_is_taken_as_it_is():
    job = loom(("R1 a b 1000",), [between("W1", "a", "b")])
    rows = (replace(job.runs[0], hazards=("hot", "moving")),)
    assert wire_routes(replace(job, runs=rows), load_kinds()).wires["W1"].along_mm == 1000.0


def test_a_sensor_wire_is_kept_off_noise_and_others_and_screened_ones_are_not():
    circuits = [{"id": "s", "class": "sensor"}, {"id": "l", "class": "lighting"}]
    sensor, lamp = between("W1", "a", "b", circuit="s"), between("W1", "a", "b", circuit="l")
    # 1000 * 1.5 is more than 1400 and less than 1800
    assert way(sensor, circuits, NEARER, noise="coils") == (("R2", "R3"), 1400.0)
    assert way(sensor, circuits, ROUND, noise="coils") == (("R1",), 1000.0)
    assert way({**sensor, "screen": "S1"}, circuits, NEARER, noise="coils") == (("R1",), 1000.0)
    assert way(lamp, circuits, NEARER, noise="coils") == (("R1",), 1000.0)


def test_via_is_followed_past_any_harm():
    assert way(between("W1", "a", "b", via="R1"), hazards=("hot", "moving")) == (("R1",), 1000.0)
