"""A job that is done makes the next quote better: the operations of a slow stage take longer in it, and only those."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.handover.quote_learnt import learnt_csv, materials_says
from loomwright.job.reading import job_from_text
from tests.handover.small_quote import sheets


def car(minutes: dict[str, float], *more: dict[str, str]) -> Car:
    rows = [{"stage": stage, "minutes": f"{spent:g}"} for stage, spent in minutes.items()]
    made = sheets(hours=rows)
    return Car(job_from_text({**made, "vehicle": [*made["vehicle"], *more]}))


def usual(of: Car, stage: str) -> float:
    return next(one.quoted.usual_minutes for one in of.hours.stages if one.stage == stage)


def test_the_next_quote_of_the_same_job_lies_nearer_to_what_was_spent() -> None:
    spent = 1.8 * usual(car({}), "loom")
    learnt = car({"loom": spent}).learnt
    rows = [{"name": name, "value": value} for name, value in (one.row for one in learnt.minutes)]
    before, after = usual(car({}), "loom"), usual(car({}, *rows), "loom")
    assert before < after < spent
    assert after == pytest.approx(before * 1.8**0.5, rel=0.05)
    assert abs(spent - after) < 0.6 * abs(spent - before)
    untouched = [one.stage for one in car({}).hours.stages if one.stage != "loom"]
    assert untouched
    for stage in untouched:
        assert usual(car({}, *rows), stage) == pytest.approx(usual(car({}), stage))


def test_a_job_that_went_as_quoted_and_a_stage_without_hours_teach_nothing() -> None:
    assert car({}).learnt.minutes == ()
    assert car({"loom": usual(car({}), "loom")}).learnt.minutes == ()


def test_what_is_learnt_is_written_as_rows_of_the_next_sheet() -> None:
    text = learnt_csv(car({"loom": 2.0 * usual(car({}), "loom")}).learnt)
    heading, *rows = text.splitlines()
    assert heading == "name,value"
    assert rows
    assert all(float(row.removeprefix("minutes_").split(",")[1]) > 0.0 for row in rows)


def test_materials_are_held_against_the_quote_once_somebody_says_what_they_came_to() -> None:
    quoted = car({}).learnt.materials.quoted_price
    assert quoted > 0.0
    assert "nobody has said yet" in materials_says(car({}).learnt.materials)
    spent = {"name": "materials_spent_price", "value": f"{1.25 * quoted:g}"}
    told = car({}, spent).learnt.materials
    assert told.factor == pytest.approx(1.25, rel=1e-3)
    assert "1.25 times" in materials_says(told)


def test_what_materials_came_to_moves_the_next_quote_half_the_way() -> None:
    quoted = car({}).learnt.materials.quoted_price
    spent = {"name": "materials_spent_price", "value": f"{1.44 * quoted:g}"}
    assert "materials_factor,1.2\n" in learnt_csv(car({}, spent).learnt)
    next_car = car({}, {"name": "materials_factor", "value": "1.2"})
    assert next_car.learnt.materials.quoted_price == pytest.approx(1.2 * quoted)
    # that one comes to 1.44 times again: 1.2 of what was quoted now, and the next but one is nearer still
    again = car({}, {"name": "materials_factor", "value": "1.2"}, spent).learnt.materials
    assert again.row == ("materials_factor", "1.31")
    assert car({}, {"name": "materials_spent_price", "value": f"{quoted:g}"}).learnt.materials.row is None
