"""The shelf: jobs that are kept, changed by several people, and never lost.

An edit is on the disk before it is answered. Nothing is overwritten: each accepted edit is a revision, undoing one is
another. Reading never waits for writing: a snapshot is one revision and stays what it is.
"""

from __future__ import annotations

from asyncio import wrap_future
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Future
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Condition
from typing import TypeVar

from sqlalchemy import Connection, bindparam, insert, select
from sqlalchemy.exc import DatabaseError, IntegrityError

from loomwright.job.job import Job
from loomwright.refusals import OutOfReach
from loomwright.store.edited import Change, Edited, JobLine
from loomwright.store.group_commit import GroupCommit, Written
from loomwright.store.history import Difference, Revision, Turns, differences_of, revisions_of, turns_of
from loomwright.store.kept_rows import (
    done_in,
    newest_revision,
    rows_of_job,
    write_done,
    write_past,
    write_revision,
    write_rows,
)
from loomwright.store.past import Past
from loomwright.store.prepared import Prepared
from loomwright.store.shelf_file import open_engine, refused
from loomwright.store.shelf_tables import answered, jobs
from loomwright.store.snapshot import Snapshot, numbered_rows, snapshot_after
from loomwright.store.text_rows import AddRow, Applied, Done, Edit, applied, turned_round

__all__ = ["Edited", "JobLine", "Shelf"]

Clock = Callable[[], str]
Answer = TypeVar("Answer")

_LONGEST_NAME = 80
_ANSWERED = Prepared(insert(answered))
_NEXT_KEY = Prepared(jobs.update().where(jobs.c.id == bindparam("the_job")).values(next_key=bindparam("next_key")))
_SEEN = Prepared(
    select(answered.c.revision).where(
        answered.c.job == bindparam("the_job"), answered.c.token == bindparam("the_token")
    )
)
_TO_TURN = {
    "undo": "an edit of one's own that is not taken back yet",
    "redo": "an edit that one took back, and nothing typed since",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Live:
    """A job as the writer knows it. id: in the tables. [-]   next_key: of its next row. [-]"""

    id: int
    snapshot: Snapshot
    next_key: int
    turns: Turns


class Shelf:
    """The jobs of one folder; safe to use from several threads."""

    def __init__(self, folder: Path, clock: Clock) -> None:
        self._clock = clock
        self.folder = folder
        self.engine = open_engine(folder)
        self._live: dict[str, _Live] = {}
        self._ahead: dict[str, _Live] = {}
        self._news = Condition()
        self._listening: list[Callable[[], None]] = []
        self._writer = GroupCommit(self.engine, self._ahead.clear)

    def close(self) -> None:
        """Finish what is being written, and let the file go."""
        self._writer.close()
        self.engine.dispose()

    def jobs(self) -> tuple[JobLine, ...]:
        """Every job, by name."""
        with self.engine.connect() as connection:
            names = [name for (name,) in connection.execute(select(jobs.c.name).order_by(jobs.c.name))]
        return tuple(self._line(name) for name in names)

    def add(self, name: str, job: Job, *, who: str, why: str = "taken in", past: Past | None = None) -> int:
        """Put a job on the shelf; gives its newest revision. [-]

        Args:
            past: its revisions as an archive brings them; it then begins with these, and one that says who took it in.
        Raises:
            BadDocument: there is one of that name, or the name is none.
        """
        if not _is_name(name):
            raise refused(f"a job called {name!r}", "letters, figures, blanks, - and _", "Give it another name")
        sheets, next_key = numbered_rows(job) if past is None else (past.rows, past.next_key)
        time = self._clock()

        def work(connection: Connection) -> Written[int]:
            if connection.execute(select(jobs.c.id).where(jobs.c.name == name)).first():
                raise refused(f"a job called {name}", "a name no job has yet", "Give it another name")
            made = connection.execute(insert(jobs), {"name": name, "made": time, "next_key": next_key})
            number = int((made.inserted_primary_key or [0])[0])
            newest = 1 if past is None else write_past(connection, number, past) + 1
            kind = "start" if past is None else "record"
            write_revision(connection, number, number=newest, time=time, who=who, why=why, kind=kind, turns=None)
            write_rows(connection, number, sheets)
            snapshot = Snapshot(name=name, revision=newest, rows=sheets)
            turns = Turns() if past is None else past.turns
            return self._ahead_of(name, _Live(id=number, snapshot=snapshot, next_key=next_key, turns=turns), newest)

        return self._do(work)

    def now(self, name: str, revision: int | None = None) -> Snapshot:
        """A job as it stands, or as it stood at a revision.

        Raises:
            OutOfReach: no such job or revision.
        """
        live = self._of(name)
        newest = live.snapshot
        if revision is None or revision == newest.revision:
            return newest
        if not 1 <= revision < newest.revision:
            raise OutOfReach("revision", revision, f"1 to {newest.revision}")
        with self.engine.connect() as connection:
            done = done_in(connection, live.id, revision, newest.revision)
        back = applied(newest.rows, turned_round([one for _, one in done]), next_key=live.next_key)
        return Snapshot(name=name, revision=revision, rows=back.rows)

    def edit(
        self, name: str, edits: Sequence[Edit], *, who: str, why: str = "", token: str = "", kind: str = "edit"
    ) -> Edited:
        """Take edits in, all or none; on the disk when this returns.

        Args:
            token: a word of the sender's own; edits sent again with it are not done again.
            kind: `record` for rows that only grow, which undoing passes over.
        Raises:
            OutOfReach: no such job.
            BadDocument: the disk does not take it; nothing is changed.
        """
        with _told_in_words():
            return self.hand_in(name, edits, who=who, why=why, token=token, kind=kind).result()

    async def edit_soon(
        self, name: str, edits: Sequence[Edit], *, who: str, why: str = "", token: str = "", kind: str = "edit"
    ) -> Edited:
        """The same as `edit` for a server: no thread waits for the disk."""
        with _told_in_words():
            return await wrap_future(self.hand_in(name, edits, who=who, why=why, token=token, kind=kind))

    def hand_in(self, name: str, edits: Sequence[Edit], *, who: str, why: str, token: str, kind: str) -> Future[Edited]:
        """Hand edits to the writer; done when they are on the disk. See `edit`."""
        self._of(name)

        def work(connection: Connection) -> Written[Edited]:
            live = self._writing(name)
            seen = self._seen(connection, live, token)
            if seen is not None:
                return Written(answer=Edited(revision=seen), published=_nothing)
            result = applied(live.snapshot.rows, edits, next_key=live.next_key)
            return self._written(connection, name, live, result, who=who, why=why, kind=kind, turns=None, token=token)

        return self._writer.hand_in(work)

    def undo(self, name: str, *, who: str) -> Edited:
        """Take back the last edit of a person, as a new revision.

        Raises:
            OutOfReach: no such job, or nothing to take back.
        """
        return self._turn(name, who, "undo")

    def redo(self, name: str, *, who: str) -> Edited:
        """Do again what a person took back last, as a new revision.

        Raises:
            OutOfReach: no such job, or nothing taken back.
        """
        return self._turn(name, who, "redo")

    def record(self, name: str, sheet: str, cells: Mapping[str, str], *, who: str, token: str = "") -> Edited:
        """Add a row to a sheet that only grows."""
        return self.edit(
            name, [AddRow(sheet=sheet, cells=cells)], who=who, why=f"recorded in {sheet}", token=token, kind="record"
        )

    def revisions(self, name: str, *, newest: int = 100) -> tuple[Revision, ...]:
        """The newest revisions, newest first."""
        live = self._of(name)
        with self.engine.connect() as connection:
            return revisions_of(connection, live.id, newest)

    def differences(self, name: str, older: int, newer: int) -> tuple[Difference, ...]:
        """What became different between two revisions, cell by cell.

        Raises:
            OutOfReach: no such job or revision.
        """
        return differences_of(self.now(name, older), self.now(name, newer))

    def wait(self, name: str, after: int, *, at_most_s: float) -> int:
        """Wait for a revision after one; gives the newest there is then. [-]

        Args:
            after: the one known. [-]
            at_most_s: how long to wait. [s]
        """
        with self._news:
            self._news.wait_for(lambda: self._of(name).snapshot.revision > after, timeout=at_most_s)
        return self._of(name).snapshot.revision

    def listen(self, told: Callable[[], None]) -> None:
        """Have something called after each revision that is written, on the writer's thread; it must not wait."""
        self._listening.append(told)

    def done(self, name: str) -> tuple[tuple[int, Done], ...]:
        """What every revision did to which row, each with its revision, in order. [-]"""
        live = self._of(name)
        with self.engine.connect() as connection:
            return done_in(connection, live.id, 0, live.snapshot.revision)

    def id_of(self, name: str) -> int:
        """The number of a job in the tables. [-]"""
        return self._of(name).id

    def write(self, work: Callable[[Connection], Written[int]]) -> int:
        """Other work of the store on the writer's thread."""
        return self._do(work)

    def change(
        self, name: str, decide: Callable[[Connection, int, Snapshot, int], Change[Answer]], *, who: str
    ) -> Answer:
        """Have the next revision decided on the writer's thread, with what else is written in the same transaction.

        Args:
            decide: given the connection, the job's number, how it stands and the number of its next row.
            who: by whom.
        Raises:
            OutOfReach: no such job.
            BadDocument: the disk does not take it; nothing is changed.
        """
        self._of(name)

        def work(connection: Connection) -> Written[Answer]:
            live = self._writing(name)
            told = decide(connection, live.id, live.snapshot, live.next_key)
            done = self._written(
                connection, name, live, told.applied, who=who, why=told.why, kind="record", turns=None, token=""
            )
            return Written(answer=told.also(connection, done.answer.revision), published=done.published)

        return self._do(work)

    def _turn(self, name: str, who: str, kind: str) -> Edited:
        self._of(name)

        def work(connection: Connection) -> Written[Edited]:
            live = self._writing(name)
            target = live.turns.target(kind, who)
            if target is None:
                raise OutOfReach(kind, who, _TO_TURN[kind])
            done = [one for _, one in done_in(connection, live.id, target - 1, target)]
            result = applied(live.snapshot.rows, turned_round(done), next_key=live.next_key)
            why = f"{'took back' if kind == 'undo' else 'did again'} revision {live.turns.first_of(target)}"
            return self._written(connection, name, live, result, who=who, why=why, kind=kind, turns=target, token="")

        return self._do(work)

    def _written(
        self,
        connection: Connection,
        name: str,
        live: _Live,
        result: Applied,
        *,
        who: str,
        why: str,
        kind: str,
        turns: int | None,
        token: str,
    ) -> Written[Edited]:
        before = live.snapshot
        if not result.is_taken or not result.done:
            answer = Edited(revision=before.revision, conflicts=result.conflicts, problems=result.problems)
            return Written(answer=answer, published=_nothing)
        number = before.revision + 1
        write_revision(connection, live.id, number=number, time=self._clock(), who=who, why=why, kind=kind, turns=turns)
        write_done(connection, live.id, number, result.done, result.rows)
        if token:
            _ANSWERED.run(connection, {"job": live.id, "token": token, "revision": number})
        if result.next_key != live.next_key:
            _NEXT_KEY.run(connection, {"the_job": live.id, "next_key": result.next_key})
        after = replace(
            live,
            snapshot=snapshot_after(before, result.rows, number),
            next_key=result.next_key,
            turns=live.turns.after(number, who=who, kind=kind, turns=turns),
        )
        return self._ahead_of(name, after, Edited(revision=number))

    def _ahead_of(self, name: str, live: _Live, answer: Answer) -> Written[Answer]:
        """What the writer goes on from at once, and readers see after the flush."""
        self._ahead[name] = live

        def published() -> None:
            with self._news:
                known = self._live.get(name)
                if known is None or known.snapshot.revision < live.snapshot.revision:
                    self._live[name] = live
                if self._ahead.get(name) is live:
                    del self._ahead[name]
                self._news.notify_all()
            for told in self._listening:
                told()

        return Written(answer=answer, published=published)

    def _do(self, work: Callable[[Connection], Written[Answer]]) -> Answer:
        with _told_in_words():
            return self._writer.do(work)

    def _seen(self, connection: Connection, live: _Live, token: str) -> int | None:
        if not token:
            return None
        found = _SEEN.run(connection, {"the_job": live.id, "the_token": token}).scalar()
        return None if found is None else int(found)

    def _writing(self, name: str) -> _Live:
        return self._ahead.get(name) or self._of(name)

    def _of(self, name: str) -> _Live:
        live = self._live.get(name)
        if live is None:
            live = self._live.setdefault(name, self._loaded(name))
        return live

    def _loaded(self, name: str) -> _Live:
        with self.engine.connect() as connection:
            line = connection.execute(select(jobs.c.id, jobs.c.next_key).where(jobs.c.name == name)).first()
            if line is None:
                names = " ".join(each for (each,) in connection.execute(select(jobs.c.name)))
                raise OutOfReach("job", name, names or "no job is on the shelf yet")
            number = newest_revision(connection, line.id)
            rows = rows_of_job(connection, line.id)
            turns = turns_of(connection, line.id)
        snapshot = Snapshot(name=name, revision=number, rows=rows)
        return _Live(id=line.id, snapshot=snapshot, next_key=line.next_key, turns=turns)

    def _line(self, name: str) -> JobLine:
        snapshot = self.now(name)
        vehicle = {row.cells.get("name"): row.cells.get("value", "") for row in snapshot.rows.get("vehicle", ())}
        with self.engine.connect() as connection:
            last = revisions_of(connection, self._of(name).id, 1)
        time = last[0].time if last else ""
        return JobLine(name=name, title=vehicle.get("title", ""), revision=snapshot.revision, time=time)


def _is_name(name: str) -> bool:
    plain = name.replace(" ", "").replace("-", "").replace("_", "")
    return plain.isalnum() and name.strip() == name and len(name) <= _LONGEST_NAME


@contextmanager
def _told_in_words() -> Iterator[None]:
    """What the disk refuses is told as a refusal."""
    try:
        yield
    except IntegrityError:
        raise
    except DatabaseError as fault:
        raise refused(
            f"the disk does not take it: {fault.orig}",
            "room on the disk, and a shelf that can be written to",
            "Make room, then type it again: nothing of it was kept",
        ) from fault


def _nothing() -> None:
    """Readers see nothing new."""
