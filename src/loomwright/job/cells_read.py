"""Which cells of a job does a piece of work read, and which of them has an edit changed?

`noted` gives a job that looks like any other and notes every cell that is read in it, in a `Ledger`. What is worked
out from such a job hangs on the cells noted meanwhile and on nothing else of the job; where an edit changed none of
them it would be worked out to the last digit as it was. Which rows a sheet has counts as a cell of its own.

In: jobs. Out: sets of cells (which job, sheet, row, column).
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import fields
from functools import cache
from threading import local
from typing import Any

from loomwright.job.job import Job
from loomwright.job.row import Row
from loomwright.job.schema import SHEETS

__all__ = ["Cell", "Ledger", "changed_cells", "noted"]

Cell = tuple[str, str, int, str]
"""Which job, sheet, row counted from 0, name of the row's field; -1 and nothing: which rows there are. [-]"""

_ROWS = -1


class Ledger:
    """Notes cells while something is worked out; each thread has pages of its own.

    Jobs carry the number of the car they are of. What is read in the jobs of another car than the one at work is noted
    apart (`late`): questions made for an earlier car may still look at its rows.

    Example:
        >>> from loomwright.job.rows import Wire
        >>> ledger = Ledger()
        >>> job = noted(Job(wires=(Wire(id="W1", colour="RD"),)), "typed", ledger, 1)
        >>> with ledger.noting() as cells:
        ...     _ = job.wires[0].id
        >>> sorted(cells)
        [('typed', 'wires', -1, ''), ('typed', 'wires', 0, 'id')]
    """

    def __init__(self) -> None:
        self._local = local()

    @contextmanager
    def noting(self) -> Iterator[set[Cell]]:
        """The cells read inside; they are noted for whatever is being noted around it as well."""
        pages: list[set[Cell]] = self._pages()
        page: set[Cell] = set()
        pages.append(page)
        try:
            yield page
        finally:
            pages.pop()
            if pages:
                pages[-1] |= page

    @contextmanager
    def apart(self, cells: set[Cell]) -> Iterator[None]:
        """The cells read inside are added to these, and noted for nothing around it."""
        pages = self._pages()
        pages.append(set())
        try:
            yield
        finally:
            cells |= pages.pop()

    @contextmanager
    def at_work(self, car: int) -> Iterator[set[tuple[int, Cell]]]:
        """What is read inside in the jobs of other cars than this one, with the car's number."""
        before = self._local.__dict__.get("work")
        late: set[tuple[int, Cell]] = set()
        self._local.work = (car, late)
        try:
            yield late
        finally:
            self._local.work = before

    def note(self, *cells: Cell) -> None:
        """Cells that were read, or that something rests on which was read."""
        pages = self._pages()
        if pages:
            pages[-1].update(cells)

    def read(self, car: int, cell: Cell) -> None:
        """A cell that is read in a job of a car."""
        pages = self._pages()
        if pages:
            pages[-1].add(cell)
        work = self._local.__dict__.get("work")
        if work is not None and work[0] != car:
            work[1].add((car, cell))

    def _pages(self) -> list[set[Cell]]:
        try:
            found: list[set[Cell]] = self._local.pages
        except AttributeError:
            found = self._local.pages = []
        return found


def noted(job: Job, which: str, ledger: Ledger, car: int) -> Job:
    """The same job, what is read in it noted.

    Args:
        which: what its cells go by, where a car has several jobs: as typed, with what was decided.
        car: the number of the car it is of. [-]
    """
    copy = object.__new__(_NotedJob)
    for field in fields(Job):
        object.__setattr__(copy, field.name, getattr(job, field.name))
    object.__setattr__(copy, "_notes", (which, ledger, car, {}))
    return copy


def changed_cells(old: Job, new: Job, which: str) -> frozenset[Cell]:
    """The cells that are not the same in two jobs.

    Example:
        >>> from loomwright.job.rows import Wire
        >>> was, now = (Job(wires=(Wire(id="W1", colour=one),)) for one in ("RD", "BU"))
        >>> sorted(changed_cells(was, now, "typed"))
        [('typed', 'wires', 0, 'colour')]
    """
    if old is new:
        return frozenset()
    found: set[Cell] = set()
    for field in fields(Job):
        one, other = getattr(old, field.name), getattr(new, field.name)
        if one is other:
            continue
        if field.name not in SHEETS:
            found |= {(which, field.name, _ROWS, "")} if one != other else set()
            continue
        if len(one) != len(other):
            found.add((which, field.name, _ROWS, ""))
        for index, (row, its) in enumerate(zip(one, other, strict=False)):
            if row is not its:
                found |= {(which, field.name, index, name) for name in _differing(row, its)}
    return frozenset(found)


def _differing(one: Row, other: Row) -> Iterator[str]:
    for field in fields(one):
        if getattr(one, field.name) != getattr(other, field.name):
            yield field.name


class _NotedJob(Job):
    """A job that notes what is read. One made from it by an edit of its own notes nothing more: all was read then."""

    __slots__ = ("_notes",)

    def __getattribute__(self, name: str) -> Any:
        found = object.__getattribute__(self, name)
        if name not in _JOB_FIELDS:
            return found
        try:
            which, ledger, car, sheets = object.__getattribute__(self, "_notes")
        except AttributeError:
            return found
        ledger.read(car, (which, name, _ROWS, ""))
        if name not in SHEETS:
            return found
        if name not in sheets:
            sheets[name] = tuple(_noted_row(row, (ledger, car, which, name, index)) for index, row in enumerate(found))
        return sheets[name]


_JOB_FIELDS = frozenset(field.name for field in fields(Job))


def _noted_row(row: Row, place: tuple[Ledger, int, str, str, int]) -> Row:
    kind: type[Row] = _noted_type(type(row))  # type: ignore[arg-type]  # a type can always be hashed
    copy: Row = object.__new__(kind)
    for field in fields(row):
        object.__setattr__(copy, field.name, getattr(row, field.name))
    object.__setattr__(copy, "_place", place)
    return copy


@cache
def _noted_type(row_type: type[Row]) -> type[Row]:
    """A row type whose rows note what is read in them and are equal to those that do not."""
    names = frozenset(field.name for field in fields(row_type))

    def read(self: Row, name: str) -> Any:
        found = object.__getattribute__(self, name)
        if name in names:
            try:
                ledger, car, which, sheet, index = object.__getattribute__(self, "_place")
            except AttributeError:
                return found
            ledger.read(car, (which, sheet, index, name))
        return found

    def equal(self: Row, other: object) -> bool:
        return isinstance(other, row_type) and all(getattr(self, name) == getattr(other, name) for name in names)

    body = {"__slots__": ("_place",), "__getattribute__": read, "__eq__": equal, "__hash__": row_type.__hash__}
    found: type[Row] = type(row_type.__name__, (row_type,), body)
    return found
