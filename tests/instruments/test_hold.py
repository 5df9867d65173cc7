"""A reading is held once five figures agree, and never before; what never agrees is told."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from math import inf

import pytest

from loomwright.instruments.hold import Held, hold, steady
from loomwright.refusals import NoAnswer


def held(shown: Iterable[float], unit: str = "V", patience_s: float = 30.0) -> Held:
    figures = iter(shown)
    now = [0.0]

    def ask() -> float:
        try:
            return next(figures)
        except StopIteration:
            raise NoAnswer("the meter", ("It stopped answering.",)) from None

    def wait(time_s: float) -> None:
        now[0] += time_s

    return hold(ask, unit, clock=lambda: now[0], wait=wait, patience_s=patience_s)


def test_probes_that_are_still_being_placed_are_not_read() -> None:
    found = held([0.0, 3.1, 12.9, 12.41, 12.40, 12.42, 12.41, 12.41, 99.0])
    assert (found.text, found.asked) == ("12.41", 8)


def test_four_alike_are_too_few() -> None:
    assert steady([12.4] * 4, "V") is None
    assert steady([12.4] * 5, "V") == 12.4


def test_open_is_held_as_open_and_not_beside_a_figure() -> None:
    assert held([3.0, *[inf] * 5], "ohm").text == "open"
    assert steady([inf, inf, 4.7, inf, inf], "ohm") is None


@pytest.mark.parametrize(("unit", "near", "far"), [("V", 0.015, 0.2), ("ohm", 0.05, 0.5), ("A", 0.015, 0.1)])
def test_each_quantity_has_its_own_band(unit: str, near: float, far: float) -> None:
    still: Callable[[float], float | None] = lambda away: steady([1.0, 1.0 + away, 1.0, 1.0, 1.0], unit)  # noqa: E731
    assert still(near) == 1.0
    assert still(far) is None


def test_a_reading_that_wanders_is_told_with_its_bounds() -> None:
    with pytest.raises(NoAnswer) as caught:
        held((11.0 + k % 3 for k in range(1000)), patience_s=4.0)
    assert "Between 11 V and 13 V over 4 s" in " ".join(caught.value.reasons)


def test_a_meter_lost_half_way_says_what_it_last_showed() -> None:
    with pytest.raises(NoAnswer) as caught:
        held([12.3, 12.31])
    assert "It last showed 12.31 V" in " ".join(caught.value.reasons)
