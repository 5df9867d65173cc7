"""An answer that takes seconds, worked out without anybody waiting for it.

One piece of work goes on at a time, in a thread of its own; it tells how far it is and can be stopped. What is worked
out is kept by job, revision and question.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, replace
from threading import Lock, Thread
from typing import Generic, TypeVar

from loomwright.refusals import NoAnswer, Refusal, Stopped

__all__ = ["AnswerBench", "AnswerStanding", "Key", "Tell"]

_KEPT = 64
T = TypeVar("T")
Key = tuple[str, int, str]
"""Job, revision and question."""
Tell = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerStanding(Generic[T]):
    """How far an answer is. done, of: states looked at and to look at. [-]   refused: why there is none."""

    answer: T | None = None
    done: int = 0
    of: int = 0
    stopped: bool = False
    refused: Refusal | None = None


class AnswerBench(Generic[T]):
    """Works out one answer after another.

    kept: answers that are kept, the newest. [-]
    """

    def __init__(self, kept: int = _KEPT) -> None:
        self._most = kept
        self._known: OrderedDict[Key, AnswerStanding[T]] = OrderedDict()
        self._unwanted: set[Key] = set()
        self._lock = Lock()
        self._turn = Lock()

    def look(self, key: Key, work: Callable[[Tell], T]) -> AnswerStanding[T]:
        """How far an answer is; begins it where nobody has.

        Args:
            key: job, revision and question.
            work: gives the answer; calls what it is given with states done and to do, which may raise Stopped.
        """
        with self._lock:
            standing = self._known.get(key)
            if standing is not None:
                return standing
            self._keep(key, AnswerStanding())
            self._unwanted.discard(key)
        Thread(target=self._work, args=(key, work), daemon=True, name=key[2]).start()
        return AnswerStanding()

    def stop(self, key: Key) -> None:
        """Stop working an answer out."""
        with self._lock:
            standing = self._known.get(key)
            if standing is not None and standing.answer is None:
                self._unwanted.add(key)
                self._known[key] = replace(standing, stopped=True)

    def again(self, key: Key) -> None:
        """Work out after all what was stopped, or what came to no answer."""
        with self._lock:
            standing = self._known.get(key)
            if standing is not None and (standing.stopped or standing.refused is not None):
                del self._known[key]

    def close(self) -> None:
        """Stop everything that is being worked out."""
        with self._lock:
            self._unwanted.update(key for key, standing in self._known.items() if standing.answer is None)

    def _work(self, key: Key, work: Callable[[Tell], T]) -> None:
        def tell(done: int, of: int) -> None:
            with self._lock:
                if key in self._unwanted:
                    raise Stopped(done, of)
                self._known[key] = AnswerStanding(done=done, of=of)

        with self._turn:
            try:
                tell(0, 0)
                answer = AnswerStanding(answer=work(tell))
            except Stopped:
                return
            except Refusal as refusal:
                answer = AnswerStanding(refused=refusal)
            except Exception as fault:  # noqa: BLE001  # whoever waits is told, whatever it was
                answer = AnswerStanding(
                    refused=NoAnswer(key[2], (f"It came to no end ({type(fault).__name__}: {fault}).",))
                )
        with self._lock:
            if key not in self._unwanted:
                self._keep(key, answer)

    def _keep(self, key: Key, standing: AnswerStanding[T]) -> None:
        self._known[key] = standing
        self._known.move_to_end(key)
        while len(self._known) > self._most:
            self._known.popitem(last=False)
