"""Who tries one thing wrong after another? Processes beside this one where there is much to try, else this one."""

from __future__ import annotations

from collections.abc import Callable

from loomwright.car import Car
from loomwright.pages.several import several_apart
from loomwright.states.asking.plan import ALL_BELOW
from loomwright.trials.wrong import Wrong

__all__ = ["wrong_of"]


def wrong_of(car: Car, tell: Callable[[int, int], None] | None = None) -> Wrong:
    """One thing wrong, each in turn.

    Args:
        tell: called with states done and to do; may raise Stopped.
    """
    if car.scene.space.raw <= ALL_BELOW:
        return car.wrong(tell)
    with several_apart() as processes:
        return car.wrong(tell, processes)
