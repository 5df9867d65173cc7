"""Who tries one thing wrong after another? Processes beside this one where there is much to try, else this one."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor

from loomwright.car import Car
from loomwright.pages.ending import end_with_server
from loomwright.states.asking.plan import ALL_BELOW
from loomwright.trials.wrong import Wrong

__all__ = ["wrong_of"]

_MOST_PROCESSES = 4


def wrong_of(car: Car, tell: Callable[[int, int], None] | None = None) -> Wrong:
    """One thing wrong, each in turn.

    Args:
        tell: called with states done and to do; may raise Stopped.
    """
    if car.scene.space.raw <= ALL_BELOW:
        return car.wrong(tell)
    count = max(1, min(_MOST_PROCESSES, os.cpu_count() or 1))
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(count, mp_context=context, initializer=end_with_server) as processes:
        try:
            return car.wrong(tell, processes)
        except BaseException:
            processes.shutdown(wait=False, cancel_futures=True)
            raise
