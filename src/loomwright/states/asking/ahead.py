"""What is asked for one after the other, worked out ahead of being asked for.

The kernels let go of the interpreter, so that states can be solved in a thread while rules read the sheets. It works no
more than a few items ahead, and ends where nobody asks any more. What it gives, and in which order, is what the items
are without it.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator
from queue import Empty, Full, Queue
from threading import Event, Thread
from typing import Generic, TypeVar

__all__ = ["Ahead"]

Item = TypeVar("Item")

_LOOK_S = 0.05
"""How often it is looked whether anybody still asks. [s]"""


class Ahead(Generic[Item]):
    """Items worked out ahead, to be gone through once.

    Example:
        >>> list(Ahead((number * number for number in range(4)), most=2))
        [0, 1, 4, 9]
    """

    def __init__(self, items: Generator[Item, None, None], most: int) -> None:
        """Begin.

        Args:
            items: worked out in a thread of their own.
            most: so many wait to be asked for. [-]
        """
        self._waiting: Queue[tuple[Item | None, BaseException | None]] = Queue(most)
        self._ends = Event()
        self._worker = Thread(target=self._work, args=(items,), daemon=True)
        self._worker.start()

    def __iter__(self) -> Iterator[Item]:
        """The items in order; what went wrong while they were worked out is raised here."""
        while True:
            item, wrong = self._waiting.get()
            if wrong is not None:
                self._worker.join()
                if isinstance(wrong, StopIteration):
                    return
                raise wrong
            yield item  # type: ignore[misc]  # there is an item wherever nothing is wrong

    def end(self) -> None:
        """Nobody asks any more: what is being worked out is finished, and nothing after it."""
        self._ends.set()
        while self._worker.is_alive():
            try:
                self._waiting.get(timeout=_LOOK_S)
            except Empty:
                continue

    def _work(self, items: Generator[Item, None, None]) -> None:
        try:
            for item in items:
                if not self._put(item, None):
                    items.close()
                    return
        except BaseException as wrong:  # noqa: BLE001  # raised again where the items are asked for
            self._put(None, wrong)
        else:
            self._put(None, StopIteration())

    def _put(self, item: Item | None, wrong: BaseException | None) -> bool:
        while not self._ends.is_set():
            try:
                self._waiting.put((item, wrong), timeout=_LOOK_S)
            except Full:
                continue
            return True
        return False
