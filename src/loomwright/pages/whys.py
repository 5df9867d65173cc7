"""Why is a cell what it is, worked out without anybody waiting for it?

The limits of a size that nobody kept take seconds: every state is looked at. One piece of work goes on at a time, in a
thread of its own; it tells how far it is and can be stopped. What is worked out is kept by job, revision and cell.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, replace
from threading import Lock, Thread

from loomwright.car import Car
from loomwright.refusals import NoAnswer, Refusal, Stopped
from loomwright.sizing.why import Why

__all__ = ["WhyBench", "WhyStanding"]

_KEPT = 64
_Key = tuple[str, int, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyStanding:
    """How far an answer is. done, of: states looked at and to look at. [-]   refused: why there is none."""

    why: Why | None = None
    done: int = 0
    of: int = 0
    stopped: bool = False
    refused: Refusal | None = None


class WhyBench:
    """Works out one answer after another."""

    def __init__(self) -> None:
        self._known: OrderedDict[_Key, WhyStanding] = OrderedDict()
        self._unwanted: set[_Key] = set()
        self._lock = Lock()
        self._turn = Lock()

    def look(self, key: _Key, car: Car) -> WhyStanding:
        """How far the answer of a cell is; begins it where nobody has.

        Args:
            key: job, revision and cell.
        """
        with self._lock:
            standing = self._known.get(key)
            if standing is not None:
                return standing
            self._keep(key, WhyStanding())
            self._unwanted.discard(key)
        Thread(target=self._work, args=(key, car), daemon=True, name="why").start()
        return WhyStanding()

    def stop(self, key: _Key) -> None:
        """Stop working an answer out."""
        with self._lock:
            standing = self._known.get(key)
            if standing is not None and standing.why is None:
                self._unwanted.add(key)
                self._known[key] = replace(standing, stopped=True)

    def again(self, key: _Key) -> None:
        """Work out after all what was stopped."""
        with self._lock:
            standing = self._known.get(key)
            if standing is not None and standing.stopped:
                del self._known[key]

    def close(self) -> None:
        """Stop everything that is being worked out."""
        with self._lock:
            self._unwanted.update(key for key, standing in self._known.items() if standing.why is None)

    def _work(self, key: _Key, car: Car) -> None:
        def tell(done: int, of: int) -> None:
            with self._lock:
                if key in self._unwanted:
                    raise Stopped(done, of)
                self._known[key] = WhyStanding(done=done, of=of)

        with self._turn:
            try:
                tell(0, 0)
                answer = WhyStanding(why=car.why(key[2], tell))
            except Stopped:
                return
            except Refusal as refusal:
                answer = WhyStanding(refused=refusal)
            except Exception as fault:  # noqa: BLE001  # whoever waits is told, whatever it was
                answer = WhyStanding(
                    refused=NoAnswer(key[2], (f"It came to no end ({type(fault).__name__}: {fault}).",))
                )
        with self._lock:
            if key not in self._unwanted:
                self._keep(key, answer)

    def _keep(self, key: _Key, standing: WhyStanding) -> None:
        self._known[key] = standing
        self._known.move_to_end(key)
        while len(self._known) > _KEPT:
            self._known.popitem(last=False)
