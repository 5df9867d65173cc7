"""What does the page of one old wire show: its readings, the odds, what speaks for which, its way into the plan?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.job.job import Job
from loomwright.job.points import all_terminals
from loomwright.job.reading import problems_of
from loomwright.job.rows import OldWire
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.entry_form import Ask, EntryForm, Returned, entry_form
from loomwright.pages.records.reading_card import ReadingCard, percent, place_names, reading_card
from loomwright.pages.records.survey_page import ASKS, new_wire_form, shown_text
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach, Problem
from loomwright.store.photos import Photo
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import AddRow, Edit, SetCell, StoredRow
from loomwright.store.towards import edits_towards
from loomwright.survey.evidence import FIRST_ROW
from loomwright.survey.looks_of_wires import stretches_of
from loomwright.survey.plan_rows import into_plan
from loomwright.survey.records import OldWireSaid, Survey
from loomwright.survey.speaks import WireSpoken, spoken_of
from loomwright.tables.kinds import load_kinds

__all__ = ["ROW_ASKS", "ROW_NAMES", "OldWirePage", "PlanRows", "old_wire_page", "plan_rows"]

ROW_ASKS = (
    Ask(name="fate", label="What becomes of it", shape="choice", blank="as the readings say", help="-"),
    *(ask for ask in ASKS if ask.name != "id"),
)
ROW_NAMES = tuple(ask.name for ask in ROW_ASKS)
_CENT = 100
_COLUMNS = 3
_CLEAR = 1.25
_MOST_TIMES = 1000.0
_WHOLE = 10.0
_DOUBT = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class OddsLine:
    """One function. share: all together, for its bar. [%]"""

    words: str
    before: str
    alone: str
    together: str
    share: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadLine:
    """One reading. speaks: `for` or `against`, how many times, function by function; empty where it is not weighed."""

    row: int
    when: str
    shown: str
    time: str
    note: str
    speaks: tuple[str, ...]
    asks: tuple[str, ...]
    doubted: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRow:
    """One row that going into the plan makes or changes. made: a new one.   cells: heading and text."""

    sheet: str
    made: bool
    cells: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRows:
    """What putting a wire into the plan takes. edits: as the shelf takes them.   refused: why it cannot be."""

    edits: tuple[Edit, ...] = ()
    rows: tuple[PlanRow, ...] = ()
    refused: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OldWirePage:
    """The page. heads: the functions whose columns stand beside the readings.   asks: what is asked about its row.

    to: the point that was typed.
    """

    id: str
    stretches: tuple[str, ...]
    colour: str
    place: str
    plug: str
    stub: str
    segment: str
    notes: str
    said: OldWireSaid
    percent: str
    heads: tuple[str, ...]
    odds: tuple[OddsLine, ...]
    readings: tuple[ReadLine, ...]
    card: ReadingCard | None
    cautions: tuple[str, ...]
    asks: tuple[str, ...]
    to: str
    plan: PlanRows | None
    joined: str
    joined_href: str
    points: tuple[str, ...]
    row: EntryForm
    has_row: bool
    photos: tuple[Photo, ...]
    photos_href: str
    meters: tuple[str, ...]
    typed: Mapping[str, str]
    problems: tuple[Problem, ...]
    here: str
    save: str
    make: str
    revision: int
    all: str
    links: JobLinks


def old_wire_page(
    snapshot: Snapshot,
    survey: Survey,
    wire: str,
    links: JobLinks,
    photos: tuple[Photo, ...],
    *,
    to: str = "",
    meters: tuple[str, ...] = (),
    typed: Mapping[str, str] | None = None,
    problems: tuple[Problem, ...] = (),
    back: Returned | None = None,
) -> OldWirePage:
    """The page.

    Args:
        to: the point of the new loom it would be joined to; the rows this makes are shown where it is given.
        meters: of the shop, that a reading may be taken from.
        typed: a reading that was not taken down.
        problems: why it was not.
        back: the form of its row that was not taken.
    Raises:
        OutOfReach: no such old wire.
    """
    job = snapshot.as_written
    said = next((each for each in survey.wires if each.id == wire), None)
    if said is None:
        raise OutOfReach("old wire", wire, " ".join(each.id for each in survey.wires) or "none in this job")
    row = next((each for each in job.old_wires if each.id == wire), OldWire(id=wire))
    stored = next((each for each in snapshot.rows.get("old_wires", ()) if each.cells.get("id") == wire), None)
    spoken = spoken_of(job, wire)
    here = links.page("survey", wire)
    change = said.change_mind
    new_wire = f"OW_{wire}"
    joined = next((each.to for each in job.wires if each.id == new_wire), "")
    return OldWirePage(
        id=wire,
        stretches=stretches_of(row),
        colour=row.colour,
        place=place_names(job).get(row.where, row.where),
        plug=row.plug,
        stub=row.stub,
        segment=row.segment,
        notes=row.notes,
        said=said,
        percent=percent(said.best.odds_frac),
        heads=tuple(each.words for each in spoken.functions[:_COLUMNS]),
        odds=_odds(spoken),
        readings=_readings(job, survey, spoken),
        card=None if change is None else reading_card(job, survey, said, change, href=here),
        cautions=tuple(each.says for each in said.cautions),
        asks=tuple(query.says for query in survey.queries if query.wire == wire and not query.row),
        to=to,
        plan=plan_rows(snapshot, survey, wire, to) if to else None,
        joined=joined,
        joined_href=links.page("wire", new_wire) if joined else "",
        points=_points(job),
        row=_row_form(snapshot, wire, stored, here, back),
        has_row=stored is not None,
        photos=photos,
        photos_href=links.photos("old_wires", stored.key) if stored is not None else "",
        meters=meters,
        typed=typed or {},
        problems=problems,
        here=here,
        save=job_path(snapshot.name, "survey"),
        make=job_path(snapshot.name, "survey", wire, "plan"),
        revision=snapshot.revision,
        all=job_path(snapshot.name, "survey"),
        links=links,
    )


def _odds(spoken: WireSpoken) -> tuple[OddsLine, ...]:
    """Each function it may have: before any reading, by its own readings, by those of all wires."""
    return tuple(
        OddsLine(
            words=each.words,
            before=percent(each.before_frac),
            alone=percent(each.alone_frac),
            together=percent(each.odds_frac),
            share=round(_CENT * each.odds_frac),
        )
        for each in spoken.functions
    )


def _row_form(snapshot: Snapshot, wire: str, stored: StoredRow | None, here: str, back: Returned | None) -> EntryForm:
    """The form of its row; that of a new one where it has none."""
    if stored is None:
        return new_wire_form(snapshot, here, back)
    return entry_form(
        "old_wires",
        ROW_ASKS,
        action=job_path(snapshot.name, "survey", wire, "row"),
        page=here,
        cells=stored.cells,
        row=stored.key,
        back=back,
    )


def plan_rows(snapshot: Snapshot, survey: Survey, wire: str, to: str) -> PlanRows:
    """The rows that putting an old wire into the plan makes, or why it cannot be put there.

    Args:
        to: the point of the new loom it is joined to.
    """
    job = snapshot.job
    if job is None:
        return PlanRows(refused=("The sheets hold a cell that cannot be read: mend it first.",))
    try:
        planned = into_plan(job, survey, wire, to)
        edits = edits_towards(snapshot, planned)
    except NoAnswer as refusal:
        return PlanRows(refused=refusal.reasons)
    except OutOfReach as refusal:
        return PlanRows(refused=(str(refusal),))
    except BadDocument as refusal:
        return PlanRows(refused=tuple(problem.says for problem in refusal.problems))
    problems = problems_of(planned)
    if problems:
        return PlanRows(refused=tuple(problem.says for problem in problems))
    return PlanRows(edits=edits, rows=tuple(_plan_row(edit) for edit in edits))


def _plan_row(edit: Edit) -> PlanRow:
    if isinstance(edit, AddRow):
        return PlanRow(sheet=edit.sheet, made=True, cells=tuple(edit.cells.items()))
    cells = ((edit.column, edit.new),) if isinstance(edit, SetCell) else ()
    return PlanRow(sheet=edit.sheet, made=False, cells=cells)


def _readings(job: Job, survey: Survey, spoken: WireSpoken) -> tuple[ReadLine, ...]:
    by_row = {each.row: each for each in spoken.readings}
    found = []
    for number, reading in enumerate(job.readings, start=FIRST_ROW):
        if reading.old_wire != spoken.wire:
            continue
        weighed = by_row.get(number)
        found.append(
            ReadLine(
                row=number,
                when=reading.when.text,
                shown=shown_text(reading),
                time=reading.time,
                note=", ".join(each for each in (reading.visit, reading.note) if each),
                speaks=() if weighed is None else tuple(_times(each) for each in weighed.times[:_COLUMNS]),
                asks=tuple(query.says for query in survey.queries if query.row == number and query.wire == spoken.wire),
                doubted=weighed is not None and weighed.wrong_frac >= _DOUBT,
            )
        )
    return tuple(found)


def _times(times: float) -> str:
    """For or against, and how many times.

    Args:
        times: how many times likelier the reading is under the function than before. [-]
    Example:
        >>> _times(3.2), _times(0.02), _times(1.1)
        ('for × 3.2', 'against × 50', 'neither')
    """
    if 1.0 / _CLEAR < times < _CLEAR:
        return "neither"
    word, factor = ("for", times) if times > 1.0 else ("against", 1.0 / max(times, 1e-9))
    if factor >= _MOST_TIMES:
        return f"{word} × over 1000"
    return f"{word} × {factor:.0f}" if factor >= _WHOLE else f"{word} × {factor:.1f}"


def _points(job: Job) -> tuple[str, ...]:
    terminals = all_terminals(job, load_kinds())
    return tuple(f"{part}.{terminal}" for part, some in terminals.items() for terminal in some)
