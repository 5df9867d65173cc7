"""How warm a wire of a size gets where it lies: the place is hot only while the engine turns."""

from __future__ import annotations

import numpy as np
import pytest

from loomwright.sizing.demand import CRANKING, STALLED, STEADY, Worst
from loomwright.sizing.wire_heat import heat_of, warmest_c
from loomwright.states.ratings.wire_limits import WireLimit

NO_STATE = np.zeros(1, np.int64)


def limit(size_mm2: float = 1.5) -> WireLimit:
    """A wire in a place that is 50 K above the day's 40 degC once the engine is hot."""
    return WireLimit(wire="W1", size_mm2=size_mm2, insulation_c=105.0, ambient_c=90.0, excess_k=50.0)


def worst(amps: float, moment: str = STEADY, *, turning: bool = False) -> Worst:
    return Worst(amps=amps, moment=moment, ambient_c=40.0, turning=turning, values=NO_STATE)


def test_with_the_engine_stopped_its_place_is_as_cool_as_the_day():
    heat = heat_of(limit(), [worst(10.0)])
    # 1.5 mm2 stands 25.4 A at 40 degC: 40 + 65 x (10 / 25.4)^2 = 50 degC
    assert heat.at_c == 40.0
    assert heat.allowed_a == pytest.approx(25.4, abs=0.05)
    assert heat.conductor_c == pytest.approx(50.1, abs=0.1)
    assert heat.used_frac == pytest.approx(10.0 / 25.4, rel=0.01)


def test_while_it_turns_the_same_current_uses_twice_as_much():
    heat = heat_of(limit(), [worst(10.0), worst(10.0, turning=True)])
    # 25.4 A x root of 15 K / 65 K = 12.2 A at 90 degC: 90 + 15 x (10 / 12.2)^2 = 100 degC
    assert (heat.at_c, heat.worst.turning) == (90.0, True)
    assert heat.allowed_a == pytest.approx(12.2, abs=0.05)
    assert warmest_c(limit(), [worst(10.0), worst(10.0, turning=True)]) == pytest.approx(100.1, abs=0.2)


@pytest.mark.parametrize(("moment", "most_a"), [(CRANKING, 287.0), (STALLED, 674.0)])
def test_cranking_is_judged_by_half_a_minute_and_a_starter_held_fast_by_five_seconds(moment, most_a):
    # 16 mm2 at 40 degC: 125 A for ever; 125 / root(1 - e^(-t / tau)), tau 143 s by copper alone
    heat = heat_of(limit(16.0), [worst(200.0, moment)])
    assert heat.allowed_a == pytest.approx(most_a, rel=0.01)
    assert heat.conductor_c < 105.0
    assert heat_of(limit(16.0), [worst(heat.allowed_a, moment)]).conductor_c == pytest.approx(105.0, abs=0.01)


def test_nothing_that_flows_warms_nothing():
    assert heat_of(limit(), [worst(0.0)]) is None
    assert warmest_c(limit(), []) is None
