"""What do the pages of the owner's questions say: the shop's, and the one the owner is shown?

A question holds up a stage, and the things it is about with what hangs on them. The owner's page has none of the shop's
words: what is asked, what it keeps us from, room for an answer; and the wishes that are still to be decided.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.handover.quote_lines import WishRow, quote_sheet
from loomwright.handover.quote_records import Quote
from loomwright.handover.quote_wishes import belongings_of
from loomwright.job.rows import Question
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.entry_form import Ask, EntryForm, Returned, entry_form
from loomwright.pages.records.stage_counts import STAGE_WORDS, plural
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import StoredRow

__all__ = ["ANSWER", "ASKS", "NAMES", "OwnerPage", "OwnerQuestion", "QuestionLine", "QuestionsPage", "owner_page"]
__all__ += ["questions_page"]

NAMES = ("id", "text", "stage", "about", "status", "answer")
"""The columns that the form of a question asks for."""

ASKS = (
    Ask(name="text", label="What is asked", shape="lines", wide=True, help="-"),
    Ask(name="stage", label="Stage that waits", shape="choice", blank="none", help="-"),
    Ask(name="about", label="About", help="ids of wires, parts, circuits, places that wait for it, apart by spaces"),
    Ask(name="status", label="How far", shape="choice", blank="open", help="-"),
    Ask(name="answer", label="What the owner said", shape="lines", wide=True, help="-"),
)
_NEW = tuple(ask for ask in ASKS if ask.name not in ("status", "answer"))
ANSWER = (Ask(name="answer", label="What the owner said", shape="lines", wide=True, help="-"),)

_DONE = "done"

_BEFORE: Mapping[str, str] = {
    "arrival": "we begin",
    "survey": "we take the old wiring apart",
    "plan": "we draw the new wiring",
    "loom": "we make the new wiring",
    "prove": "we test it",
    "first start": "we start the engine",
    "calibrate": "we set the engine up",
    "gearbox": "we set the gear changes",
    "handover": "you fetch the vehicle",
}
"""Stage -> what waits for it, in the owner's words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionLine:
    """One question. status: its word.   is_open: not answered.   stage: its word.   about: ids.   waits: what hangs on
    them, in words.   form: to change it.   is_back: its form came back."""

    key: int
    id: str
    text: str
    stage: str
    status: str
    answer: str
    is_open: bool
    about: tuple[str, ...]
    waits: str
    form: EntryForm
    reply: EntryForm


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionsPage:
    """The questions: those that are open first, by stage. counts: how many in which standing, in words."""

    open: tuple[QuestionLine, ...]
    done: tuple[QuestionLine, ...]
    counts: str
    new: EntryForm
    owner: str
    asked: int
    arrival: str
    links: JobLinks


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnerQuestion:
    """One question as the owner reads it. before: what waits for it, in plain words; empty where nothing does."""

    text: str
    before: str
    answer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnerPage:
    """The page for the owner. wishes: those to be decided, with what each would add."""

    title: str
    owner: str
    plate: str
    open: tuple[OwnerQuestion, ...]
    answered: tuple[OwnerQuestion, ...]
    wishes: tuple[WishRow, ...]
    back: str


def questions_page(snapshot: Snapshot, links: JobLinks, back: Returned | None = None) -> QuestionsPage:
    """The shop's page of questions.

    Args:
        back: a form that was not taken.
    """
    here = job_path(snapshot.name, "questions")
    lines = [_line(snapshot, row, here, back) for row in snapshot.rows.get("questions", ()) if row.cells]
    open_ = sorted((line for line in lines if line.is_open), key=_by_stage)
    asked = sum(row.cells.get("included", "asked") == "asked" for row in snapshot.rows.get("wishes", ()) if row.cells)
    with_owner = sum(line.status == "with the owner" for line in open_)
    counts = ", ".join(
        words
        for number, words in (
            (len(open_), f"{len(open_)} open"),
            (with_owner, f"{with_owner} of them with the owner"),
            (len(lines) - len(open_), f"{len(lines) - len(open_)} answered"),
        )
        if number
    )
    return QuestionsPage(
        open=tuple(open_),
        done=tuple(line for line in lines if not line.is_open),
        counts=counts,
        new=entry_form("questions", _NEW, action=here, page=here, back=back),
        owner=f"{here}/owner",
        asked=asked,
        arrival=links.page_named("arrival"),
        links=links,
    )


def owner_page(snapshot: Snapshot, quote: Quote | None) -> OwnerPage:
    """The page that the owner is shown.

    Args:
        quote: for what each undecided wish would add; None where there is none.
    """
    named = {row.cells.get("name"): row.cells.get("value", "") for row in snapshot.rows.get("vehicle", ())}
    rows = [row.cells for row in snapshot.rows.get("questions", ()) if row.cells.get("text")]
    rows.sort(key=lambda cells: _rank(cells.get("stage", "")))
    told = [
        OwnerQuestion(
            text=cells.get("text", ""),
            before=_BEFORE.get(cells.get("stage", ""), ""),
            answer=cells.get("answer", ""),
        )
        for cells in rows
    ]
    wishes = () if quote is None else tuple(wish for wish in quote_sheet(quote).wishes if wish.included == "asked")
    is_done = [cells.get("status", "") == _DONE for cells in rows]
    return OwnerPage(
        title=named.get("title") or snapshot.name,
        owner=named.get("owner", ""),
        plate=named.get("plate", ""),
        open=tuple(one for one, done in zip(told, is_done, strict=True) if not done),
        answered=tuple(one for one, done in zip(told, is_done, strict=True) if done),
        wishes=wishes,
        back=job_path(snapshot.name, "questions"),
    )


def _line(snapshot: Snapshot, row: StoredRow, here: str, back: Returned | None) -> QuestionLine:
    cells = row.cells
    taken = snapshot.taken.get("questions", {}).get(row.key)
    about = taken.typed.about if taken is not None and isinstance(taken.typed, Question) else ()
    status = cells.get("status", "") or "open"
    return QuestionLine(
        key=row.key,
        id=cells.get("id", ""),
        text=cells.get("text", ""),
        stage=STAGE_WORDS.get(cells.get("stage", ""), cells.get("stage", "")),
        status="answered" if status == _DONE else status,
        answer=cells.get("answer", ""),
        is_open=status != _DONE,
        about=about,
        waits=_waits(snapshot, about),
        form=entry_form("questions", ASKS, action=here, page=here, cells=cells, row=row.key, back=back),
        reply=entry_form(
            "questions",
            ANSWER,
            action=f"{here}/answer",
            page=here,
            cells=cells,
            row=row.key,
            back=back,
            prefix="answer",
        ),
    )


def _waits(snapshot: Snapshot, about: Sequence[str]) -> str:
    """What hangs on the things a question is about, counted."""
    job = snapshot.job
    if job is None or not about:
        return ""
    circuits = {row.id for row in job.circuits} & set(about)
    parts = {part.id for part in job.parts} & set(about)
    hangs = belongings_of(job, circuits, parts)
    told = [
        plural(number, noun)
        for number, noun in ((len(hangs.wires), "wire"), (len(set(hangs.parts) - parts), "part"))
        if number
    ]
    return " and ".join(told)


def _by_stage(line: QuestionLine) -> tuple[int, str]:
    return _rank(next((key for key, word in STAGE_WORDS.items() if word == line.stage), "")), line.id


def _rank(stage: str) -> int:
    order = list(STAGE_WORDS)
    return order.index(stage) if stage in order else len(order)
