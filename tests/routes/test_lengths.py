"""What is added to the runs: typical figures or the job's own, the twist, the step."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from loomwright.job.rows import Wire
from loomwright.refusals import BadDocument, OutOfReach
from loomwright.routes.lengths import core_mm, length_figures, rounded_mm, twist_mm
from tests.routes.looms import loom

ALL = {"end_allowance_mm": "100", "within_place_mm": "90 mm", "earth_stud_mm": "0", "length_step_mm": "5"}


def test_figures_are_typical_where_the_vehicle_gives_none():
    found = length_figures(loom())
    assert (found.end_allowance_mm, found.within_place_mm, found.earth_stud_mm, found.length_step_mm) == (
        60.0,
        120.0,
        150.0,
        10.0,
    )
    assert found.typical == set(ALL)


def test_figures_of_the_vehicle_stand_before_typical_ones_nought_included():
    found = length_figures(loom(vehicle=ALL))
    assert (found.end_allowance_mm, found.within_place_mm, found.earth_stud_mm, found.length_step_mm) == (
        100.0,
        90.0,
        0.0,
        5.0,
    )
    assert found.typical == frozenset()
    assert length_figures(loom(vehicle={"length_step_mm": "5"})).typical == set(ALL) - {"length_step_mm"}


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("end_allowance_mm", "-1"),
        ("end_allowance_mm", "2001"),
        ("within_place_mm", "far"),
        ("earth_stud_mm", "3 m"),
        ("length_step_mm", "0"),
        ("length_step_mm", "0.5"),
    ],
)
def test_a_figure_that_cannot_be_is_refused_when_the_sheets_are_read(name, value):
    with pytest.raises(BadDocument) as refused:
        loom(vehicle={name: value})
    (problem,) = refused.value.problems
    assert (problem.sheet, problem.column, problem.found) == ("vehicle", "value", value)


@pytest.mark.parametrize(
    ("length_mm", "step_mm", "up_mm"),
    [(1360.0, 10.0, 1360.0), (1360.001, 10.0, 1370.0), (1360.0000000001, 10.0, 1360.0), (1.0, 25.0, 25.0)],
)
def test_a_length_goes_up_to_the_next_step_and_dust_does_not_count(length_mm, step_mm, up_mm):
    assert rounded_mm(length_mm, step_mm=step_mm) == up_mm


def test_a_wire_is_one_step_long_at_least():
    assert rounded_mm(0.0, step_mm=10.0) == 10.0


def test_a_twisted_core_is_as_long_as_a_string_wound_round_the_other():
    # the string itself, walked in small steps: middles go round on a circle of the core's own diameter
    turns, steps = 40, 100_000
    corners = (
        (math.cos(angle), math.sin(angle), 30.0 * angle / math.tau)
        for angle in (math.tau * turns * step / steps for step in range(steps + 1))
    )
    points = [(1.2 * x, 1.2 * y, z) for x, y, z in corners]
    walked_mm = sum(math.dist(one, other) for one, other in pairwise(points))
    assert 1200.0 + twist_mm(along_mm=1200.0, core_mm=2.4, lay_mm=30.0) == pytest.approx(walked_mm, rel=1e-5)


def test_a_tighter_twist_and_a_thicker_core_take_more():
    assert twist_mm(along_mm=1000.0, core_mm=2.0, lay_mm=20.0) > twist_mm(along_mm=1000.0, core_mm=2.0, lay_mm=30.0)
    assert twist_mm(along_mm=1000.0, core_mm=3.0, lay_mm=30.0) > twist_mm(along_mm=1000.0, core_mm=2.0, lay_mm=30.0)


def test_a_wire_without_a_size_counts_as_the_thinnest_of_its_class():
    # 0.5 mm2 in a lighting circuit, 0.35 mm2 in a signal loom
    classes = {"lamps": "lighting", "probe": "sensor"}
    assert core_mm(Wire(id="W1", size_mm2=2.5), classes) == (3.0, False)
    assert core_mm(Wire(id="W1", circuit="lamps"), classes) == (1.6, True)
    assert core_mm(Wire(id="W1", circuit="probe"), classes) == (1.4, True)
    assert core_mm(Wire(id="W1"), classes) == (1.6, True)
    assert core_mm(Wire(id="W1", size_mm2=95.0), classes) == (None, False)


def test_the_figures_of_a_job_that_was_never_read_are_refused_too():
    from dataclasses import replace

    from loomwright.job.rows import VehicleProperty

    job = replace(loom(), vehicle=(VehicleProperty(name="length_step_mm", value="none"),))
    with pytest.raises(OutOfReach):
        length_figures(job)
