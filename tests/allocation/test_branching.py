"""Where there are thousands of seats another solver is asked: its answers are the best of all as well, and proved."""

from __future__ import annotations

from random import Random

import pytest

from loomwright.allocation import placing
from loomwright.allocation.allocated import puzzle_of
from loomwright.allocation.branching import Bounded, Rows, least_of
from loomwright.allocation.ground import ground_of
from loomwright.allocation.placing import place
from loomwright.refusals import Stopped
from loomwright.tables.kinds import load_kinds
from tests.allocation.judging import broken_by, costs_of
from tests.allocation.pin_jobs import sized_job
from tests.allocation.puzzles import best_of_all, thrown


@pytest.fixture
def many(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every puzzle is taken for a large one."""
    monkeypatch.setattr(placing, "_MANY", -1)


@pytest.mark.usefixtures("many")
def test_the_answer_is_the_best_of_all_by_bounding_and_branching_too():
    dice = Random(20261126)
    for _ in range(25):
        puzzle = thrown(dice)
        found = place(puzzle)
        assert found is not None
        assert broken_by(puzzle, found.chosen, found.placed) == ()
        assert costs_of(puzzle, found.chosen, found.placed) == found.costs == best_of_all(puzzle)[0]
        assert all(found.proved)


def test_both_ways_of_asking_reach_the_same_costs(monkeypatch: pytest.MonkeyPatch):
    puzzle = puzzle_of(ground_of(sized_job(Random(4), 40, 48, room=1.1), load_kinds()))
    one = place(puzzle)
    monkeypatch.setattr(placing, "_MANY", -1)
    other = place(puzzle)
    assert one is not None
    assert other is not None
    assert one.costs == other.costs
    assert all(one.proved)
    assert all(other.proved)


@pytest.mark.usefixtures("many")
def test_what_is_barred_is_not_made_again_however_it_is_asked():
    puzzle = thrown(Random(1))
    first = place(puzzle)
    assert first is not None
    made = frozenset(first.chosen.items())
    second = place(puzzle, barred=(((made, len(made)),),))
    assert second is not None
    assert frozenset(second.chosen.items()) != made
    assert all(second.proved)


@pytest.mark.usefixtures("many")
def test_a_stop_is_heard_and_the_best_so_far_is_not_called_proved():
    puzzle = puzzle_of(ground_of(sized_job(Random(4), 40, 48, room=1.1), load_kinds()))
    wiring = [goal.name for goal in puzzle.goals].index("wiring")

    def tell(done: int, of: int) -> None:
        if done >= wiring:
            raise Stopped("seen enough")

    found = place(puzzle, tell)
    assert found is not None
    assert broken_by(puzzle, found.chosen, found.placed) == ()
    assert found.proved[wiring:] == (False,) * (len(puzzle.goals) - wiring)


def test_an_answer_that_breaks_a_row_is_not_taken():
    asked = Rows(bounds=((0, 3), (0, 3)), rows=(((0, 1), (1, 1), 2, 2**60),))
    assert least_of(asked, ((0, 2), (1, 1)), {}, lambda work, _: work()) == Bounded(values=(0, 2), proved=True)
    assert asked.hold((0, 2))
    assert not asked.hold((0, 1))  # the row
    assert not asked.hold((-1, 3))  # a bound
    assert least_of(asked, ((0, 2), (1, 1)), {}, lambda _, __: None) == Bounded(values=None, proved=False)
