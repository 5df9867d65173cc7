"""Which cells of a job does a piece of work read, and which of them has an edit changed?

`noted` gives a job that looks like any other and notes every cell that is read in it, in a `Ledger`. What is worked
out from such a job hangs on the cells noted meanwhile and on nothing else of the job; where an edit changed none of
them it would be worked out to the last digit as it was. Which rows a sheet has counts as a cell of its own.

A cell is noted where it is read for the first time while a page is open; from then on its value lies in the row itself
and is read as in any other row. Where another page is opened, or the page is closed, the row lets go of it.

In: jobs. Out: sets of cells (which job, sheet, row, column).
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import fields
from functools import cache
from threading import RLock, get_ident, local
from typing import Any

from loomwright.job.job import Job
from loomwright.job.row import Row
from loomwright.job.schema import SHEETS

__all__ = ["Cell", "Ledger", "changed_cells", "looked_at", "noted"]

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
        self._lock = RLock()
        self._owner = -1
        self._pages: list[set[Cell]] = []
        self._shown: list[tuple[Row, str]] = []

    @contextmanager
    def noting(self) -> Iterator[set[Cell]]:
        """The cells read inside; they are noted for whatever is being noted around it as well."""
        page: set[Cell] = set()
        try:
            with self._page(page):
                yield page
        finally:
            self.note(page)

    @contextmanager
    def apart(self, cells: set[Cell]) -> Iterator[None]:
        """The cells read inside are added to these, and noted for nothing around it."""
        with self._page(cells):
            yield

    @contextmanager
    def _page(self, page: set[Cell]) -> Iterator[None]:
        """A page is open; one thread at a time has any."""
        with self._lock:
            self._hide()
            self._pages.append(page)
            self._owner = get_ident()
            try:
                yield
            finally:
                self._hide()
                self._pages.pop()
                if not self._pages:
                    self._owner = -1

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

    def note(self, cells: Collection[Cell]) -> None:
        """Cells that were read, or that something rests on which was read."""
        if self._owner == get_ident():
            self._pages[-1].update(cells)

    def note_late(self, car: int, cells: Collection[Cell]) -> None:
        """Cells that something rests on which was asked of a car."""
        work = self._local.__dict__.get("work")
        if work is not None and work[0] != car:
            work[1].update((car, cell) for cell in cells)

    def read(self, car: int, cell: Cell) -> bool:
        """A cell that is read in a job of a car; whether it is noted."""
        work = self._local.__dict__.get("work")
        if work is not None and work[0] != car:
            work[1].add((car, cell))
        if self._owner != get_ident():
            return False
        self._pages[-1].add(cell)
        return True

    def read_all(self, car: int, cells: Collection[Cell]) -> None:
        """Cells that are read in a job of a car."""
        self.note_late(car, cells)
        self.note(cells)

    def show(self, row: Row, name: str, value: object) -> None:
        """Let a row show the value of a cell that the open page has, until another page is."""
        object.__setattr__(row, name, value)
        self._shown.append((row, name))

    def show_for_good(self) -> None:
        """What rows show now they go on showing, and it is noted no more: whoever asks rests everything on it."""
        self._shown.clear()

    def _hide(self) -> None:
        for row, name in self._shown:
            object.__delattr__(row, name)
        self._shown.clear()


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


def looked_at(row: Row, names: Collection[str]) -> Row:
    """The row itself, to read many cells of: those named are noted at once, as if each had been read.

    Args:
        row: one of a job that is noted, or any other.
    """
    place = getattr(row, "_place", None)
    if place is None:
        return row
    plain, ledger, car, which, sheet, index = place
    ledger.read_all(car, {(which, sheet, index, name) for name in names})
    found: Row = plain
    return found


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
    object.__setattr__(copy, "_place", (row, *place))
    return copy


@cache
def _noted_type(row_type: type[Row]) -> type[Row]:
    """A row type whose rows note what is read in them and are equal to those that do not."""
    names = frozenset(field.name for field in fields(row_type))

    def read(self: Row, name: str) -> Any:
        """Asked for what the row does not show."""
        if name not in names:
            raise AttributeError(name)
        row, ledger, car, which, sheet, index = object.__getattribute__(self, "_place")
        value = getattr(row, name)
        if ledger.read(car, (which, sheet, index, name)):
            ledger.show(self, name, value)
        return value

    def equal(self: Row, other: object) -> bool:
        return isinstance(other, row_type) and all(getattr(self, name) == getattr(other, name) for name in names)

    body = {"__slots__": ("_place",), "__getattr__": read, "__eq__": equal, "__hash__": row_type.__hash__}
    found: type[Row] = type(row_type.__name__, (row_type,), body)
    return found
