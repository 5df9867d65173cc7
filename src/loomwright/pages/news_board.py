"""Who waits for the next revision of a job? Pages that stay open ask for it and are answered when it is there.

Waiting costs no thread, so that a hundred open pages hold nobody up; a server that is told to end lets all of them go.
"""

from __future__ import annotations

import asyncio
from contextlib import suppress
from threading import RLock

from loomwright.store.shelf import Shelf

__all__ = ["NewsBoard"]

_Waiting = tuple[asyncio.AbstractEventLoop, asyncio.Event]


class NewsBoard:
    """Lets requests wait for what is written to a shelf."""

    def __init__(self, shelf: Shelf) -> None:
        self._shelf = shelf
        self._waiting: set[_Waiting] = set()
        self._is_closed = False
        self._lock = RLock()  # a signal may come while it is held
        shelf.listen(self._wake)

    async def wait(self, name: str, after: int, *, at_most_s: float) -> int:
        """Wait for a revision after one; gives the newest there is then. [-]

        Args:
            after: the one known. [-]
            at_most_s: how long to wait. [s]
        """
        loop = asyncio.get_running_loop()
        until = loop.time() + at_most_s
        one = (loop, asyncio.Event())
        with self._lock:
            self._waiting.add(one)
        try:
            while True:
                one[1].clear()
                revision = self._shelf.now(name).revision
                left_s = until - loop.time()
                if revision > after or left_s <= 0.0 or self._is_closed:
                    return revision
                try:
                    await asyncio.wait_for(one[1].wait(), left_s)
                except TimeoutError:
                    continue
        finally:
            with self._lock:
                self._waiting.discard(one)

    def close(self) -> None:
        """Let everybody go, and nobody wait from now on."""
        self._is_closed = True
        self._wake()

    def _wake(self) -> None:
        with self._lock:
            for loop, event in tuple(self._waiting):
                with suppress(RuntimeError):  # a loop that has ended has nobody waiting in it
                    loop.call_soon_threadsafe(event.set)
