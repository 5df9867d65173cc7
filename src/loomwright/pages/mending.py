"""The mends of a finding, worked out in a process of its own, so that pages answer meanwhile."""

from __future__ import annotations

import hashlib
import multiprocessing
from collections.abc import Callable
from typing import Any

from loomwright.car import Car
from loomwright.findings import Finding
from loomwright.job.job import Job
from loomwright.refusals import NoAnswer, Refusal, Stopped
from loomwright.trials.mend import Mends, key_of

__all__ = ["mark_of", "mends_apart"]

_LETTERS = 12
_LISTENS_S = 0.5


def mark_of(finding: Finding) -> str:
    """A short word for a finding, the same as long as its rule, places and words are."""
    return hashlib.sha256(repr(key_of(finding)).encode()).hexdigest()[:_LETTERS]


def mends_apart(job: Job, among: tuple[Finding, ...], finding: Finding, tell: Callable[[int, int], None]) -> Mends:
    """The mends of a finding; the process is killed where `tell` raises.

    Args:
        among: what the check of the job found.
        tell: called with ideas tried and to try; may raise Stopped.
    Raises:
        NoAnswer: the process was ended from outside.
    """
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe(duplex=False)
    process = context.Process(target=_work, args=(job, among, finding, there), daemon=True)
    process.start()
    there.close()
    done, of = 0, 0
    try:
        while True:
            if here.poll(_LISTENS_S):
                word, told = here.recv()
                if word == "mends":
                    found: Mends = told
                    return found
                if word == "refused":
                    raise told
                done, of = told
            tell(done, of)
    except (EOFError, OSError):
        raise NoAnswer("the mends", ("Its process was ended from outside; try again.",)) from None
    finally:
        process.kill()
        process.join()
        here.close()


def _work(job: Job, among: tuple[Finding, ...], finding: Finding, pipe: Any) -> None:
    def tell(done: int, of: int) -> None:
        pipe.send(("told", (done, of)))

    try:
        pipe.send(("mends", Car(job).mends(finding, tell, among=among)))
    except Stopped:
        pass
    except Refusal as refusal:
        pipe.send(("refused", NoAnswer("the mends", (str(refusal),))))
    finally:
        pipe.close()
