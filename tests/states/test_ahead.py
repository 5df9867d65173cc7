"""What is worked out ahead is what is worked out when it is asked for, and nobody works on where nobody asks."""

from __future__ import annotations

from collections.abc import Generator
from threading import active_count

import pytest

from loomwright.car import Car
from loomwright.refusals import Stopped
from loomwright.states.asking.ahead import Ahead
from tests.states.small_jobs import car


def numbers(made: list[int], wrong_at: int = -1) -> Generator[int, None, None]:
    for number in range(20):
        if number == wrong_at:
            raise ValueError(number)
        made.append(number)
        yield number


def test_they_come_in_their_order_and_none_is_left_out() -> None:
    made: list[int] = []
    assert list(Ahead(numbers(made), most=3)) == made == list(range(20))


def test_what_goes_wrong_is_raised_where_it_is_asked_for() -> None:
    found: list[int] = []
    with pytest.raises(ValueError, match="7"):
        found.extend(Ahead(numbers([], wrong_at=7), most=3))
    assert found == list(range(7))


def test_no_more_is_worked_out_than_may_wait() -> None:
    before, made = active_count(), []
    ahead = Ahead(numbers(made), most=3)
    assert next(iter(ahead)) == 0
    ahead.end()
    # one asked for, three waiting, one in hand; the end makes room for the one in hand, and one more is worked out
    assert len(made) <= 1 + 3 + 1 + 1
    assert active_count() == before


def test_a_check_that_is_stopped_leaves_nobody_at_work() -> None:
    before = active_count()

    def stop(_done: int, _to_do: int) -> None:
        raise Stopped

    with pytest.raises(Stopped):
        Car(car()).check(tell=stop)
    assert active_count() == before
