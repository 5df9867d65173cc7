"""What does the page of the survey show: the next reading, and the board of old wires with what each of them is?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.job.job import Job
from loomwright.job.rows import Reading
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.records.entry_form import Ask, EntryForm, Returned, entry_form
from loomwright.pages.records.reading_card import ReadingCard, percent, place_names, reading_card
from loomwright.quantities.printing import for_print
from loomwright.refusals import Problem
from loomwright.store.snapshot import Snapshot
from loomwright.survey.evidence import FIRST_ROW
from loomwright.survey.looks_of_wires import stretches_of
from loomwright.survey.records import NextReading, OldWireSaid, Query, Survey

__all__ = [
    "ASKS",
    "NAMES",
    "SURE",
    "BoardLine",
    "SurveyAsked",
    "SurveyPage",
    "new_wire_form",
    "shown_text",
    "survey_page",
]

ASKS = (
    Ask(name="id", label="Name", help="as tagged on the car"),
    Ask(name="colour", label="Colour", help="IEC 60757 as it looks now: GN, WH/BU"),
    Ask(name="where", label="Where it is", help="-"),
    Ask(name="plug", label="Plug and cavity", help="-"),
    Ask(name="stub", label="Cut end", shape="choice", blank="not cut", help="source: the end that is fed"),
    Ask(name="segment", label="Stretches", help="where the colour changes: BU/RD after the plug"),
    Ask(name="notes", label="Notes", shape="lines", wide=True, help="-"),
)
NAMES = tuple(ask.name for ask in ASKS)
SURE = {"sure": "sure enough for the plan", "unsure": "not sure enough", "doubted": "with a reading to take again"}
"""What the board may be cut down to, beside a place."""
_CENT = 100
_AFTER = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyAsked:
    """What the address asks. place, sure: of the board.   aside: `wire:look` passed over.   take: chosen by hand."""

    place: str = ""
    sure: str = ""
    aside: tuple[str, ...] = ()
    take: str = ""

    @property
    def pairs(self) -> frozenset[tuple[str, str]]:
        """The wires and looks that are passed over."""
        found = (each.rpartition(":") for each in self.aside)
        return frozenset((wire, look) for wire, _, look in found)

    def query(self, **changed: str) -> Mapping[str, str]:
        """As it stands in an address."""
        return {"place": self.place, "sure": self.sure, "aside": ",".join(self.aside), **changed}


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardLine:
    """One old wire on the board. share: of the best function, for its bar. [%]   readings: weighed. [-]

    fate, reason, typed: what becomes of it, why, and what stands in the sheet.   doubts: what is asked again.
    """

    id: str
    href: str
    stretches: tuple[str, ...]
    place: str
    plug: str
    stub: str
    readings: int
    best: str
    percent: str
    share: int
    how_sure: str
    is_called: bool
    fate: str
    reason: str
    typed: str
    doubts: tuple[str, ...]
    cautions: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LaterLine:
    """A reading that may be taken instead. href: where it stands as the card."""

    wire: str
    stretches: tuple[str, ...]
    place: str
    words: str
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LastTaken:
    """The reading that was taken last, and what its wire is with it."""

    wire: str
    href: str
    when: str
    shown: str
    best: str
    percent: str
    how_sure: str
    asks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyPage:
    """The survey. called: wires sure enough. [-]   all: wires there are. [-]   done, of: readings tried, to try. [-]"""

    waiting: bool
    stopped: bool
    refused: str
    done: int
    of: int
    card: ReadingCard | None
    later: tuple[LaterLine, ...]
    last: LastTaken | None
    board: tuple[BoardLine, ...]
    all: int
    called: int
    asks: tuple[tuple[str, str, str], ...]
    aside: tuple[tuple[str, str], ...]
    places: tuple[tuple[str, str], ...]
    asked: SurveyAsked
    sures: tuple[tuple[str, str], ...]
    new: EntryForm
    meters: tuple[str, ...]
    typed: Mapping[str, str]
    problems: tuple[Problem, ...]
    here: str
    save: str
    stop: str
    again: str
    links: JobLinks


def survey_page(
    snapshot: Snapshot,
    survey: Survey,
    standing: AnswerStanding[tuple[NextReading, ...]],
    asked: SurveyAsked,
    links: JobLinks,
    *,
    meters: tuple[str, ...] = (),
    typed: Mapping[str, str] | None = None,
    problems: tuple[Problem, ...] = (),
    back: Returned | None = None,
) -> SurveyPage:
    """The page.

    Args:
        survey: its readings to take next are weighed by their own wire alone.
        standing: those weighed by all wires together, or how far that is.
        meters: of the shop, that a reading may be taken from.
        typed: a reading that was not taken down.
        problems: why it was not.
        back: the form of a new old wire that was not taken.
    """
    job = snapshot.as_written
    said = {wire.id: wire for wire in survey.wires}
    following = standing.answer if standing.answer is not None else survey.following
    card = _chosen(survey, following, asked, typed or {})
    waiting = standing.answer is None and not standing.stopped and standing.refused is None
    waiting = waiting and bool(survey.wires) and not asked.take and not problems
    here = job_path(snapshot.name, "survey", query=asked.query())
    names = place_names(job)
    board = _board(job, survey, links, names)
    shown = tuple(line for line, wire in zip(board, survey.wires, strict=True) if _is_asked(line, wire, asked))
    return SurveyPage(
        waiting=waiting,
        stopped=standing.stopped,
        refused="" if standing.refused is None else str(standing.refused),
        done=standing.done,
        of=standing.of,
        card=None
        if card is None or waiting
        else reading_card(
            job,
            survey,
            said[card.wire],
            card,
            href=links.page("survey", card.wire),
            aside=_aside_path(snapshot.name, asked, (*asked.aside, f"{card.wire}:{card.look}")),
        ),
        later=tuple(_later(job, each, asked, names, snapshot.name) for each in following[:_AFTER] if each != card),
        last=_last(snapshot, survey, links),
        board=shown,
        all=len(board),
        called=sum(wire.is_called for wire in survey.wires),
        asks=tuple((query.wire, links.page("survey", query.wire), query.says) for query in survey.queries),
        aside=_put_aside(snapshot.name, asked),
        places=tuple(
            (place, names.get(place, place)) for place in dict.fromkeys(w.place for w in survey.wires if w.place)
        ),
        asked=asked,
        sures=tuple(SURE.items()),
        new=new_wire_form(snapshot, here, back),
        meters=meters,
        typed=typed or {},
        problems=problems,
        here=here,
        save=job_path(snapshot.name, "survey"),
        stop=job_path(snapshot.name, "survey", "stop", query=asked.query()),
        again=job_path(snapshot.name, "survey", "again", query=asked.query()),
        links=links,
    )


def _board(job: Job, survey: Survey, links: JobLinks, names: Mapping[str, str]) -> tuple[BoardLine, ...]:
    """Every old wire in a line."""
    rows = {wire.id: wire for wire in job.old_wires}
    return tuple(
        _line(
            wire,
            survey.queries,
            links,
            names,
            stretches_of(rows[wire.id]) if wire.id in rows else (),
            rows[wire.id].plug if wire.id in rows else "",
        )
        for wire in survey.wires
    )


def _later(job: Job, each: NextReading, asked: SurveyAsked, names: Mapping[str, str], name: str) -> LaterLine:
    """A reading to take after the next, which may be taken at once."""
    row = next((wire for wire in job.old_wires if wire.id == each.wire), None)
    return LaterLine(
        wire=each.wire,
        stretches=() if row is None else stretches_of(row),
        place=names.get(each.place, each.place),
        words=each.words,
        href=job_path(name, "survey", query=asked.query(take=f"{each.wire}:{each.look}"), at="next"),
    )


def _put_aside(name: str, asked: SurveyAsked) -> tuple[tuple[str, str], ...]:
    """Readings that cannot be taken: in words, and the page that asks for each again."""
    return tuple(
        (each.replace(":", ", "), _aside_path(name, asked, tuple(one for one in asked.aside if one != each)))
        for each in asked.aside
    )


def new_wire_form(snapshot: Snapshot, here: str, back: Returned | None) -> EntryForm:
    """The form of an old wire that has no row yet."""
    return entry_form("old_wires", ASKS, action=job_path(snapshot.name, "survey", "new"), page=here, back=back)


def shown_text(reading: Reading) -> str:
    """A reading as it was written down.

    Example:
        >>> shown_text(Reading(old_wire="7", measure="lamp", value="dim", seen="horn"))
        'lamp dim, seen: horn'
    """
    value = for_print(reading.value, digits=4) if isinstance(reading.value, float) else reading.value or ""
    unit = reading.unit or ({"volts": "V", "ohms": "ohm"}.get(reading.measure, "") if value != reading.value else "")
    text = f"{value} {unit}".strip()
    text = f"lamp {text}" if reading.measure == "lamp" and text else text
    from_ = f" against {reading.to}" if reading.to else ""
    seen = f"seen: {reading.seen}" if reading.seen else ""
    return ", ".join(piece for piece in (text + from_ if text else "", seen) if piece)


def _chosen(
    survey: Survey, following: tuple[NextReading, ...], asked: SurveyAsked, typed: Mapping[str, str]
) -> NextReading | None:
    """The reading that what was typed belongs to, or that was picked by hand; else the best."""
    wire, _, look = asked.take.rpartition(":")
    changing = (each.change_mind for each in survey.wires)
    offered = [*following, *survey.following, *(each for each in changing if each is not None)]
    back = (typed.get("wire", ""), typed.get("when", ""))
    picked = next((each for each in offered if back[0] and (each.wire, each.when) == back), None)
    picked = picked or next((each for each in offered if (each.wire, each.look) == (wire, look)), None)
    return picked or next(iter(following), None)


def _line(
    wire: OldWireSaid,
    queries: tuple[Query, ...],
    links: JobLinks,
    names: Mapping[str, str],
    stretches: tuple[str, ...],
    plug: str,
) -> BoardLine:
    typed = wire.fate.typed
    return BoardLine(
        id=wire.id,
        href=links.page("survey", wire.id),
        stretches=stretches,
        place=names.get(wire.place, wire.place),
        plug=plug,
        stub=f"{wire.stub} stub" if wire.stub else "",
        readings=wire.readings,
        best=wire.best.words,
        percent=percent(wire.best.odds_frac),
        share=round(_CENT * wire.best.odds_frac),
        how_sure=wire.how_sure,
        is_called=wire.is_called,
        fate=typed or wire.fate.fate,
        reason="" if typed and typed != wire.fate.fate else wire.fate.reason,
        typed=wire.fate.fate if typed and typed != wire.fate.fate else "",
        doubts=tuple(_short(query) for query in queries if query.wire == wire.id and query.row),
        cautions=len(wire.cautions),
    )


def _short(query: Query) -> str:
    return f"row {query.row}: {query.asks}"


def _is_asked(line: BoardLine, wire: OldWireSaid, asked: SurveyAsked) -> bool:
    if asked.place and wire.place != asked.place:
        return False
    return {"sure": line.is_called, "unsure": not line.is_called, "doubted": bool(line.doubts)}.get(asked.sure, True)


def _last(snapshot: Snapshot, survey: Survey, links: JobLinks) -> LastTaken | None:
    readings = snapshot.as_written.readings
    place = next((place for place in range(len(readings) - 1, -1, -1) if readings[place].old_wire), None)
    if place is None:
        return None
    reading = readings[place]
    wire = next(each for each in survey.wires if each.id == reading.old_wire)
    return LastTaken(
        wire=wire.id,
        href=links.page("survey", wire.id),
        when=reading.when.text,
        shown=shown_text(reading),
        best=wire.best.words,
        percent=percent(wire.best.odds_frac),
        how_sure=wire.how_sure,
        asks=tuple(query.says for query in survey.queries if query.row == place + FIRST_ROW),
    )


def _aside_path(job: str, asked: SurveyAsked, aside: tuple[str, ...]) -> str:
    return job_path(job, "survey", query=asked.query(aside=",".join(aside)), at="next")
