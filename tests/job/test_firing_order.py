"""A firing order names every cylinder once, as many as the engine has; companions lie half of it apart."""

from __future__ import annotations

import pytest

from loomwright.job.firing_order import companions, read_firing_order
from loomwright.job.reading import job_from_text
from loomwright.refusals import BadDocument, OutOfReach

BATTERY = [{"id": "B1", "kind": "battery"}]


@pytest.mark.parametrize("text", ["1-3-4-4", "2-3-4", "0-1-2", "1-2-3-5", "one", "", "1-3-4-9"])
def test_a_cylinder_missing_or_twice_is_no_firing_order(text: str) -> None:
    with pytest.raises(OutOfReach):
        read_firing_order(text)


@pytest.mark.parametrize("text", ["1-3-4-2", "1 3 4 2", "1,3,4,2", "1342"])
def test_it_may_be_written_in_several_ways(text: str) -> None:
    assert read_firing_order(text) == (1, 3, 4, 2)


def test_companions_are_half_the_order_apart_and_an_odd_number_has_none() -> None:
    assert companions((1, 8, 4, 3, 6, 5, 7, 2)) == {1: 6, 6: 1, 8: 5, 5: 8, 4: 7, 7: 4, 3: 2, 2: 3}
    assert companions((1, 2, 4, 5, 3)) == {}


def told(order: str, cylinders: str) -> str:
    rows = [{"name": "cylinders", "value": cylinders}, {"name": "firing_order", "value": order}]
    with pytest.raises(BadDocument) as caught:
        job_from_text({"parts": BATTERY, "vehicle": rows})
    (problem,) = caught.value.problems
    assert (problem.sheet, problem.row, problem.column) == ("vehicle", 3, "value")
    return str(caught.value)


def test_the_vehicles_order_is_held_against_its_cylinders() -> None:
    assert "each of the 6 cylinders once: the row cylinders says 6" in told("1-3-4-2", "6")
    assert "these are 4" in told("1342", "6")
    assert "every cylinder once, as 1-3-4-2" in told("1-3-4-4", "4")


def test_an_order_of_as_many_cylinders_is_taken_and_a_name_nearly_right_is_told() -> None:
    rows = [{"name": "cylinders", "value": "4"}, {"name": "firing_order", "value": "1-3-4-2"}]
    assert job_from_text({"parts": BATTERY, "vehicle": rows}).vehicle[1].value == "1-3-4-2"
    with pytest.raises(BadDocument, match="Write firing_order"):
        job_from_text({"parts": BATTERY, "vehicle": [{"name": "fireing_order", "value": "1-3-4-2"}]})
