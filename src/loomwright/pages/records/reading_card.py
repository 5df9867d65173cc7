"""What stands on the card of a reading to take: which wire, how it looks, what to set, measure and expect?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.job.job import Job
from loomwright.job.rows import OldWire
from loomwright.pages.records.entry_form import new_token
from loomwright.survey.cautions import NO_LAMP
from loomwright.survey.evidence import live_posts
from loomwright.survey.expected import expected_of
from loomwright.survey.looks_of_wires import stretches_of
from loomwright.survey.records import NextReading, OldWireSaid, Survey
from loomwright.tables.old_wires import SEEN
from loomwright.worklist.survey_left import PROBES

__all__ = ["ExpectedLine", "ReadingCard", "percent", "place_names", "reading_card"]

_OVER, _UNDER = 0.99, 0.01
_CENT = 100
_CUT = "It is done on the source stub, the end that is fed."


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpectedLine:
    """What it would show if the wire were this. percent: how likely it is now."""

    words: str
    percent: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingCard:
    """A reading to take. stretches: the colours along the wire.   place, plug, stub, notes: where and which.

    set_words, when: the state of the car, in words and as the sheet has it.   probe: what to measure.
    measure: volts, lamp, seen, ohms.   words: that may be pressed instead of a figure; lamp: what a lamp shows, where
    one may be used.   live_post: what a lamp is fed from, empty where there is no battery.
    cautions: before the probe.   minutes: what it takes. [min]   aside: where it is passed over.
    bits: what it is expected to tell. [-]
    """

    wire: str
    href: str
    stretches: tuple[str, ...]
    place: str
    plug: str
    stub: str
    segment: str
    notes: str
    set_words: str
    when: str
    probe: str
    measure: str
    words: tuple[str, ...]
    lamp: tuple[str, ...]
    seen: tuple[str, ...]
    live_post: str
    cautions: tuple[str, ...]
    expected: tuple[ExpectedLine, ...]
    minutes: float
    bits: float
    aside: str
    token: str


def reading_card(
    job: Job, survey: Survey, said: OldWireSaid, reading: NextReading, *, href: str, aside: str = ""
) -> ReadingCard:
    """The card of a reading.

    Args:
        said: the wire it is of.
        href: the wire's own page.
        aside: where to go if it cannot be had here; empty where nobody asks.
    """
    row = next((each for each in job.old_wires if each.id == said.id), OldWire(id=said.id))
    kind = reading.look if reading.look in PROBES else "volts"
    no_lamp = bool({each.key for each in said.cautions} & NO_LAMP)
    is_cut = bool(row.stub) and kind != "ohms"
    return ReadingCard(
        wire=said.id,
        href=href,
        stretches=stretches_of(row),
        place=place_names(job).get(row.where, row.where),
        plug=row.plug,
        stub=f"{reading.stub} stub" if row.stub or kind == "ohms" else "",
        segment=row.segment,
        notes=row.notes,
        set_words=reading.words.partition(", test lamp")[0].partition(", wire earthed")[0],
        when=reading.when,
        probe=f"{PROBES[kind]} {_CUT}" if is_cut else PROBES[kind],
        measure=kind,
        words={"volts": ("pulsing",), "ohms": ("open",)}.get(kind, ()),
        lamp=() if no_lamp or kind not in ("volts", "lamp") else ("full", "dim", "dark", "pulsing"),
        seen=SEEN if kind == "seen" else (),
        live_post=next(iter(live_posts(job)), "") if kind == "lamp" else "",
        cautions=(*(each.says for each in said.cautions), *((reading.warning,) if reading.warning else ())),
        expected=tuple(
            ExpectedLine(words=each.words, percent=percent(each.odds_frac), says=each.says)
            for each in expected_of(job, survey.odds[said.id], reading.look)
        ),
        minutes=reading.minutes,
        bits=reading.bits,
        aside=aside,
        token=new_token(),
    )


def place_names(job: Job) -> Mapping[str, str]:
    """Place -> its name, its id where it has none."""
    return {place.id: place.name or place.id for place in job.places}


def percent(odds_frac: float) -> str:
    """Odds as they are printed: never a round hundred and never none.

    Args:
        odds_frac: how likely. [0..1]
    Example:
        >>> percent(0.412), percent(0.9999), percent(0.0001)
        ('41 %', 'over 99 %', 'under 1 %')
    """
    if odds_frac > _OVER:
        return "over 99 %"
    return "under 1 %" if odds_frac < _UNDER else f"{round(_CENT * odds_frac)} %"
