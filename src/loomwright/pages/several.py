"""Processes beside this one for work that comes in many pieces."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager

from loomwright.pages.ending import deaf_to_hand, end_with_server

__all__ = ["several_apart"]

_MOST_PROCESSES = 4


@contextmanager
def several_apart() -> Iterator[Executor]:
    """As many processes as the machine has cores, at most four; stopped, each ends the piece it is at and no more."""
    count = max(1, min(_MOST_PROCESSES, os.cpu_count() or 1))
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(count, mp_context=context, initializer=end_with_server) as processes:
        with deaf_to_hand():
            for _ in range(count):
                processes.submit(os.getpid)  # each is started with the first work that finds none free
        try:
            yield processes
        except BaseException:
            processes.shutdown(wait=False, cancel_futures=True)
            raise
