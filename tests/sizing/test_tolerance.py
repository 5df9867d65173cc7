"""How far figures stray: by hand on a divider, beside statistics, within the bounds, with any executor."""

from __future__ import annotations

from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from math import exp, log
from multiprocessing import get_context

import distributed
import numpy as np
import pytest
from scipy import stats

from loomwright.car import Car
from loomwright.job.variables import Variable
from loomwright.network.compiled import compile_network, with_figures
from loomwright.network.records import Element, Law, Network, Selector
from loomwright.network.solve import solve_many
from loomwright.refusals import OutOfReach, Stopped
from loomwright.sizing.tolerance import Strays, sure_frac, worked
from loomwright.sizing.tolerance_draws import draws_of, factors_of, figures_with, shares_of
from loomwright.tables.tolerances import factors_at, tolerances
from tests.states.small_jobs import car

CARS = 30
SMALL = car()


def _strays(**more: object) -> Strays:
    return Car(SMALL).strays(samples=CARS, **more)  # type: ignore[arg-type]


def test_shares_are_even_and_draws_know_nothing_of_each_other():
    shares = np.array([shares_of(3, number, range(40)) for number in range(500)])
    assert stats.kstest(shares.reshape(-1), "uniform").pvalue > 0.01
    beside = np.corrcoef(shares.T) - np.eye(40)
    # 500 cars: one in a thousand of 780 pairs beyond 3.3 / sqrt(500)
    assert np.abs(beside).max() < 4.5 / np.sqrt(500)
    assert abs(np.corrcoef(shares[:-1, 0], shares[1:, 0])[0, 1]) < 4.5 / np.sqrt(500)


@pytest.mark.parametrize("name", sorted(tolerances()))
def test_every_tolerance_lies_as_scipy_says_its_shape_lies(name):
    one = tolerances()[name]
    drawn = factors_at(one, shares_of(11, 0, range(4000)))
    assert one.least <= drawn.min()
    assert drawn.max() <= one.most
    low, high, top, seen = one.least, one.most, 1.0, drawn
    if one.shape == "corroded":
        low, high, top, seen = log(one.least), log(one.most), 0.0, np.log(drawn)
    triangle = stats.triang((top - low) / (high - low), loc=low, scale=high - low)
    assert stats.kstest(seen, triangle.cdf).pvalue > 0.001
    middle = float(triangle.ppf(0.5))
    half = float(factors_at(one, np.array([0.5]))[0])
    assert half == pytest.approx(exp(middle) if one.shape == "corroded" else middle)


def _divider() -> Network:
    """12 V over 2 ohm and 4 ohm: 8 V in the middle."""
    rows = ((1e4, -12.0),), ((1.0 / 2.0, 0.0),), ((1.0 / 4.0, 0.0),)
    ends = (1, 0), (1, 2), (2, 0)
    names = "source", "P.upper", "P.lower"
    kinds = "source", "resistor", "resistor"
    return Network(
        nodes=("minus", "plus", "middle"),
        elements=tuple(
            Element(name=name, a=a, b=b, law=Law.LINEAR, figures=row, part="P", type=kind)
            for name, (a, b), row, kind in zip(names, ends, rows, kinds, strict=True)
        ),
        devices=(),
        selectors=(Selector(0, -1, ((0,),)),),
        variables=(Variable(name="ambient_c", values=("20",), rest="20", numeric=True),),
        reference=0,
        thermal=0,
    )


def test_a_divider_strays_as_its_formula_says():
    compiled = compile_network(_divider())
    draws = draws_of(compiled, SMALL, Car(SMALL).kinds)
    assert sorted(draws.names) == [("resistor", "P.lower"), ("resistor", "P.upper"), ("supply_volts", "source")]
    place = {thing: k for k, (_, thing) in enumerate(draws.names)}
    volts, formula = [], []
    for number in range(800):
        factors = factors_of(draws, shares_of(5, number, range(3)))
        drawn = with_figures(compiled, figures_with(draws, factors))
        volts.append(abs(solve_many(drawn, np.zeros((1, 1), np.int64)).v[0, compiled.node_of["middle"]]))
        upper, lower = 2.0 * factors[place["P.upper"]], 4.0 * factors[place["P.lower"]]
        formula.append(12.0 * factors[place["source"]] * lower / (upper + lower + 1e-4))
    assert np.allclose(volts, formula, rtol=1e-9)
    # V = E l / (u + l): of each share E goes over whole, u and l by a third; a triangle +-w has variance w^2 / 6
    spread_v = 8.0 * np.sqrt((0.02**2 + 2 * (0.05 / 3.0) ** 2) / 6.0)
    assert np.std(volts) == pytest.approx(spread_v, rel=0.08)
    assert np.mean(volts) == pytest.approx(8.0, abs=4.0 * spread_v / np.sqrt(800) + 0.002)


def test_all_cars_lie_within_the_bounds_and_the_car_as_solved_too():
    strays = _strays()
    checked = [one for one in strays.lines if one.bound is not None and one.bound.holds]
    assert len(checked) >= 10
    for one in checked:
        assert one.bound is not None
        assert one.bound.least <= one.least <= one.low <= one.middle <= one.high <= one.most <= one.bound.most, one
        assert one.bound.least <= one.solved <= one.bound.most
    lamp = next(one for one in strays.lines if one.what == "load")
    assert (lamp.name, lamp.unit) == ("LA1", "V")
    # the lowest corner: alternator 1.5 % down at 14.2 V is 0.2 V, and the worst joints lose some more
    assert 12.448 - 0.6 < lamp.bound.least < 12.448 - 0.2


def test_another_seed_draws_other_cars_and_the_same_one_the_same():
    one, other = _strays(seed=1), _strays(seed=2)
    assert one == _strays(seed=1)
    assert one.lines[0].least != other.lines[0].least
    # one car more is the same cars and one more
    assert Car(SMALL).strays(samples=CARS + 1).lines[0].least <= one.lines[0].least


def _threads() -> Executor:
    return ThreadPoolExecutor(2)


def _processes() -> Executor:
    return ProcessPoolExecutor(1, mp_context=get_context("spawn"))


@pytest.mark.parametrize("make", [_threads, _processes])
def test_any_executor_gives_the_same_to_the_last_digit(make):
    with make() as executor:
        assert _strays(executor=executor) == _strays()


def test_a_dask_cluster_gives_the_same_to_the_last_digit():
    from loomwright.pages.strays_work import strays_with

    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None, protocol="inproc://"
    ) as cluster:
        told: list[tuple[int, int]] = []
        found = strays_with(
            Car(SMALL), samples=CARS, seed=1, cluster=cluster.scheduler_address, tell=lambda *now: told.append(now)
        )
    assert found == _strays()
    assert told[-1][0] == told[-1][1]


def test_in_what_pieces_it_is_worked_changes_nothing(monkeypatch):
    monkeypatch.setattr("loomwright.sizing.tolerance._PIECE", 7)
    seven = _strays()
    monkeypatch.undo()
    assert seven == _strays()


def test_it_can_be_stopped_and_asks_no_more_then():
    asked = []

    def tell(done: int, of: int) -> None:
        asked.append(done)
        raise Stopped

    with pytest.raises(Stopped):
        _strays(tell=tell)
    assert len(asked) == 1


def test_no_more_is_handed_on_than_is_worked_on():
    begun: list[int] = []

    def jobs():
        for number in range(50):
            begun.append(number)
            yield int, (number,)

    with ThreadPoolExecutor(1) as executor:
        answers = worked(jobs(), executor)
        next(answers)
        assert len(begun) <= 8
        assert {answer for _, answer in answers} | {0} >= set(range(1, 50))


def test_a_wire_just_thick_enough_passes_in_some_cars_only():
    def passed(length_mm: str) -> int:
        job = car(changed={"W6": {"size_mm2": "0.5", "length_mm": length_mm}})
        found = Car(job).strays(samples=30)
        drop = [one for one in found.verdicts if one.rule == "DRP-1"]
        return drop[0].passed if drop else 30

    counts = [passed(str(length_mm)) for length_mm in (500, 4500, 20000)]
    assert counts[0] == 30
    assert counts == sorted(counts, reverse=True)
    assert counts[-1] == 0


@pytest.mark.parametrize(("passed", "of", "sure"), [(300, 300, 0.05 ** (1 / 300)), (0, 10, 0.0)])
def test_a_share_is_told_with_how_sure_it_is(passed, of, sure):
    assert sure_frac(passed, of) == pytest.approx(sure)


def test_how_sure_is_what_the_binomial_says():
    # with that share of all cars, 95 in 100 draws of 40 would have fewer than 37 that pass
    assert stats.binom.sf(36, 40, sure_frac(37, 40)) == pytest.approx(0.05)


@pytest.mark.parametrize("more", [{"samples": 0}, {"samples": 10**6}, {"seed": -1}])
def test_figures_nobody_can_draw_by_are_refused(more):
    with pytest.raises(OutOfReach):
        Car(SMALL).strays(**more)
