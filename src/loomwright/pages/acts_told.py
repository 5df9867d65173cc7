"""What a tablet tells of things that were done on it, and how the shelf takes it: judged again, timed by our clock.

A record is read here whatever way it comes: from a tablet that is let in, or put aside from one that was let go.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from loomwright.refusals import Problem, Refusal
from loomwright.store.acts import Act, ActDone, take_acts
from loomwright.store.shelf import Shelf
from loomwright.worklist.said import Said, row_said
from loomwright.worklist.thing import Asks

__all__ = ["MOST_ACTS", "ActTold", "ActsTold", "done_plain", "taken"]

MOST_ACTS = 200
"""Most records that are taken in one go. [-]"""

_CLOCKS_AGREE_S = 120.0
"""Within this a tablet's clock counts as right: our choice [s]."""

Text = Annotated[str, Field(max_length=400)]
Cells = Annotated[dict[Annotated[str, Field(max_length=40)], Text], Field(max_length=40)]
Ident = Annotated[str, Field(pattern=r"^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$")]
Number = Annotated[int, Field(ge=0, le=2**53)]


class _Told(BaseModel):
    model_config = ConfigDict(extra="forbid")


class AskedWas(_Told):
    """How it could be answered, as it stood on the screen."""

    kind: Literal["done", "figure", "words"] = "done"
    unit: Annotated[str, Field(max_length=20)] = ""
    low: float | None = None
    high: float | None = None
    most: float | None = None
    words: Annotated[list[Text], Field(max_length=20)] = []
    word: Text = ""
    says: Text = ""
    waivable: bool = False
    measure: Annotated[str, Field(max_length=20)] = ""


class WasSaid(_Told):
    """What was answered."""

    value: Annotated[str, Field(max_length=40)] = ""
    note: Text = ""
    is_let_go: bool = False
    instrument: Annotated[str, Field(max_length=80)] = ""
    warmth: Literal["", "cold", "hot"] = ""


class ActTold(_Told):
    """One thing done. made: when, by the tablet's clock. base: the revision on its screen. back: what it takes back."""

    id: Ident
    made: datetime
    base: Number
    sheet: Annotated[str, Field(max_length=40)] = ""
    cells: Cells = {}
    asks: AskedWas = AskedWas()
    said: WasSaid = WasSaid()
    back: Annotated[str, Field(max_length=36)] = ""
    choose: Literal["", "mine", "theirs"] = ""


class ActsTold(_Told):
    """Things done, in their order. device: the tablet's own word.   sent: now, by its clock."""

    device: Annotated[str, Field(min_length=1, max_length=80)]
    sent: datetime
    acts: Annotated[list[ActTold], Field(max_length=MOST_ACTS)]


def taken(shelf: Shelf, job: str, told: ActsTold, *, who: str, came: datetime | None = None) -> tuple[ActDone, ...]:
    """Take in what was done away from the desk; each by itself, each once, however often it is told.

    Args:
        who: in whose name.
        came: when it was sent, by our clock; None: now.
    Raises:
        OutOfReach: no such job.
        BadDocument: the disk does not take it; nothing is changed.
    """
    now = datetime.now(UTC)
    ahead = _aware(told.sent) - (came or now)
    wrong_by = ahead if abs(ahead.total_seconds()) > _CLOCKS_AGREE_S else timedelta()
    given = [_act(who, one, wrong_by) for one in told.acts]
    return take_acts(shelf, job, given, device=told.device, who=who, time=now.isoformat(timespec="seconds"))


def done_plain(one: ActDone) -> dict[str, Any]:
    """What became of a record, as plain data."""
    names = ("sheet", "row", "column", "found", "allowed", "mend")
    return {
        "id": one.id,
        "outcome": one.outcome,
        "revision": one.revision,
        "theirs": dict(one.theirs),
        "refused": [{name: getattr(problem, name) for name in names} for problem in one.problems],
    }


def _act(who: str, told: ActTold, wrong_by: timedelta) -> Act:
    """An act as the shelf takes it; its row has the time it was done, by our clock."""
    made = _aware(told.made)
    if told.back:
        return Act(id=told.id, made=made.isoformat(), base=told.base, back=told.back)
    asks = told.asks
    problems: tuple[Problem, ...] = ()
    cells: Mapping[str, str] = {**told.cells, "answered": told.said.value, "note": told.said.note}
    try:
        cells = row_said(
            told.sheet,
            told.cells,
            Asks(**{**asks.model_dump(), "words": tuple(asks.words)}),
            Said(**told.said.model_dump()),
            time=_put_right(made, wrong_by).isoformat(timespec="seconds"),
            who=who,
            revision=told.base,
        )
    except Refusal as refusal:
        found = Problem(
            sheet=told.sheet, row=None, column="", found=told.said.value, allowed=str(refusal), mend="Read it again"
        )
        problems = (found,)
    return Act(
        id=told.id,
        made=made.isoformat(),
        base=told.base,
        sheet=told.sheet,
        cells=cells,
        choose=told.choose,
        problems=problems,
    )


def _aware(time: datetime) -> datetime:
    return time if time.tzinfo is not None else time.replace(tzinfo=UTC)


def _put_right(made: datetime, wrong_by: timedelta) -> datetime:
    try:
        return (made - wrong_by).astimezone(UTC)
    except OverflowError:
        return datetime.now(UTC)
