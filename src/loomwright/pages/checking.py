"""What do the rules find in the job as it stands now, without anybody waiting for it?

A process of its own checks the newest revision of a job; typing goes on meanwhile. Work for a revision that is no
longer the newest is stopped. Answers are kept by what the sheets say, so that taking an edit back gives the findings
back at once.
"""

from __future__ import annotations

import multiprocessing
from collections import OrderedDict
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from threading import Lock
from typing import Any

from loomwright.car import Car, Checked
from loomwright.job.decided import digest_of
from loomwright.job.job import Job
from loomwright.job.schema import RECORDS, SHEETS
from loomwright.refusals import Problem, Stopped
from loomwright.store.snapshot import Snapshot

__all__ = ["CheckBench", "Standing"]

_KEPT = 32
_COUNTED = (*(sheet for sheet in SHEETS if sheet not in RECORDS), "decisions")
_shared: dict[str, Any] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How far the check of a revision is.

    revision: the one asked about. [-]   problems: what has to fit first, where the rows make no job yet.
    done, of: states solved and to solve while it is worked out. [-]   stopped: a person stopped it.
    """

    revision: int
    checked: Checked | None = None
    problems: tuple[Problem, ...] = ()
    done: int = 0
    of: int = 0
    stopped: bool = False

    @property
    def is_known(self) -> bool:
        """Whether the findings are there."""
        return self.checked is not None


class CheckBench:
    """Checks jobs one after another in a process of its own."""

    def __init__(self) -> None:
        context = multiprocessing.get_context("spawn")
        self._wanted = context.Value("q", 0)
        self._progress = context.Array("q", 2)
        self._pool = ProcessPoolExecutor(1, context, _share, (self._wanted, self._progress))
        self._context = context
        self._kept: OrderedDict[str, Checked] = OrderedDict()
        self._running: tuple[str, str, Future[Checked | None]] | None = None
        self._stopped: set[str] = set()
        self._turn = 0
        self._lock = Lock()

    def warm(self) -> None:
        """Have the process started and its compiled code loaded before anybody waits for it."""
        self._pool.submit(_warm)

    def look(self, snapshot: Snapshot) -> Standing:
        """How far the check of a snapshot is; begins it where nobody has."""
        job = snapshot.job
        if job is None:
            return Standing(revision=snapshot.revision, problems=snapshot.problems)
        digest = digest_of(job, _COUNTED)
        with self._lock:
            self._gather()
            known = self._kept.get(digest)
            if known is not None:
                self._kept.move_to_end(digest)
                return Standing(revision=snapshot.revision, checked=known)
            if digest in self._stopped:
                return Standing(revision=snapshot.revision, stopped=True)
            if self._running is None or self._running[:2] != (snapshot.name, digest):
                self._begin(snapshot.name, digest, job)
            done, of = self._progress[:]
            return Standing(revision=snapshot.revision, done=int(done), of=int(of))

    def stop(self, snapshot: Snapshot) -> None:
        """Stop checking a snapshot; it is not begun again until it is asked for with `again`."""
        job = snapshot.job
        if job is None:
            return
        with self._lock:
            self._stopped.add(digest_of(job, _COUNTED))
            self._wanted.value = -1
            self._running = None

    def again(self, snapshot: Snapshot) -> None:
        """Check a snapshot that somebody stopped after all."""
        if snapshot.job is not None:
            with self._lock:
                self._stopped.discard(digest_of(snapshot.job, _COUNTED))

    def close(self) -> None:
        """Stop what runs and let the process go."""
        self._wanted.value = -1
        self._pool.shutdown(wait=False, cancel_futures=True)

    def _begin(self, name: str, digest: str, job: Job) -> None:
        self._turn += 1
        self._wanted.value = self._turn
        self._progress[:] = [0, 0]
        try:
            future = self._pool.submit(_check, self._turn, job)
        except BrokenProcessPool:
            # the process was killed from outside: another one takes its place
            self._pool = ProcessPoolExecutor(1, self._context, _share, (self._wanted, self._progress))
            future = self._pool.submit(_check, self._turn, job)
        self._running = (name, digest, future)

    def _gather(self) -> None:
        """Keep what has become known since."""
        if self._running is None or not self._running[2].done():
            return
        _, digest, future = self._running
        self._running = None
        fault = future.exception()
        checked = None if fault is not None else future.result()
        if isinstance(fault, Exception) and not isinstance(fault, BrokenProcessPool):
            raise fault
        if checked is not None:
            self._kept[digest] = checked
            while len(self._kept) > _KEPT:
                self._kept.popitem(last=False)


def _share(wanted: Any, progress: Any) -> None:
    _shared["wanted"], _shared["progress"] = wanted, progress


def _warm() -> None:
    from loomwright.examples.shelf import example_folder
    from loomwright.sheets.csv_folder import open_folder

    Car(open_folder(example_folder("tourer"))).solve(key="run")


def _check(turn: int, job: Job) -> Checked | None:
    """The check of one job, None where another one is wanted meanwhile."""
    wanted, progress = _shared["wanted"], _shared["progress"]

    def tell(done: int, of: int) -> None:
        if wanted.value != turn:
            raise Stopped(done, of)
        progress[:] = [done, of]

    if wanted.value != turn:
        return None
    try:
        return Car(job).check(tell)
    except Stopped:
        return None
