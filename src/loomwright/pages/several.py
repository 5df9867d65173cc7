"""Processes beside this one for work that comes in many pieces."""

from __future__ import annotations

import os
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing.context import SpawnContext, SpawnProcess

from loomwright.pages.ending import deaf_to_hand, end_with_server

__all__ = ["several_apart"]

_MOST_PROCESSES = 4


class _Remembering(SpawnContext):
    """Starts processes as any context does, and keeps what it has started. started: all of them."""

    def __init__(self) -> None:
        self.started: list[SpawnProcess] = []

    def Process(self, *given: object, **named: object) -> SpawnProcess:  # type: ignore[override]  # noqa: N802
        """One more process, named as the library names it."""
        process = SpawnProcess(*given, **named)  # type: ignore[arg-type]
        self.started.append(process)
        return process


@contextmanager
def several_apart() -> Iterator[Executor]:
    """As many processes as the machine has cores, at most four; stopped, each is ended in the midst of its piece."""
    count = max(1, min(_MOST_PROCESSES, os.cpu_count() or 1))
    context = _Remembering()
    with ProcessPoolExecutor(count, mp_context=context, initializer=end_with_server) as processes:
        with deaf_to_hand():
            for _ in range(count):
                processes.submit(os.getpid)  # each is started with the first work that finds none free
        try:
            yield processes
        except BaseException:
            # what they are at is worked out anew when it is asked for: nobody waits for it
            processes.shutdown(wait=False, cancel_futures=True)
            for one in context.started:
                one.kill()
            for one in context.started:
                one.join()
            raise
