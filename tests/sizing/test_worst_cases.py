"""The worst of every thing is what solving every state finds, and its state makes it."""

from __future__ import annotations

import random
from itertools import product

import numpy as np
import pytest

from loomwright.car import Car
from loomwright.job.reading import job_from_text
from loomwright.sizing.drawn_on import DrawnOn, drawn_on
from loomwright.sizing.worst_asked import worst_asked
from loomwright.sizing.worst_cases import WorstCase, worst_cases
from loomwright.states.asking.search import answers_of
from tests.states.random_jobs import random_sheets
from tests.states.small_jobs import car, wire

LAMP_A = 1.79
"""21 W at 12 V and 0.55 its exponent, at the 12.5 V that are left at the lamp. [A]"""
TWO = {
    "parts": [
        {"id": "SW2", "kind": "switch"},
        {"id": "LA2", "kind": "lamp", "settings": "watt=55"},
    ],
    "wires": [
        wire("W11", "KEY.15", "SW2.1"),
        wire("W12", "SW2.2", "LA2.1", size_mm2="0.5"),
        wire("W13", "LA2.2", "body"),
    ],
}


def _by_name(of: Car, **more: int) -> dict[str, WorstCase]:
    return {one.name: one for one in worst_cases(of.scene, **more).cases if one.amps}


def _supplies(of: Car) -> dict[tuple[str, str], DrawnOn]:
    return {(one.name, one.label): one for one in drawn_on(of.scene)}


def test_a_lamp_alone_loads_its_wires_where_it_is_on():
    worst = _by_name(Car(car()))
    for name in ("W4", "W6", "F1", "BAT"):
        assert worst[name].amps == pytest.approx(LAMP_A, abs=0.01)
        assert worst[name].state == {"key": "run", "SW1": "on"}
    assert worst["F1"].share_frac == pytest.approx(LAMP_A / 10.0, abs=0.001)
    assert worst["F1"].allowed_a == 10.0
    assert worst["BAT"].share_frac is None


def test_a_shared_fuse_is_worst_with_both_lamps_on():
    worst = _by_name(Car(car(**TWO)))
    assert worst["F1"].state == {"key": "run", "SW1": "on", "SW2": "on"}
    # 55 W is 4.58 A at 12 V; both together lose more on the way
    assert worst["F1"].amps == pytest.approx(LAMP_A + 4.63, abs=0.05)
    assert worst["W12"].state == {"key": "run", "SW2": "on"}
    assert worst["W12"].amps == pytest.approx(4.63, abs=0.03)


def test_a_fuse_that_is_too_small_is_beyond_its_rating():
    worst = _by_name(Car(car(changed={"F1": {"settings": "rating_a=1"}})))
    assert worst["F1"].share_frac is not None
    # so small a fuse has some resistance of its own: the lamp gets a little less
    assert 1.75 < worst["F1"].share_frac < LAMP_A


def test_what_never_carries_anything_has_no_state():
    cases = {one.name: one for one in worst_cases(Car(car(without=("W7",))).scene).cases}
    assert (cases["W6"].amps, cases["W6"].state) == (0.0, {})
    assert cases["F1"].share_frac == 0.0


def test_a_relay_held_by_its_past_counts():
    # SW1 pulls K1, which holds itself: with SW1 off again LA2 is still on, and the lamp LA1 is not
    held = Car(
        car(
            parts=[{"id": "K1", "kind": "relay"}, {"id": "LA2", "kind": "lamp", "settings": "watt=21"}],
            wires=[
                wire("W11", "SW1.2", "K1.86"),
                wire("W12", "K1.85", "body"),
                wire("W13", "KEY.15", "K1.30"),
                wire("W14", "K1.87", "LA2.1"),
                wire("W15", "LA2.2", "body"),
            ],
        )
    )
    worst = _by_name(held)
    assert worst["W14"].state == {"key": "run", "SW1": "on"}
    assert worst["F1"].amps == pytest.approx(2 * LAMP_A + 0.14, abs=0.05)


def test_each_supply_knows_its_loads():
    supplies = {name: one for (name, _), one in _supplies(Car(car(**TWO))).items() if one.what != "contact"}
    assert supplies["BAT"].loads == ("LA1", "LA2")
    assert supplies["F1"].loads == ("LA1", "LA2")
    assert supplies["F1"].rated_a == pytest.approx((21.0 + 55.0) / 12.0)
    contacts = {name: one.loads for (name, label), one in _supplies(Car(car(**TWO))).items() if "30-75" not in label}
    assert contacts["SW2"] == ("LA2",)
    assert contacts["KEY"] == ("LA1", "LA2")


def test_two_fuses_side_by_side_have_their_own_loads():
    two = Car(
        car(
            parts=[
                {"id": "F2", "kind": "fuse", "settings": "rating_a=10"},
                {"id": "LA2", "kind": "lamp", "settings": "watt=21"},
            ],
            wires=[wire("W11", "BAT.+", "F2.1"), wire("W12", "F2.2", "LA2.1"), wire("W13", "LA2.2", "body")],
        )
    )
    supplies = {one.name: one.loads for one in drawn_on(two.scene) if one.what == "fuse"}
    assert supplies == {"F1": ("LA1",), "F2": ("LA2",)}


@pytest.mark.parametrize("seed", range(14))
def test_the_worst_of_random_cars_is_that_of_every_state(seed):
    of = Car(job_from_text(random_sheets(random.Random(seed))))
    space = of.scene.space
    every = answers_of(of.compiled, np.array(list(product(*space.values)), np.int64))
    fine = every.possible & ~every.collapsed()
    worst = worst_cases(of.scene, all_below=0)
    # the order of both is that of `worst_asked`
    for one, told in zip(worst_asked(of.scene), worst.cases, strict=True):
        assert (one.name, one.label) == (told.name, told.label)
        most_a = float(np.where(fine, one.amps(every), 0.0).max())
        # a relay that its past holds in may carry more than from rest
        assert told.amps >= most_a * 0.999 - 2e-3, (told, most_a)
        if told.amps:
            now = of.solve(told.state, before=told.before or None)
            there = abs(now.amps[of.compiled.network.elements[one.element].name])
            assert there == pytest.approx(told.amps, rel=0.006, abs=2e-3)
            if not told.before:
                assert told.amps == pytest.approx(most_a, rel=1e-3, abs=2e-3)
        shares = [np.where(fine, np.abs(w.broken(every)[1]) / w.limit_of(every), 0.0).max() for w in one.judged]
        if shares:
            assert told.share_frac is not None
            assert told.share_frac >= max(shares) * 0.999 - 1e-4
