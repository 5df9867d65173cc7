"""What do the rules find in the job as it stands now, without anybody waiting for it?

A process of its own checks one job after another, each in its newest revision; typing goes on meanwhile. Work for a
revision that is no longer the newest of its job is stopped, and the job stands at the end of the line again: whoever
types all day holds nobody else up. Answers are kept by what the sheets say, so that taking an edit back gives the
findings back at once. The process keeps the cars of the jobs checked last: the check after an edit takes over from the
car before it whatever the edit left alone.
"""

from __future__ import annotations

import gc
import logging
import multiprocessing
from collections import OrderedDict
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from functools import partial
from multiprocessing.connection import Connection
from threading import RLock
from typing import Any

from loomwright.car import Car, Checked
from loomwright.job.decided import digest_of
from loomwright.job.job import Job
from loomwright.job.schema import RECORDS, SHEETS
from loomwright.pages.ending import deaf_to_hand, end_with_server
from loomwright.refusals import BadDocument, Problem, Refusal, Stopped
from loomwright.store.snapshot import Snapshot

__all__ = ["MADE_BETWEEN_LOOKS", "CheckBench", "Standing"]

MADE_BETWEEN_LOOKS = 20_000
"""So many are made before the process looks for what nobody holds: a check makes many and leaves hardly any. [-]"""
_KEPT = 32
_DIGESTS_KEPT = 64
_CARS_KEPT = 2
"""Jobs whose last car is kept in the process; a large one holds some 150 MB of solved states. [-]"""
_KILLED_MOST = 2
"""How often the process may be killed over one and the same job before nobody tries that again. [-]"""
_OF_THE_SHOP = ("wishes", "hours", "snags", "questions")
"""Sheets that no rule looks at."""
_COUNTED = (*(sheet for sheet in SHEETS if sheet not in (*RECORDS, *_OF_THE_SHOP)), "decisions")
_log = logging.getLogger(__name__)
_shared: dict[str, Any] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How far the check of a revision is.

    revision: the one asked about. [-]   problems: why it cannot be checked as it is: rows that make no job yet, or a
    check that came to no end.   done, of: states solved and to solve while it is worked out. [-]   ahead: other jobs
    that are checked first. [-]   stopped: a person stopped it.
    """

    revision: int
    checked: Checked | None = None
    problems: tuple[Problem, ...] = ()
    done: int = 0
    of: int = 0
    ahead: int = 0
    stopped: bool = False

    @property
    def is_known(self) -> bool:
        """Whether the findings are there."""
        return self.checked is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wanted:
    """A job that is to be checked. name: on the shelf.   digest: of what counts in it."""

    name: str
    digest: str
    job: Job


class CheckBench:
    """Checks jobs one after another in a process of its own."""

    def __init__(self) -> None:
        context = multiprocessing.get_context("spawn")
        # without locks: a process that is killed while it holds one would hold it for ever
        self._turn_wanted = context.Value("q", 0, lock=False)
        self._progress = context.Array("q", 2, lock=False)
        self._context = context
        self._pool = self._new_pool()
        self._kept: OrderedDict[str, Checked | tuple[Problem, ...]] = OrderedDict()
        self._digests: OrderedDict[int, tuple[Job, str]] = OrderedDict()
        self._line: OrderedDict[str, _Wanted] = OrderedDict()
        self._running: _Wanted | None = None
        self._stopped: set[str] = set()
        self._killed: dict[str, int] = {}
        self._turn = 0
        self._is_closed = False
        self._lock = RLock()

    def warm(self) -> None:
        """Have the process started and its compiled code loaded before anybody waits for it."""
        with deaf_to_hand():
            self._pool.submit(_warm)

    def look(self, snapshot: Snapshot) -> Standing:
        """How far the check of a snapshot is; stands it in line where nobody has."""
        job = snapshot.job
        if job is None:
            return Standing(revision=snapshot.revision, problems=snapshot.problems)
        with self._lock:
            digest = self._digest(job)
            known = self._kept.get(digest)
            if known is not None:
                self._kept.move_to_end(digest)
                if isinstance(known, Checked):
                    return Standing(revision=snapshot.revision, checked=known)
                return Standing(revision=snapshot.revision, problems=known)
            if digest in self._stopped:
                return Standing(revision=snapshot.revision, stopped=True)
            self._ask_for(_Wanted(name=snapshot.name, digest=digest, job=job))
            return self._standing(snapshot.revision, snapshot.name, digest)

    def stop(self, snapshot: Snapshot) -> None:
        """Stop checking a snapshot; it is not begun again until it is asked for with `again`."""
        job = snapshot.job
        if job is None:
            return
        with self._lock:
            digest = self._digest(job)
            self._stopped.add(digest)
            waiting = self._line.get(snapshot.name)
            if waiting is not None and waiting.digest == digest:
                del self._line[snapshot.name]
            if self._running is not None and self._running.digest == digest:
                self._halt()

    def again(self, snapshot: Snapshot) -> None:
        """Check a snapshot after all: one that somebody stopped, or whose check came to no end."""
        if snapshot.job is None:
            return
        with self._lock:
            digest = self._digest(snapshot.job)
            self._stopped.discard(digest)
            self._killed.pop(digest, None)
            if not isinstance(self._kept.get(digest), Checked):
                self._kept.pop(digest, None)

    def close(self) -> None:
        """Stop what runs and let the process go."""
        with self._lock:
            self._is_closed = True
            self._line.clear()
            self._halt()
        self._pool.shutdown(wait=False, cancel_futures=True)
        self._held.close()  # the process leaves on the spot, and nobody waits for what it was at

    def _digest(self, job: Job) -> str:
        """What tells one job from another; a snapshot is looked at many times and counted once."""
        known = self._digests.get(id(job))
        if known is None:
            known = self._digests[id(job)] = (job, digest_of(job, _COUNTED))
            while len(self._digests) > _DIGESTS_KEPT:
                self._digests.popitem(last=False)
        return known[1]

    def _standing(self, revision: int, name: str, digest: str) -> Standing:
        known = self._kept.get(digest)
        if isinstance(known, tuple):
            return Standing(revision=revision, problems=known)
        if self._running is not None and self._running.digest == digest:
            done, of = self._progress[:]
            return Standing(revision=revision, done=int(done), of=int(of))
        ahead = list(self._line).index(name) if name in self._line else 0
        return Standing(revision=revision, ahead=ahead + (self._running is not None))

    def _ask_for(self, wanted: _Wanted) -> None:
        """Stand a job in line in its newest revision; an older one of it is not worked on any more."""
        running = self._running
        if running is not None and running.digest == wanted.digest:
            self._line.pop(wanted.name, None)
            return
        self._line[wanted.name] = wanted
        if running is not None and running.name == wanted.name:
            self._halt()
        self._begin()

    def _halt(self) -> None:
        self._turn_wanted.value = -1

    def _begin(self) -> None:
        """Begin the first in the line, where nothing runs."""
        if self._running is not None or not self._line or self._is_closed:
            return
        _, wanted = self._line.popitem(last=False)
        self._turn += 1
        self._running = wanted
        self._turn_wanted.value = self._turn
        self._progress[:] = [0, 0]
        try:
            future = self._asked(wanted)
        except BrokenProcessPool:
            # the process was killed from outside: another one takes its place
            self._pool = self._new_pool()
            future = self._asked(wanted)
        except RuntimeError:
            # the program ends, and its pool was let go before this bench was closed: nobody waits for a check any more
            self._is_closed, self._running = True, None
            return
        future.add_done_callback(partial(self._ended, wanted))

    def _ended(self, wanted: _Wanted, future: Future[Checked | tuple[Problem, ...] | None]) -> None:
        """Keep what has become known, and begin the next."""
        with self._lock:
            self._running = None
            fault = None if future.cancelled() else future.exception()
            if fault is None and not future.cancelled():
                self._keep(wanted.digest, future.result())
            elif isinstance(fault, BrokenProcessPool):
                self._was_killed(wanted)
            elif fault is not None:
                self._keep(wanted.digest, _no_end(fault))
            self._begin()

    def _was_killed(self, wanted: _Wanted) -> None:
        """Somebody, or a machine short of memory, took the process away: tried again, but not for ever."""
        self._killed[wanted.digest] = self._killed.get(wanted.digest, 0) + 1
        if self._is_closed:
            return
        self._pool = self._new_pool()
        if self._killed[wanted.digest] < _KILLED_MOST:
            self._line.setdefault(wanted.name, wanted)
        else:
            self._keep(wanted.digest, (_problem("its process was ended from outside"),))

    def _keep(self, digest: str, known: Checked | tuple[Problem, ...] | None) -> None:
        if known is None:
            return
        self._kept[digest] = known
        while len(self._kept) > _KEPT:
            self._kept.popitem(last=False)

    def _asked(self, wanted: _Wanted) -> Future[Checked | tuple[Problem, ...] | None]:
        with deaf_to_hand():
            return self._pool.submit(_check, self._turn, wanted.name, wanted.job)

    def _new_pool(self) -> ProcessPoolExecutor:
        theirs, self._held = self._context.Pipe(duplex=False)
        return ProcessPoolExecutor(1, self._context, _share, (self._turn_wanted, self._progress, theirs))


def _no_end(fault: BaseException) -> tuple[Problem, ...]:
    """What a page says of a check that came to no end."""
    if isinstance(fault, BadDocument):
        return fault.problems
    if isinstance(fault, Refusal):
        return (Problem(sheet="", row=None, column="", found=str(fault), allowed="", mend=""),)
    return (_problem(f"{type(fault).__name__}: {fault}"),)


def _problem(words: str) -> Problem:
    mend = "Check it again; if it ends so once more, take back what was changed last and keep a copy of the job"
    return Problem(sheet="", row=None, column="", found=f"the check came to no end: {words}", allowed="", mend=mend)


def _share(wanted: Any, progress: Any, held: Connection) -> None:
    end_with_server(held)
    _shared["wanted"], _shared["progress"] = wanted, progress


def _warm() -> None:
    from loomwright.examples.shelf import example_folder
    from loomwright.sheets.csv_folder import open_folder

    Car(open_folder(example_folder("tourer"))).solve(key="run")
    # what is loaded stays: looking through all of it again took a tenth of a second of every check after an edit
    gc.collect()
    gc.freeze()
    gc.set_threshold(MADE_BETWEEN_LOOKS)


def _car_of(name: str, job: Job) -> Car:
    """The car of a job, after the one that was checked last under its name."""
    cars: OrderedDict[str, Car] = _shared.setdefault("cars", OrderedDict())
    before = cars.pop(name, None)
    car = cars[name] = Car.begun(job) if before is None else before.after(job)
    while len(cars) > _CARS_KEPT:
        cars.popitem(last=False)
    return car


def _check(turn: int, name: str, job: Job) -> Checked | tuple[Problem, ...] | None:
    """The check of one job, or why it came to no end; None where it is not wanted any more."""
    wanted, progress = _shared["wanted"], _shared["progress"]

    def tell(done: int, of: int) -> None:
        if wanted.value != turn:
            raise Stopped(done, of)
        progress[:] = [done, of]

    if wanted.value != turn:
        return None
    try:
        return _car_of(name, job).check(tell)
    except Stopped:
        return None
    except Exception as fault:  # noqa: BLE001  # whatever it was, the person at the page is told and the next job is checked
        _shared.pop("cars", None)
        _log.exception("the check came to no end")
        return _no_end(fault)
