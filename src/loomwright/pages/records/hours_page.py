"""What does the page of hours say: what was spent, by whom, against what was quoted, and what is over?

One bar a stage, all to one scale: a thin line from the least to the most that was quoted, with a stroke at the usual;
a solid bar for what was spent, hatched where it goes beyond the most.
"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.handover.quote_hours import StageHours, hours_against
from loomwright.handover.quote_learnt import LearntMinutes, learnt_of, materials_says
from loomwright.handover.quote_records import Quote
from loomwright.handover.quote_sheet import hours_words, one_hours
from loomwright.job.rows import HoursEntry
from loomwright.job.shop_terms import ShopTerms
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.entry_form import Ask, EntryForm, Returned, entry_form
from loomwright.pages.records.stage_counts import STAGE_WORDS
from loomwright.store.snapshot import Snapshot

__all__ = ["ASKS", "NAMES", "Bar", "HoursLine", "HoursPage", "SpentLine", "hours_page"]

NAMES = ("stage", "minutes", "who", "note", "time")
"""The columns that the form of an entry asks for."""

ASKS = (
    Ask(name="stage", label="Stage", shape="choice", blank="pick one", help="-"),
    Ask(name="minutes", label="How long", shape="figure", help="in minutes, or with its unit: 2.5 h"),
    Ask(name="who", label="Who", help="-"),
    Ask(name="time", label="When", help="-"),
    Ask(name="note", label="On what", wide=True, help="-"),
)
_WIDTH = 1000.0
_NO_STAGE = "no stage named"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One bar, to the width of the drawing.

    least, usual, most: what was quoted. [-]
    spent: up to the most that was quoted. [-]
    over: beyond it. [-]
    """

    least: float
    usual: float
    most: float
    spent: float
    over: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursLine:
    """One stage. says: how it stands, in words; empty where nothing was spent.   standing: none within beyond over."""

    word: str
    spent: str
    quoted: str
    by: str
    says: str
    standing: str
    bar: Bar


@dataclass(frozen=True, slots=True, kw_only=True)
class SpentLine:
    """One entry of the sheet."""

    key: int
    stage: str
    hours: str
    who: str
    note: str
    time: str
    form: EntryForm


@dataclass(frozen=True, slots=True, kw_only=True)
class LearntLine:
    """What the job teaches of one operation, printed. row: property and value of the next sheet `vehicle`."""

    operation: str
    stages: str
    was: str
    row: str
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursPage:
    """The hours. is_quoted: there is a quote to hold them against.   over: stages that are over, in words.

    learnt, materials, next_csv: what the job, once it is done, teaches the next quote.
    """

    stages: tuple[HoursLine, ...]
    whole: HoursLine
    entries: tuple[SpentLine, ...]
    new: EntryForm
    is_quoted: bool
    over: tuple[HoursLine, ...]
    learnt: tuple[LearntLine, ...]
    materials: str
    next_csv: str
    quote: str
    findings: str
    links: JobLinks


def hours_page(
    snapshot: Snapshot,
    quote: Quote | None,
    links: JobLinks,
    *,
    who: str,
    today: str,
    stage: str = "",
    terms: ShopTerms,
    back: Returned | None = None,
) -> HoursPage:
    """The page of hours.

    Args:
        quote: None where the rows do not make a job yet.
        who: whose time is likely.
        today: the day that is likely.
        stage: the stage that is likely.
        terms: the shop's, with what the materials came to.
        back: a form that was not taken.
    """
    here = job_path(snapshot.name, "hours")
    taken = snapshot.taken.get("hours", {})
    typed = {key: row.typed for key, row in taken.items() if isinstance(row.typed, HoursEntry)}
    told = hours_against(typed.values(), quote)
    longest = max((max(line.quoted.most_minutes, line.spent_minutes) for line in told.stages), default=0.0) or 1.0
    whole_is = max(told.whole.quoted.most_minutes, told.whole.spent_minutes) or 1.0
    stages = tuple(_line(line, longest) for line in told.stages)
    rows = [row for row in snapshot.rows.get("hours", ()) if row.cells]
    entries = tuple(
        SpentLine(
            key=row.key,
            stage=STAGE_WORDS.get(row.cells.get("stage", ""), row.cells.get("stage", "") or _NO_STAGE),
            hours=_spent(typed.get(row.key), row.cells.get("minutes", "")),
            who=row.cells.get("who", ""),
            note=row.cells.get("note", ""),
            time=row.cells.get("time", ""),
            form=entry_form("hours", ASKS, action=here, page=here, cells=row.cells, row=row.key, back=back),
        )
        for row in reversed(rows)
    )
    learnt = learnt_of(quote, told, terms) if quote is not None else None
    usual = {"who": who, "time": today, "stage": stage}
    return HoursPage(
        stages=stages,
        whole=_line(told.whole, whole_is, "The whole job"),
        entries=entries,
        new=entry_form("hours", ASKS, action=here, page=here, back=back, usual=usual),
        is_quoted=quote is not None,
        over=tuple(line for line in stages if line.standing == "over"),
        learnt=tuple(_taught(one) for one in learnt.minutes) if learnt else (),
        materials=materials_says(learnt.materials) if learnt else "",
        next_csv=job_path(snapshot.name, "hours", "next.csv"),
        quote=f"{links.page_named('arrival')}#quote" if links.has("arrival") else "",
        findings=links.findings(),
        links=links,
    )


def _line(line: StageHours, longest_minutes: float, word: str = "") -> HoursLine:
    quoted, scale = line.quoted, _WIDTH / longest_minutes
    within = min(line.spent_minutes, quoted.most_minutes) if quoted.most_minutes else line.spent_minutes
    over = line.over_minutes if quoted.most_minutes else 0.0
    return HoursLine(
        word=word or STAGE_WORDS.get(line.stage, line.stage or _NO_STAGE),
        spent=one_hours(line.spent_minutes),
        quoted=hours_words(quoted) if quoted.most_minutes else "not in the quote",
        by=", ".join(f"{one.who or 'nobody named'} {one_hours(one.spent_minutes)}" for one in line.by),
        says=_says(line),
        standing=_standing(line),
        bar=Bar(
            least=round(quoted.least_minutes * scale, 1),
            usual=round(quoted.usual_minutes * scale, 1),
            most=round(quoted.most_minutes * scale, 1),
            spent=round(within * scale, 1),
            over=round(over * scale, 1),
        ),
    )


def _taught(one: LearntMinutes) -> LearntLine:
    row, value = one.row
    stages = ", ".join(STAGE_WORDS.get(stage, stage) for stage in one.stages)
    words = one.operation.replace("_", " ")
    return LearntLine(operation=words, stages=stages, was=f"{one.was.usual_minutes:g}", row=row, value=value)


def _standing(line: StageHours) -> str:
    if not line.quoted.most_minutes:
        return "within" if line.spent_minutes else "none"
    return "beyond" if line.standing == "beyond usual" else line.standing


def _says(line: StageHours) -> str:
    if not line.spent_minutes or not line.quoted.most_minutes:
        return ""
    if line.standing == "over":
        return f"over by {one_hours(line.over_minutes)}"
    if line.standing == "beyond usual":
        return f"{one_hours(line.spent_minutes - line.quoted.usual_minutes)} beyond the usual"
    return f"{one_hours(line.quoted.usual_minutes - line.spent_minutes)} left of the usual"


def _spent(row: HoursEntry | None, typed: str) -> str:
    return one_hours(row.minutes) if row is not None and row.minutes is not None else typed
