"""How do the revisions of a job travel in an archive, and how are they brought back?

    history/revisions.json    number, time, who, why and kind of every revision
    history/edits.json        the rows as they stood at the end, each with its number, and what was done to them

Brought back is only what holds together: the rows at the end must say what the sheets of the archive say, and what was
done, turned round and then done again, must lead from the end to the beginning and back to the end. Anything else (an
archive whose sheets were changed outside, or one that an earlier version wrote) is taken in as it stands now, and why
its revisions stay behind is said. Who made a revision, and when, is what the archive says.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Protocol

from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.store.history import Revision, Turns
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import (
    AddRow,
    Applied,
    Done,
    DropRow,
    Edit,
    MoveRow,
    SetCell,
    SheetRows,
    StoredRow,
    applied,
    turned_round,
)

__all__ = ["Past", "past_members", "past_of"]

_REVISIONS, _EDITS = "history/revisions.json", "history/edits.json"
_ALL = 1_000_000
_MOST_REVISIONS, _MOST_DONE = 100_000, 1_000_000
_LONGEST_TEXT = 100_000
_KINDS = ("start", "edit", "record", "undo", "redo")
_OPS = ("set", "add", "drop", "move")
_FORMAT = 1
_MOST_NUMBER = 1_000_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """The revisions of a job from elsewhere. rows: as they stand at the end.   next_key: of the next row. [-]

    done: what each revision did, with its number. [-]   turns: what each person can take back.
    """

    revisions: tuple[Revision, ...]
    done: tuple[tuple[int, Done], ...]
    rows: SheetRows
    next_key: int
    turns: Turns


class _Shelf(Protocol):
    """What is asked of a shelf."""

    def now(self, name: str) -> Snapshot: ...
    def revisions(self, name: str, *, newest: int) -> tuple[Revision, ...]: ...
    def done(self, name: str) -> tuple[tuple[int, Done], ...]: ...


def past_members(shelf: _Shelf, name: str) -> Mapping[str, bytes]:
    """The revisions of a stored job as members of an archive.

    Raises:
        OutOfReach: no such job.
    """
    snapshot = shelf.now(name)
    revisions = [one for one in reversed(shelf.revisions(name, newest=_ALL)) if one.number <= snapshot.revision]
    done = [(number, one) for number, one in shelf.done(name) if number <= snapshot.revision]
    keys = [one.row_key for _, one in done] + [row.key for rows in snapshot.rows.values() for row in rows]
    told = {
        "format": _FORMAT,
        "next_key": max(keys, default=0) + 1,
        "rows": {sheet: [[row.key, dict(row.cells)] for row in rows] for sheet, rows in snapshot.rows.items()},
        "done": [{"revision": number, **asdict(one)} for number, one in done],
    }
    return {_REVISIONS: _json([asdict(one) for one in revisions]), _EDITS: _json(told)}


def past_of(kept: Mapping[str, bytes], job: Job) -> tuple[Past | None, str]:
    """The revisions that an archive brings; None, and why, where they do not hold together. No words: there are none.

    Args:
        kept: member -> bytes of what lies beside its sheets.
        job: what its sheets say.
    """
    if _REVISIONS not in kept:
        return None, ""
    if _EDITS not in kept:
        return None, "the archive lists its revisions without what each of them did"
    try:
        past = _read(json.loads(kept[_REVISIONS]), json.loads(kept[_EDITS]))
    except (ValueError, TypeError, KeyError, RecursionError):
        return None, "its list of revisions cannot be read"
    if past is None:
        return None, "its revisions do not follow one another"
    if Snapshot(name="-", revision=1, rows=past.rows).job != job:
        return None, "its sheets were changed after its last revision, outside of any"
    return (past, "") if _leads_there(past) else (None, "what its revisions did does not lead to what its sheets say")


def _read(listed: Any, told: Any) -> Past | None:
    """The past as it is written; None where revisions are out of order or take back what is not there to take.

    Raises:
        ValueError, TypeError, KeyError: it is written otherwise.
    """
    if told["format"] != _FORMAT or not 1 <= len(listed) <= _MOST_REVISIONS or len(told["done"]) > _MOST_DONE:
        raise ValueError(_FORMAT)
    revisions = tuple(
        Revision(
            number=_number(one["number"]),
            time=_text(one["time"]),
            who=_text(one["who"]),
            why=_text(one["why"]),
            kind=_text(one["kind"]),
            turns=None if one["turns"] is None else _number(one["turns"]),
        )
        for one in listed
    )
    done = tuple((_number(one["revision"]), _done(one)) for one in told["done"])
    rows = {
        _text(sheet): tuple(StoredRow(key=_number(key), cells=_cells(cells)) for key, cells in lines)
        for sheet, lines in told["rows"].items()
    }
    turns = _turns(revisions)
    numbers = [number for number, _ in done]
    in_order = numbers == sorted(numbers) and all(1 < number <= len(revisions) for number in numbers)
    if turns is None or not in_order:
        return None
    keys = [one.row_key for _, one in done] + [row.key for each in rows.values() for row in each]
    return Past(revisions=revisions, done=done, rows=rows, next_key=max(keys, default=0) + 1, turns=turns)


def _turns(revisions: Sequence[Revision]) -> Turns | None:
    """What can be taken back after all revisions; None where one of them could not have been made."""
    turns = Turns()
    for place, one in enumerate(revisions, start=1):
        if one.number != place or one.kind not in _KINDS or (one.kind == "start") != (place == 1):
            return None
        is_turn = one.kind in ("undo", "redo")
        if one.turns != (turns.target(one.kind, one.who) if is_turn else None) or (is_turn and one.turns is None):
            return None
        turns = turns.after(one.number, who=one.who, kind=one.kind, turns=one.turns)
    return turns


def _leads_there(past: Past) -> bool:
    """Whether what was done leads back to a beginning and from there to the rows at the end."""
    every = [one for _, one in past.done]
    first = applied(past.rows, turned_round(every), next_key=past.next_key)
    if not first.is_taken:
        return False
    again: Applied = applied(first.rows, [_edit(one) for one in every], next_key=1)
    return again.is_taken and _plain(again.rows) == _plain(past.rows)


def _edit(one: Done) -> Edit:
    """The edit that does what was done."""
    if one.op == "set":
        return SetCell(sheet=one.sheet, row_key=one.row_key, column=one.column, old=one.old, new=one.new)
    if one.op == "add":
        return AddRow(sheet=one.sheet, cells=json.loads(one.new), before=one.before, key=one.row_key)
    if one.op == "drop":
        return DropRow(sheet=one.sheet, row_key=one.row_key)
    return MoveRow(sheet=one.sheet, row_key=one.row_key, before=int(one.new) if one.new else None)


def _plain(rows: SheetRows) -> dict[str, list[tuple[int, dict[str, str]]]]:
    return {sheet: [(row.key, dict(row.cells)) for row in each] for sheet, each in rows.items() if each}


def _done(one: Mapping[str, Any]) -> Done:
    if one["op"] not in _OPS:
        raise ValueError(one["op"])
    for name, op in (("new", "add"), ("old", "drop")):
        if one["op"] == op:
            _cells(json.loads(one[name]))
    return Done(
        sheet=_text(one["sheet"]),
        row_key=_number(one["row_key"]),
        op=one["op"],
        column=_text(one["column"]),
        old=_text(one["old"]),
        new=_text(one["new"]),
        before=None if one["before"] is None else _number(one["before"]),
    )


def _cells(told: Any) -> FixedMap[str, str]:
    return FixedMap({_text(name): _text(text) for name, text in told.items()})


def _text(told: Any) -> str:
    if not isinstance(told, str) or len(told) > _LONGEST_TEXT:
        raise TypeError("no text, or a very long one")
    return told


def _number(told: Any) -> int:
    if not isinstance(told, int) or isinstance(told, bool) or not 0 <= told <= _MOST_NUMBER:
        raise TypeError("no number of a row or a revision")
    return told


def _json(told: object) -> bytes:
    return (json.dumps(told, indent=1, ensure_ascii=False) + "\n").encode()
