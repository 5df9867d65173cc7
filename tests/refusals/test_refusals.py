"""Refusals keep their facts, say them in one place, and survive being sent to another process."""

import pickle

import pytest

from loomwright import refusals
from loomwright.refusals import (
    BadDocument,
    NoAnswer,
    OutOfReach,
    Problem,
    Refusal,
    Stopped,
    TableFault,
    as_plain,
)

LENGTH = Problem(
    sheet="wires", row=7, column="length_mm", found="-40", allowed="0 or more", mend="Measure the run again."
)
EMPTY = Problem(sheet="", row=None, column="", found="", allowed="at least one sheet", mend="")

ALL = [
    BadDocument((LENGTH, EMPTY)),
    OutOfReach("size_mm2", 900.0, "0.22 to 120"),
    TableFault("fuses", 4, "min_s", "soon"),
    NoAnswer("what feeds F3", ("nothing leads to the battery.",)),
    Stopped(3, 9),
]


def test_a_problem_says_where_what_and_the_mend():
    assert LENGTH.says == ("sheet wires, row 7, length_mm: found '-40', allowed: 0 or more. Measure the run again.")
    assert EMPTY.says == "nothing there, allowed: at least one sheet."


@pytest.mark.parametrize("refusal", ALL, ids=lambda refusal: type(refusal).__name__)
def test_every_refusal_has_one_base_and_says_its_facts(refusal):
    assert isinstance(refusal, Refusal)
    said = str(refusal)
    assert said.endswith(".")
    for fact in refusal.args:
        if isinstance(fact, str | int | float):
            assert str(fact) in said


@pytest.mark.parametrize("refusal", ALL, ids=lambda refusal: type(refusal).__name__)
def test_a_refusal_is_the_same_after_a_trip_to_another_process(refusal):
    back = pickle.loads(pickle.dumps(refusal))
    assert type(back) is type(refusal)
    assert vars(back) == vars(refusal)
    assert str(back) == str(refusal)


def test_all_refusals_are_tried_here():
    kinds = {
        value
        for value in vars(refusals).values()
        if isinstance(value, type) and issubclass(value, Refusal) and value is not Refusal
    }
    assert kinds == {type(refusal) for refusal in ALL}


def test_the_plain_shape_lists_every_problem():
    assert as_plain(BadDocument((LENGTH, EMPTY))) == {
        "refused": [
            {
                "sheet": "wires",
                "row": 7,
                "column": "length_mm",
                "found": "-40",
                "allowed": "0 or more",
                "mend": "Measure the run again.",
            },
            {"sheet": "", "row": None, "column": "", "found": "", "allowed": "at least one sheet", "mend": ""},
        ]
    }


def test_stopped_without_a_count_says_so():
    assert str(Stopped()) == "stopped."
