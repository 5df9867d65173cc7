"""What was done away from the desk and comes in later, perhaps twice: what of it is taken, and what must be chosen?

Every act has an id that was made where it was done. One that was answered already is answered the same again and not
done again. An act adds a row to a sheet that only grows, or takes back the row of an earlier act. Where somebody else
has written of the same thing since the revision the act was made on, and wrote something different, neither is passed
over: the act waits, both are told, and a person chooses. Whatever becomes of an act, what it said is kept.

    taken    its row is on the sheet
    same     somebody has written the same of a thing that is done once: no second row
    waits    somebody has written something different: choose `mine` or `theirs`
    theirs   theirs was chosen: of a reading, one's own stands on the sheet before it
    back     taken back, or it takes back another
    refused  it cannot stand there
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from sqlalchemy import Connection, Update, insert, select, update

from loomwright.job.fixed_map import NOTHING, FixedMap
from loomwright.refusals import Problem
from loomwright.store.edited import Change
from loomwright.store.shelf import Shelf
from loomwright.store.shelf_tables import acts as acts_table
from loomwright.store.shelf_tables import edits as edits_table
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import AddRow, Applied, Done, DropRow, Edit, SheetRows, StoredRow, applied

__all__ = ["SHEETS_OF_ACTS", "Act", "ActDone", "take_acts"]

_THING: Mapping[str, tuple[str, ...]] = {
    "progress": ("wire", "end", "step"),
    "proofs": ("test", "warmth"),
    "gates": ("gate", "stage"),
    "readings": ("old_wire", "point", "to", "when", "measure", "stub"),
}
"""Sheet -> what two rows of the same thing share."""

_SAYS: Mapping[str, tuple[str, ...]] = {
    "progress": ("length_mm",),
    "proofs": ("value", "verdict"),
    "gates": ("verdict", "value"),
    "readings": ("value", "seen"),
}
"""Sheet -> what two rows of the same thing may differ in."""

SHEETS_OF_ACTS = tuple(_THING)
"""The sheets an act may add to."""

_ONCE = ("progress", "gates")
"""Sheets of things that are done once: the same said twice is one row."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """One thing done. made: when, as its row says.   base: the revision it was made on. [-]

    back: the act it takes back; then it has no row.   choose: mine or theirs, once somebody has chosen.
    problems: why it is no answer to what was asked; it is kept as it was said, and has no row.
    """

    id: str
    made: str
    base: int
    sheet: str = ""
    cells: Mapping[str, str] = NOTHING
    back: str = ""
    choose: str = ""
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ActDone:
    """What became of an act. revision: the newest with it. [-]   row_key: of its row. [-]   theirs: what they wrote."""

    id: str
    outcome: str
    revision: int
    row_key: int | None = None
    theirs: Mapping[str, str] = NOTHING
    problems: tuple[Problem, ...] = ()


def take_acts(shelf: Shelf, name: str, acts: Sequence[Act], *, device: str, who: str, time: str) -> tuple[ActDone, ...]:
    """Take acts in, each by itself; what is taken is on the disk together when this returns.

    Args:
        shelf: it goes on.
        name: of the job.
        acts: in the order they were done.
        device: where; its own rows are never somebody else's.
        who: by whom.
        time: now.
    Raises:
        OutOfReach: no such job.
        BadDocument: the disk does not take it; nothing is changed.
    """

    def decide(connection: Connection, job: int, snapshot: Snapshot, next_key: int) -> Change[tuple[ActDone, ...]]:
        work = _Work(
            rows=snapshot.rows,
            next_key=next_key,
            known=_known(connection, job, acts),
            others=_others(connection, job, snapshot, acts, device),
        )
        for act in acts:
            work.settle(act)

        def also(connection: Connection, revision: int) -> tuple[ActDone, ...]:
            told = {act.id: replace(work.told[act.id], revision=revision) for act in acts if act.id in work.fresh}
            lines = {act.id: _line(job, act, told[act.id], device=device, time=time) for act in acts if act.id in told}
            before = [one for one in lines if one in work.known]
            for one in before:
                connection.execute(_the_act(job, one).values(lines[one]))
            for one in work.withdrawn:
                connection.execute(_the_act(job, one).values({"outcome": "back", "row_key": None}))
            after = [line for one, line in lines.items() if one not in work.known]
            if after:
                connection.execute(insert(acts_table), after)
            return tuple(told.get(act.id, work.told[act.id]) for act in acts)

        many = sum(work.told[one].outcome == "taken" for one in work.fresh)
        why = f"{many} {'record' if many == 1 else 'records'} from under the dash" if many else "from under the dash"
        result = Applied(rows=work.rows, next_key=work.next_key, done=tuple(work.done))
        return Change(applied=result, why=why, also=also)

    return shelf.change(name, decide, who=who)


@dataclass(slots=True)
class _Work:
    """The job while acts are settled one after another. known: those answered before.   others: rows of other people.

    told: what became of each.   fresh: acts that were not settled before.   withdrawn: earlier acts taken back.
    """

    rows: SheetRows
    next_key: int
    known: Mapping[str, ActDone]
    others: Mapping[tuple[str, ...], tuple[int, StoredRow]]
    done: list[Done] = field(default_factory=list)
    told: dict[str, ActDone] = field(default_factory=dict)
    fresh: set[str] = field(default_factory=set)
    withdrawn: list[str] = field(default_factory=list)

    def settle(self, act: Act) -> None:
        """Settle one act, unless it is settled."""
        before = self.told.get(act.id) or self.known.get(act.id)
        if before is not None and not (before.outcome == "waits" and act.choose):
            self.told[act.id] = before
            return
        self.fresh.add(act.id)
        self.told[act.id] = self._taken_back(act) if act.back else self._added(act)

    def _taken_back(self, act: Act) -> ActDone:
        before = self.told.get(act.back) or self.known.get(act.back)
        if before is not None and before.row_key is not None:
            sheet = next((s for s, rows in self.rows.items() if any(row.key == before.row_key for row in rows)), "")
            self._apply(DropRow(sheet=sheet, row_key=before.row_key))
        if before is not None:
            self.told[act.back] = replace(before, outcome="back", row_key=None)
            if act.back in self.known and act.back not in self.fresh:
                self.withdrawn.append(act.back)
        return ActDone(id=act.id, outcome="back", revision=0)

    def _added(self, act: Act) -> ActDone:
        if act.problems:
            return _refused(act, *act.problems)
        if act.sheet not in _THING:
            told = f"a sheet of records: {' '.join(SHEETS_OF_ACTS)}"
            return _refused(act, Problem(sheet=act.sheet, row=None, column="", found=act.sheet, allowed=told, mend=""))
        made_on, theirs = self.others.get(_thing(act.sheet, act.cells), (0, None))
        before: int | None = None
        if theirs is not None and made_on > act.base:
            is_same = _said(act.sheet, act.cells) == _said(act.sheet, theirs.cells)
            if is_same and act.sheet in _ONCE:
                return ActDone(id=act.id, outcome="same", revision=0, theirs=theirs.cells)
            if not is_same and not act.choose:
                return ActDone(id=act.id, outcome="waits", revision=0, theirs=theirs.cells)
            if act.choose == "theirs" and act.sheet in _ONCE:
                return ActDone(id=act.id, outcome="theirs", revision=0, theirs=theirs.cells)
            before = theirs.key if act.choose == "theirs" else None
        key = self.next_key
        problems = self._apply(AddRow(sheet=act.sheet, cells=act.cells, before=before))
        if problems:
            return _refused(act, *problems)
        outcome = "theirs" if before is not None else "taken"
        return ActDone(id=act.id, outcome=outcome, revision=0, row_key=key)

    def _apply(self, edit: Edit) -> tuple[Problem, ...]:
        result = applied(self.rows, [edit], next_key=self.next_key)
        self.rows, self.next_key = result.rows, result.next_key
        self.done.extend(result.done)
        return result.problems


def _known(connection: Connection, job: int, acts: Sequence[Act]) -> dict[str, ActDone]:
    """Acts that are settled already, those that are to be taken back among them."""
    wanted = sorted({act.id for act in acts} | {act.back for act in acts if act.back})
    asked = select(acts_table).where(acts_table.c.job == job, acts_table.c.id.in_(wanted))
    return {
        line.id: ActDone(
            id=line.id,
            outcome=line.outcome,
            revision=line.revision,
            row_key=line.row_key,
            theirs=FixedMap(json.loads(line.theirs)),
        )
        for line in connection.execute(asked)
    }


def _others(
    connection: Connection, job: int, snapshot: Snapshot, acts: Sequence[Act], device: str
) -> dict[tuple[str, ...], tuple[int, StoredRow]]:
    """The newest row of somebody else for each thing, with its revision, since the oldest act was made."""
    sheets = sorted({act.sheet for act in acts if act.sheet in _THING})
    base = min((act.base for act in acts), default=0)
    asked = select(edits_table.c.revision, edits_table.c.sheet, edits_table.c.row_key).where(
        edits_table.c.job == job,
        edits_table.c.revision > base,
        edits_table.c.op == "add",
        edits_table.c.sheet.in_(sheets),
    )
    since = {(line.sheet, line.row_key): line.revision for line in connection.execute(asked)}
    if not since:
        return {}
    own = select(acts_table.c.row_key).where(acts_table.c.job == job, acts_table.c.device == device)
    mine = {key for (key,) in connection.execute(own)}
    found: dict[tuple[str, ...], tuple[int, StoredRow]] = {}
    for sheet in sheets:
        for row in snapshot.rows.get(sheet, ()):
            revision = since.get((sheet, row.key))
            if revision is not None and row.key not in mine:
                found[_thing(sheet, row.cells)] = (revision, row)
    return found


def _thing(sheet: str, cells: Mapping[str, str]) -> tuple[str, ...]:
    return (sheet, *(cells.get(name, "") for name in _THING[sheet]))


def _said(sheet: str, cells: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(cells.get(name, "") for name in _SAYS[sheet])


def _refused(act: Act, *problems: Problem) -> ActDone:
    return ActDone(id=act.id, outcome="refused", revision=0, problems=problems)


def _the_act(job: int, name: str) -> Update:
    return update(acts_table).where(acts_table.c.job == job, acts_table.c.id == name)


def _line(job: int, act: Act, told: ActDone, *, device: str, time: str) -> dict[str, object]:
    return {
        "job": job,
        "id": act.id,
        "device": device,
        "made": act.made,
        "taken": time,
        "base": act.base,
        "revision": told.revision,
        "outcome": told.outcome,
        "sheet": act.sheet,
        "row_key": told.row_key,
        "cells": json.dumps(dict(act.cells), ensure_ascii=False),
        "theirs": json.dumps(dict(told.theirs), ensure_ascii=False),
    }
