"""Which cells of a job does a piece of work read, and which of them has an edit changed?

`noted` gives a job that looks like any other and notes every cell that is read in it, in a `Ledger`. What is worked
out from such a job hangs on the cells noted meanwhile and on nothing else of the job; where an edit changed none of
them it would be worked out to the last digit as it was. Which rows a sheet has counts as a cell of its own.

A cell is noted where it is read for the first time while a page is open; from then on its value lies in the row itself
and is read as in any other row. Where another page is opened, or the page is closed, the row lets go of it.

In: jobs. Out: sets of cells (which job, sheet, row, column).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import fields
from functools import cache
from threading import RLock, get_ident, local
from typing import Any, TypeVar

from loomwright.job.cell_set import Cells, Column, row_bit
from loomwright.job.job import Job
from loomwright.job.row import Row
from loomwright.job.schema import SHEETS

__all__ = ["Ledger", "all_looked_at", "changed_cells", "looked_at", "noted"]

AnyRow = TypeVar("AnyRow", bound=Row)

_ROWS = row_bit(-1)


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
        self._pages: list[Cells] = []
        self._shown: list[tuple[Row, str]] = []

    @contextmanager
    def noting(self) -> Iterator[Cells]:
        """The cells read inside; they are noted for whatever is being noted around it as well."""
        page = Cells()
        try:
            with self._page(page):
                yield page
        finally:
            self.note(page)

    @contextmanager
    def apart(self, cells: Cells) -> Iterator[None]:
        """The cells read inside are added to these, and noted for nothing around it."""
        with self._page(cells):
            yield

    @contextmanager
    def _page(self, page: Cells) -> Iterator[None]:
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
    def at_work(self, car: int) -> Iterator[dict[int, Cells]]:
        """What is read inside in the jobs of other cars than this one, by the car's number."""
        before = self._local.__dict__.get("work")
        late: dict[int, Cells] = {}
        self._local.work = (car, late)
        try:
            yield late
        finally:
            self._local.work = before

    def note(self, cells: Cells) -> None:
        """Cells that were read, or that something rests on which was read."""
        if self._owner == get_ident():
            self._pages[-1].update(cells)

    def note_late(self, car: int, cells: Cells) -> None:
        """Cells that something rests on which was asked of a car."""
        work = self._local.__dict__.get("work")
        if work is not None and work[0] != car:
            work[1].setdefault(car, Cells()).update(cells)

    def read(self, car: int, column: Column, bits: int) -> bool:
        """Rows of a column that are read in a job of a car; whether they are noted."""
        work = self._local.__dict__.get("work")
        if work is not None and work[0] != car:
            work[1].setdefault(car, Cells()).add(column, bits)
        if self._owner != get_ident():
            return False
        self._pages[-1].add(column, bits)
        return True

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
    plain, ledger, car, columns, bit = place
    for name in names:
        ledger.read(car, columns[name], bit)
    found: Row = plain
    return found


def all_looked_at(rows: Iterable[AnyRow], names: Collection[str]) -> list[AnyRow]:
    """The rows themselves, to read the same few cells of each: those are noted at once, a column in one step.

    Args:
        rows: of jobs that are noted, or any others.
    """
    found: list[AnyRow] = []
    sheets: dict[int, tuple[Ledger, int, dict[str, Column]]] = {}
    bits: dict[int, int] = {}
    for row in rows:
        place = getattr(row, "_place", None)
        if place is None:
            found.append(row)
            continue
        plain, ledger, car, columns, bit = place
        found.append(plain)
        sheet = id(columns)
        if sheet not in sheets:
            sheets[sheet] = ledger, car, columns
        bits[sheet] = bits.get(sheet, 0) | bit
    for sheet, (ledger, car, columns) in sheets.items():
        for name in names:
            ledger.read(car, columns[name], bits[sheet])
    return found


def changed_cells(old: Job, new: Job, which: str) -> Cells:
    """The cells that are not the same in two jobs.

    Example:
        >>> from loomwright.job.rows import Wire
        >>> was, now = (Job(wires=(Wire(id="W1", colour=one),)) for one in ("RD", "BU"))
        >>> sorted(changed_cells(was, now, "typed"))
        [('typed', 'wires', 0, 'colour')]
    """
    found = Cells()
    if old is new:
        return found
    for field in fields(Job):
        one, other = getattr(old, field.name), getattr(new, field.name)
        if one is other:
            continue
        if len(one) != len(other) if field.name in SHEETS else one != other:
            found.add((which, field.name, ""), _ROWS)
        if field.name not in SHEETS:
            continue
        for index, (row, its) in enumerate(zip(one, other, strict=False)):
            if row is not its and row != its:
                for name in _differing(row, its):
                    found.add((which, field.name, name), row_bit(index))
    return found


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
        ledger.read(car, (which, name, ""), _ROWS)
        if name not in SHEETS:
            return found
        if name not in sheets:
            columns = {field.name: (which, name, field.name) for field in fields(SHEETS[name])}
            sheets[name] = tuple(_noted_row(row, (ledger, car, columns, row_bit(k))) for k, row in enumerate(found))
        return sheets[name]


_JOB_FIELDS = frozenset(field.name for field in fields(Job))


def _noted_row(row: Row, place: tuple[Ledger, int, dict[str, Column], int]) -> Row:
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
        row, ledger, car, columns, bit = self._place  # type: ignore[attr-defined]
        value = getattr(row, name)
        if ledger.read(car, columns[name], bit):
            ledger.show(self, name, value)
        return value

    def equal(self: Row, other: object) -> bool:
        return isinstance(other, row_type) and all(getattr(self, name) == getattr(other, name) for name in names)

    body = {"__slots__": ("_place",), "__getattr__": read, "__eq__": equal, "__hash__": row_type.__hash__}
    found: type[Row] = type(row_type.__name__, (row_type,), body)
    return found
