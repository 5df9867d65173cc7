"""Rows as data frames: typed columns, headings kept where there is no row, nothing guessed."""

from __future__ import annotations

import polars as pl
import pytest

from loomwright.car import Car
from loomwright.handover.answer_rows import JOB_ROWS, STATE_ROWS
from loomwright.handover.plain_rows import Rows, typed_headings
from loomwright.job.reading import job_from_text
from loomwright.job.schema import SHEETS
from loomwright.quantities import ENDINGS, ending_of
from loomwright.refusals import OutOfReach
from loomwright.writers.frames import frame
from tests.handover.van import rows


@pytest.fixture(scope="module")
def van() -> Car:
    """The small van."""
    return Car(job_from_text(rows()))


@pytest.mark.parametrize("name", [*JOB_ROWS, *STATE_ROWS, *SHEETS])
def test_every_table_becomes_a_frame_and_comes_back_as_it_was(van, name):
    found = van.rows(name)
    made = frame(found)
    assert made.columns == list(found.columns)
    assert made.height == len(found)
    assert made.to_dicts() == found


def test_columns_are_typed_by_what_they_are():
    made = frame(Rows(typed_headings("wire size_mm2:float ways:int done:bool"), [("W1", None, None, None)]))
    assert dict(made.schema) == {"wire": pl.String, "size_mm2": pl.Float64, "ways": pl.Int64, "done": pl.Boolean}


def test_no_row_keeps_headings_and_types(van):
    made = frame(van.rows("bundles"))
    assert made.height == 0
    assert made.schema["bundle_mm"] == pl.Float64
    assert made.schema["conductors"] == pl.String


def test_every_column_of_figures_says_its_unit_or_is_a_whole_answer(van):
    named = {"volts", "amps", "price"}  # whole answers, and the shop's currency
    for name in (*JOB_ROWS, *STATE_ROWS, *SHEETS):
        made = frame(van.rows(name))
        if "unit" in made.columns:
            continue  # it stands beside the figures
        beside = {heading for heading in made.columns if f"{heading}_unit" in made.columns}
        figures = [heading for heading, kind in made.schema.items() if kind == pl.Float64 and heading not in beside]
        assert [heading for heading in figures if ending_of(heading) not in ENDINGS and heading not in named] == []


def test_a_frame_can_be_asked_like_any_other(van):
    wires = frame(van.rows("wires"))
    by_size = wires.group_by("size_mm2").len().sort("size_mm2")
    assert by_size.filter(pl.col("size_mm2") == 25.0)["len"].to_list() == [2]
    volts = frame(van.rows("volts", key="run"))
    assert volts.filter(pl.col("floating"))["volts"].null_count() == volts["floating"].sum()


def test_rows_of_another_making_are_typed_by_what_stands_in_them():
    made = frame([{"a": 1, "b": "x"}, {"a": 2.5, "b": None}, {"a": None, "b": "y", "c": True}])
    assert dict(made.schema) == {"a": pl.Float64, "b": pl.String, "c": pl.Boolean}
    assert made["c"].to_list() == [None, None, True]


def test_a_column_of_nothing_is_text():
    assert frame([{"a": None}]).schema["a"] == pl.String
    assert frame([]).shape == (0, 0)


@pytest.mark.parametrize("cell", [["W1"], {"a": 1}, 1j, ("W1",)])
def test_a_cell_that_is_no_plain_value_is_refused(cell):
    with pytest.raises(OutOfReach, match="column a"):
        frame([{"a": cell}])


def test_text_among_figures_is_refused_not_turned():
    with pytest.raises(OutOfReach, match="float str"):
        frame([{"a": 1.5}, {"a": "1.5"}])
    with pytest.raises(OutOfReach, match="bool int"):
        frame([{"a": True}, {"a": 2}])
