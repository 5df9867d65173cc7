"""One thread that writes: what waits together is committed together, and each is answered after the flush.

A flush to the disk costs the same for one change as for fifty. Whoever hands in work waits until the transaction with
it is on the disk, or until it is known that it is not.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass
from queue import Empty, SimpleQueue
from typing import Any, Generic, TypeVar

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DatabaseError

from loomwright.refusals import Refusal

__all__ = ["GroupCommit", "Written"]

Answer = TypeVar("Answer")

_MOST_TOGETHER = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class Written(Generic[Answer]):
    """What a piece of work answers, and what becomes true for readers once it is on the disk."""

    answer: Answer
    published: Callable[[], None]


Work = Callable[[Connection], Written[Any]]


class GroupCommit:
    """Work handed in from any thread, done in one. A piece of work refuses before it writes, or not at all.

    The thread outlives whatever is called on it: what `published` or `lost` raises goes to `threading.excepthook`, and
    whoever waits is told what became of the work itself.

    lost: called when a transaction with work in it could not be committed, before anybody is told.
    """

    def __init__(self, engine: Engine, lost: Callable[[], None]) -> None:
        self._engine = engine
        self._lost = lost
        self._waiting: SimpleQueue[tuple[Work, Future[Any]] | None] = SimpleQueue()
        self._door = threading.Lock()
        self._closed = False
        self._thread = threading.Thread(target=self._run, name="shelf writer", daemon=True)
        self._thread.start()

    def do(self, work: Callable[[Connection], Written[Answer]]) -> Answer:
        """Do a piece of work and wait until it is on the disk.

        Raises:
            Refusal: what the work itself refuses.
            DatabaseError: it could not be written; nothing of it is.
            RuntimeError: the shelf is closed.
        """
        return self.hand_in(work).result()

    def hand_in(self, work: Callable[[Connection], Written[Answer]]) -> Future[Answer]:
        """Hand a piece of work in, for who waits in another way; the future fails as `do` does."""
        future: Future[Answer] = Future()
        with self._door:
            if self._closed:
                raise RuntimeError("the shelf is closed: nothing more is written to it")
            self._waiting.put((work, future))
        return future

    def close(self) -> None:
        """Finish what waits, and stop."""
        with self._door:
            self._closed = True
            self._waiting.put(None)
        self._thread.join()

    def _run(self) -> None:
        while True:
            first = self._waiting.get()
            if first is None:
                return
            together, stop = self._together(first)
            self._write(together)
            if stop:
                return

    def _together(self, first: tuple[Work, Future[Any]]) -> tuple[list[tuple[Work, Future[Any]]], bool]:
        """What waits now, at most so many; whether the end was among it."""
        found = [first]
        while len(found) < _MOST_TOGETHER:
            try:
                more = self._waiting.get_nowait()
            except Empty:
                break
            if more is None:
                return found, True
            found.append(more)
        return found, False

    def _write(self, together: list[tuple[Work, Future[Any]]]) -> None:
        # who has gone away meanwhile wants nothing done; whatever is begun is done to its end
        together = [one for one in together if one[1].set_running_or_notify_cancel()]
        written: list[tuple[Written[Any], Future[Any]]] = []
        refused: list[tuple[BaseException, Future[Any]]] = []
        try:
            with self._engine.begin() as connection:
                for work, future in together:
                    try:
                        written.append((work(connection), future))
                    except Refusal as refusal:
                        refused.append((refusal, future))
        except BaseException as fault:  # noqa: BLE001 - whatever it is, those who wait are told
            self._call(self._lost)
            answered = {id(future) for _, future in refused}
            for _, future in together:
                if id(future) not in answered:
                    future.set_exception(fault if isinstance(fault, DatabaseError) else RuntimeError(str(fault)))
            _refuse(refused)
            return
        for done, future in written:
            # it is on the disk: to be told otherwise would have it typed again
            self._call(done.published)
            future.set_result(done.answer)
        _refuse(refused)

    def _call(self, told: Callable[[], None]) -> None:
        try:
            told()
        except Exception as fault:  # noqa: BLE001 - the next work is to be written whatever this was
            threading.excepthook(threading.ExceptHookArgs((type(fault), fault, fault.__traceback__, self._thread)))


def _refuse(refused: list[tuple[BaseException, Future[Any]]]) -> None:
    for reason, future in refused:
        future.set_exception(reason)
