"""Which answers of a job still stand after an edit?

Every answer is kept with the jobs it was worked out for, the cells that were read meanwhile (`cells_read`), and what it
took beside the job. It stands for another job where none of those cells has changed and the rest is the very same.
Memory is bounded: of each answer the newest few are kept, and names not asked for go, the longest unasked first.

An answer may hold questions that read more cells when they are asked later: those are added to the cells it rests on
(`Standing.cells`). Where one looks later still at a cell that has changed since, `Answering.is_stale` tells.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass, field
from functools import partial
from itertools import count
from threading import RLock
from typing import Any, Generic, TypeVar

from loomwright.job.cell_set import Cells
from loomwright.job.cells_read import Ledger, changed_cells, noted
from loomwright.job.job import Job

__all__ = ["Answering", "KeptAnswers", "Standing"]

Answer = TypeVar("Answer")
Jobs = Mapping[str, Job]
"""The jobs of one car by what their cells go by: as typed, with what was decided, as solved."""

Reads = Sequence[Callable[[], AbstractContextManager[None]]]
"""For each of several answers, what is entered to read for it alone."""

_Difference = tuple[Jobs, Jobs, Cells]
_KEPT_MOST = 4
"""A step or two back is often taken back again: so many revisions' answers are kept [-]."""
_NAMES_MOST = 160
_DIFFERENCES_MOST = 32


@dataclass(eq=False, slots=True)
class Standing(Generic[Answer]):
    """An answer and what it rests on. beside: what it took that is no cell.   car: the number of the car it is of."""

    value: Answer
    jobs: Jobs
    car: int
    beside: tuple[object, ...]
    cells: Cells


@dataclass(eq=False, slots=True)
class KeptAnswers:
    """Answers carried from one revision of a job to the next; may be asked from several threads."""

    ledger: Ledger = field(default_factory=Ledger)
    cars: Iterator[int] = field(default_factory=count)
    _kept: OrderedDict[str, list[Standing[Any]]] = field(default_factory=OrderedDict)
    _differences: OrderedDict[tuple[int, int], _Difference] = field(default_factory=OrderedDict)
    _lock: RLock = field(default_factory=RLock)

    def find(self, name: str, jobs: Jobs, beside: tuple[object, ...]) -> Standing[Any] | None:
        """The answer of that name that stands for these jobs; None where none does."""
        with self._lock:
            if name in self._kept:
                self._kept.move_to_end(name)
            for one in reversed(self._kept.get(name, [])):
                if _same(one.beside, beside) and one.cells.isdisjoint(self.changed(one.jobs, jobs)):
                    found: Standing[Any] = one
                    return found
        return None

    def keep(self, name: str, answer: Standing[Any], most: int = _KEPT_MOST) -> None:
        """Keep an answer as the newest of its name."""
        with self._lock:
            kept = self._kept.setdefault(name, [])
            kept.append(answer)
            del kept[:-most]
            while len(self._kept) > _NAMES_MOST:
                self._kept.popitem(last=False)

    def alike(self, name: str, value: Answer) -> Answer:
        """The same value as it was kept under that name; the value itself, kept from now on, where there is none."""
        with self._lock:
            for one in self._kept.get(name, []):
                if one.value == value:
                    found: Answer = one.value
                    return found
            self.keep(name, Standing(value, {}, -1, (), Cells()))
        return value

    def newest(self, name: str) -> Any | None:
        """What was kept last under that name, whether it stands or not."""
        with self._lock:
            kept = self._kept.get(name)
            return kept[-1].value if kept else None

    def values(self, name: str) -> tuple[Any, ...]:
        """What is kept under that name, whether it stands or not."""
        with self._lock:
            return tuple(one.value for one in self._kept.get(name, ()))

    def forget(self) -> None:
        """Let go of every answer."""
        with self._lock:
            self._kept.clear()

    def changed(self, old: Jobs, new: Jobs) -> Cells:
        """The cells that differ between the jobs of two cars."""
        place = (id(old), id(new))
        with self._lock:
            known = self._differences.get(place)
            if known is None:
                found = Cells()
                found.update(*(changed_cells(old[which], new[which], which) for which in new))
                known = self._differences[place] = (old, new, found)
                while len(self._differences) > _DIFFERENCES_MOST:
                    self._differences.popitem(last=False)
        return known[2]


def _same(one: tuple[object, ...], other: tuple[object, ...]) -> bool:
    """Whether both hold the very same things; plain words and tuples of them count by what they say."""
    if len(one) != len(other):
        return False
    return all(a is b or (isinstance(a, str | tuple) and a == b) for a, b in zip(one, other, strict=True))


class Answering:
    """The answers of one car: taken from those kept where they stand, else worked out; afresh where nothing is kept."""

    def __init__(self, jobs: Jobs, kept: KeptAnswers | None = None) -> None:
        self._kept = kept
        self._jobs = jobs
        self._car = -1 if kept is None else next(kept.cars)
        self._noted: dict[str, Job] = {}
        self._taken: dict[int, Jobs] = {}
        self._always = Cells()

    @property
    def keeps(self) -> bool:
        """Whether answers are kept for the next car."""
        return self._kept is not None

    def job(self, which: str) -> Job:
        """One of the car's jobs, to be read for an answer."""
        kept = self._kept
        if kept is None:
            return self._jobs[which]
        if which not in self._noted:
            self._noted[which] = noted(self._jobs[which], which, kept.ledger, self._car)
        return self._noted[which]

    def for_all(self, make: Callable[[], Answer]) -> Answer:
        """What every answer from now on is worked out from; it is made anew, and all rest on what it reads."""
        if self._kept is None:
            return make()
        with self._kept.ledger.noting() as cells:
            value = make()
            self._kept.ledger.show_for_good()
        self._always.update(cells)
        return value

    def of(self, name: str, beside: tuple[object, ...], make: Callable[[], Answer], most: int = _KEPT_MOST) -> Answer:
        """The answer of that name.

        Args:
            beside: what `make` takes that is not read from the car's jobs.
            most: how many of this name are kept. [-]
        """
        return self.standing(name, beside, make, most).value

    def standing(
        self, name: str, beside: tuple[object, ...], make: Callable[[], Answer], most: int = _KEPT_MOST
    ) -> Standing[Answer]:
        """The answer of that name with what it rests on."""
        return self.each(((name, beside),), lambda _places, _reads: (make(),), most)[0]

    def each(
        self,
        asked: Sequence[tuple[str, tuple[object, ...]]],
        make: Callable[[Sequence[int], Reads], Sequence[Answer]],
        most: int = _KEPT_MOST,
    ) -> list[Standing[Answer]]:
        """Several answers, those that do not stand worked out together.

        Args:
            asked: the name of each and what it takes beside the job.
            make: works out those of which it is given the places; where it reads for the k-th of them alone it does so
                within the k-th reading, else all rest on it.
            most: how many of each name are kept. [-]
        """
        kept = self._kept
        if kept is None:
            values = make(range(len(asked)), tuple(nullcontext for _ in asked))
            return [Standing(v, {}, -1, b, Cells()) for v, (_, b) in zip(values, asked, strict=True)]
        found: list[Standing[Answer] | None] = [kept.find(name, self._jobs, beside) for name, beside in asked]
        missing = [k for k, one in enumerate(found) if one is None]
        for one in found:
            if one is not None:
                kept.ledger.note(one.cells)
                kept.ledger.note_late(self._car, one.cells)
                self._taken[one.car] = one.jobs
        if missing:
            alone = [Cells() for _ in missing]
            with kept.ledger.noting() as cells:
                values = make(missing, tuple(partial(kept.ledger.apart, own) for own in alone))
            for k, value, own in zip(missing, values, alone, strict=True):
                name, beside = asked[k]
                own.update(cells, self._always)
                found[k] = Standing(value, self._jobs, self._car, beside, own)
                kept.keep(name, found[k], most)  # type: ignore[arg-type]
        return [one for one in found if one is not None]

    def of_each(
        self,
        name: str,
        beside: tuple[object, ...],
        items: Sequence[object],
        make: Callable[[Sequence[int]], Sequence[Answer]],
    ) -> list[Answer]:
        """The answer for each of several things; the very things that were asked about before keep theirs.

        Args:
            beside: what `make` takes that is not read from the car's jobs, for all of them.
            make: works out those of which it is given the places.
        """
        kept = self._kept
        if kept is None:
            return list(make(range(len(items))))
        none: dict[int, tuple[object, Answer]] = {}
        standing = self.standing(name, beside, lambda: none)
        known = dict(standing.value)
        new = [place for place, item in enumerate(items) if id(item) not in known]
        if new:
            with kept.ledger.apart(standing.cells):
                answers = make(new)
            known |= {id(items[place]): (items[place], answer) for place, answer in zip(new, answers, strict=True)}
        standing.value = {id(item): known[id(item)] for item in items}
        return [known[id(item)][1] for item in items]

    def alike(self, name: str, value: Answer) -> Answer:
        """The same value as an earlier car had it, so that what rests on it stands."""
        return value if self._kept is None else self._kept.alike(name, value)

    def newest(self, name: str) -> Any | None:
        """What was answered last under that name, whether it stands or not; for answers that may come out the same."""
        return None if self._kept is None else self._kept.newest(name)

    def all_of(self, name: str) -> tuple[Any, ...]:
        """What was answered under that name for the newest cars, whether it stands or not."""
        return () if self._kept is None else self._kept.values(name)

    @contextmanager
    def at_work(self) -> Iterator[dict[int, Cells]]:
        """What is looked at inside in the rows of earlier cars, by their numbers."""
        if self._kept is None:
            yield {}
            return
        with self._kept.ledger.at_work(self._car) as late:
            yield late

    def is_stale(self, late: Mapping[int, Cells]) -> bool:
        """Whether a question looked, in the rows of an earlier car, at a cell that has changed since."""
        kept = self._kept
        if kept is None:
            return False
        return any(
            car not in self._taken or not cells.isdisjoint(kept.changed(self._taken[car], self._jobs))
            for car, cells in late.items()
        )

    def afresh(self) -> Answering:
        """The same car answered from nothing; what was kept is let go."""
        if self._kept is not None:
            self._kept.forget()
        return Answering(self._jobs)
