"""How far do live readings stray in sound cars, every part of which is a little off?

Some cars are drawn within their tolerances (`tolerances.csv`: copper, crimps, contacts, lamps, motors, coils), the same
ones every time, and each is solved in every state of the live tests with the meter in it. The battery is
measured first and the others are held against it, so its own volts are taken out again. The bands of the plan are
opened as far as they stray.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from loomwright.job.job import Job
from loomwright.network.compiled import Compiled, with_figures
from loomwright.network.solve import solve_many
from loomwright.proving.live_tests import LiveCar, battery_of
from loomwright.proving.stray_volts import StrayVolts, stray_volts
from loomwright.sizing.tolerance_draws import draws_of, factors_of, figures_with, shares_of
from loomwright.tables.kinds import Kind

__all__ = ["CARS", "drawn_cars", "live_strays"]

CARS = 24
"""Cars drawn for the bands: our choice [-]."""
_SEED = 9


def drawn_cars(
    compiled: Compiled, job: Job, kinds: Mapping[str, Kind], *, cars: int = CARS, seed: int = _SEED
) -> Iterator[Compiled]:
    """The same network in cars whose figures are each a little off.

    Args:
        job: what the network was built from.
        cars: how many. [-]
        seed: another one draws other cars. [-]
    """
    draws = draws_of(compiled, job, kinds)
    numbers = range(len(draws.names))
    for car in range(cars):
        yield with_figures(compiled, figures_with(draws, factors_of(draws, shares_of(seed, car, numbers))))


def live_strays(car: LiveCar, *, cars: int = CARS, seed: int = _SEED) -> StrayVolts:
    """How far the volts of the live tests stray in sound cars.

    Args:
        car: as it is tested live.
        cars: how many are drawn. [-]
        seed: another one draws other cars. [-]
    """
    scene = car.scene
    drawn = drawn_cars(car.bench.compiled, scene.job, scene.kinds, cars=cars, seed=seed)
    volts = (car.volts(solve_many(one, car.values)) for one in drawn)
    return stray_volts(volts, car.volts(car.sound), car.node_at.get(battery_of(scene)))
