"""The best answer is the best of all answers; a smallest clash is smallest; what moves is judged as the whole is."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from itertools import combinations
from random import Random

import pytest

from loomwright.allocation.clashes import clashes
from loomwright.allocation.engine import Alternative, Goal, Limit, Puzzle, Unit, only_units
from loomwright.allocation.exchanges import Standing
from loomwright.allocation.placing import fits, place
from loomwright.refusals import Stopped
from tests.allocation.judging import broken_by, costs_of
from tests.allocation.puzzles import best_of_all, first_that_fits, thrown

CASES = 100


def single(name: str, *slots: str) -> tuple[Unit, dict[str, dict[str, tuple[str, ...]]]]:
    """A unit of one item that may go into some slots."""
    unit = Unit(name=name, alternatives=(Alternative(name="", items=(name,)),))
    return unit, {name: {slot: (slot,) for slot in slots}}


def puzzle_of(*units: tuple[Unit, dict[str, dict[str, tuple[str, ...]]]], goals: tuple[Goal, ...] = ()) -> Puzzle:
    """A puzzle of such units, all to be built."""
    rows = tuple(unit for unit, _ in units)
    seats = {item: slots for _, each in units for item, slots in each.items()}
    return Puzzle(units=rows, seats=seats, goals=(Goal(name="built", left_out={u.name: 1 for u in rows}), *goals))


def test_the_answer_is_the_best_of_all_goal_by_goal_and_the_cheapest_seat_first_is_not():
    dice = Random(20261125)
    greedy_wrong = 0
    for _ in range(CASES):
        puzzle = thrown(dice)
        costs, _, _ = best_of_all(puzzle)
        found = place(puzzle)
        assert found is not None
        assert broken_by(puzzle, found.chosen, found.placed) == ()
        assert costs_of(puzzle, found.chosen, found.placed) == found.costs == costs
        assert all(found.proved)
        assert set(found.left_out) == {unit.name for unit in puzzle.units} - set(found.chosen)
        greedy = first_that_fits(puzzle)
        greedy_wrong += greedy[0] != costs or broken_by(puzzle, greedy[1], greedy[2]) != ()
    assert greedy_wrong >= 20


def test_every_clash_is_one_and_fits_with_any_one_left_out():
    dice = Random(7)
    short = 0
    for _ in range(CASES):
        puzzle = thrown(dice, links=False)
        found = place(puzzle)
        assert found is not None
        for clash in clashes(puzzle, found.left_out):
            short += 1
            assert best_of_all(only_units(puzzle, frozenset(clash.units)))[0][0] > 0
            for unit in clash.units:
                rest = only_units(puzzle, frozenset(clash.units) - {unit})
                assert best_of_all(rest)[0][0] == 0, (clash, unit)
    assert short >= 40


def test_what_is_blamed_is_what_it_would_fit_without():
    dice = Random(3)
    blamed = 0
    for _ in range(CASES // 2):
        puzzle = thrown(dice, links=False)
        found = place(puzzle)
        assert found is not None
        for clash in clashes(puzzle, found.left_out):
            small = only_units(puzzle, frozenset(clash.units))
            for limit in small.limits:
                would_fit = best_of_all(replace(small, limits=()))[0][0] == 0
                assert (limit.name in clash.blamed) == would_fit
                blamed += would_fit
    assert blamed >= 5


def test_moves_are_judged_as_the_whole_answer_is():
    dice = Random(11)
    tried = broken = 0
    for _ in range(60):
        puzzle = thrown(dice)
        found = place(puzzle)
        assert found is not None
        standing = Standing(puzzle, found.placed)
        moves = [{item: slot} for item in found.placed for slot in puzzle.seats[item]]
        moves += [
            {one: found.placed[two], two: found.placed[one]}
            for one, two in combinations(found.placed, 2)
            if found.placed[two] in puzzle.seats[one] and found.placed[one] in puzzle.seats[two]
        ]
        for move in moves:
            new = {**found.placed, **move}
            whole = broken_by(puzzle, found.chosen, new)
            assert bool(standing.broken(move)) == bool(whole), (move, whole)
            more = tuple(a - b for a, b in zip(costs_of(puzzle, found.chosen, new), found.costs, strict=True))
            assert standing.more(move) == more
            tried += 1
            broken += bool(whole)
    assert broken >= 50
    assert tried - broken >= 50


def test_like_items_take_like_slots_in_the_order_of_their_names():
    slots = [f"A{number}" for number in range(1, 12)]
    puzzle = puzzle_of(*(single(f"inj{number}", *slots) for number in range(1, 11)))
    found = place(puzzle)
    assert found is not None
    assert found.placed == {f"inj{number}": f"A{number}" for number in range(1, 11)}


def test_the_same_puzzle_in_another_order_gets_the_same_answer():
    dice = Random(5)
    for _ in range(20):
        units = [single(f"u{n}", *dice.sample(["a", "b", "c", "d", "e"], 3)) for n in range(4)]
        slots = Goal(name="slots", slots={"a": 1, "b": 3, "c": 2})
        one = place(puzzle_of(*units, goals=(slots,)))
        other = place(puzzle_of(*units, goals=(slots,)))
        assert one == other


def test_too_few_slots_leave_out_what_is_wanted_least():
    rank = Goal(name="rank", left_out={"must": 3, "wish": 1})
    found = place(puzzle_of(single("must", "a"), single("wish", "a"), goals=(rank,)))
    assert found is not None
    assert found.left_out == ("wish",)
    assert found.placed == {"must": "a"}
    assert not fits(puzzle_of(single("must", "a"), single("wish", "a")))


def test_a_stop_gives_the_best_so_far_and_does_not_call_it_proved():
    asked: list[int] = []

    def tell(done: int, of: int) -> None:
        asked.append(done)
        if done >= 1:
            raise Stopped("seen enough")

    # a goal that is not met at its least by chance, so that the solver must be asked again
    worth = Goal(name="worth", seats={(f"u{n}", f"s{k}"): (n * 7 + k * 3) % 11 + 1 for n in range(8) for k in range(9)})
    slots = [f"s{k}" for k in range(9)]
    puzzle = puzzle_of(*(single(f"u{n}", *slots) for n in range(8)), goals=(worth,))
    found = place(puzzle, tell)
    assert max(asked) == 1
    assert found is not None
    assert found.proved == (True, False)
    assert broken_by(puzzle, found.chosen, found.placed) == ()
    assert costs_of(puzzle, found.chosen, found.placed) == found.costs


def test_a_stop_before_anything_is_found_is_a_stop():
    def tell(done: int, of: int) -> None:
        raise Stopped("at once")

    with pytest.raises(Stopped):
        place(puzzle_of(single("a", "x"), single("b", "x", "y")), tell)


def test_a_stop_in_the_middle_of_a_goal_is_heard_at_once_and_the_answer_holds():
    calls: list[int] = []

    def tell(done: int, of: int) -> None:
        calls.append(done)
        if calls.count(1) == 2:
            raise Stopped("seen enough")

    dice = Random(2)
    slots = [f"s{k}" for k in range(70)]
    worth = Goal(name="worth", seats={(f"u{n}", s): dice.randint(1, 1000) for n in range(60) for s in slots})
    takes = {(f"u{n}", s): dice.randint(20, 60) for n in range(60) for s in slots}
    limits = tuple(
        Limit(name=f"l{k}", most=400, takes={seat: t for seat, t in takes.items() if int(seat[1][1:]) % 6 == k})
        for k in range(6)
    )
    puzzle = replace(puzzle_of(*(single(f"u{n}", *slots) for n in range(60)), goals=(worth,)), limits=limits)
    found = place(puzzle, tell)
    assert found is not None
    assert calls.count(1) == 2
    assert found.proved == (True, False)
    assert broken_by(puzzle, found.chosen, found.placed) == ()
    assert costs_of(puzzle, found.chosen, found.placed) == found.costs


def test_what_is_barred_is_not_chosen_again():
    unit = Unit(name="u", alternatives=(Alternative(name="cheap"), Alternative(name="dear")))
    puzzle = Puzzle(units=(unit,), seats={}, goals=(Goal(name="cost", choices={("u", "cheap"): 1, ("u", "dear"): 5}),))
    first = place(puzzle, whole=True)
    assert first is not None
    assert first.chosen == {"u": "cheap"}
    bar = ((frozenset([("u", "cheap")]), 1),)
    second = place(puzzle, whole=True, barred=[bar])
    assert second is not None
    assert second.chosen == {"u": "dear"}
    assert place(puzzle, whole=True, barred=[bar, ((frozenset([("u", "dear")]), 1),)]) is None


@pytest.mark.parametrize("fault", ["nowhere", "crowded", "unasked"])
def test_a_wrong_answer_is_told(fault: str):
    puzzle = puzzle_of(single("a", "x"), single("b", "x", "y"))
    wrong = {
        "nowhere": ({"a": "", "b": ""}, {"a": "z", "b": "y"}),
        "crowded": ({"a": "", "b": ""}, {"a": "x", "b": "x"}),
        "unasked": ({"a": ""}, {"a": "x", "b": "y"}),
    }[fault]
    assert broken_by(puzzle, *wrong)
    assert broken_by(puzzle, {"a": "", "b": ""}, {"a": "x", "b": "y"}) == ()


CTRL_C = """
import signal
from random import Random
from loomwright.allocation import placing
from tests.allocation.puzzles import thrown
placing._MANY = {many}
assert placing.place(thrown(Random(1))) is not None
try:
    signal.raise_signal(signal.SIGINT)
except KeyboardInterrupt:
    print("heard")
"""


@pytest.mark.parametrize("many", [-1, 10_000])
def test_a_hand_on_ctrl_c_is_heard_after_the_solvers_were_asked(many):
    ran = subprocess.run([sys.executable, "-c", CTRL_C.format(many=many)], capture_output=True, text=True, check=False)
    assert (ran.returncode, ran.stdout) == (0, "heard\n")
