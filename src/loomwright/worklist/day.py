"""What has somebody to take along for a day's work on a car, where no signal is?

Out: a `Day`: the lists of next things, and a card for every wire and part, so that a label can be looked up. It is
plain data: nothing is worked out from it where it is shown but which thing is next and whether a reading lies in its
band. As plain data a sentence that many things share, such as a caution, stands once and is named by its place.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.findings import id_order
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.points import split_point
from loomwright.loom.as_built_records import AsBuilt
from loomwright.loom.cut_list import ALLOWANCE_MM
from loomwright.proving.plan import TestPlan
from loomwright.quantities.printing import for_print
from loomwright.routes.records import Routes
from loomwright.startup.first_start import FirstStart
from loomwright.survey.records import Survey
from loomwright.tables.coverings import is_pushed_on
from loomwright.worklist.building import building_things
from loomwright.worklist.fitting import fitting_things
from loomwright.worklist.start_items import start_things
from loomwright.worklist.survey_left import survey_things
from loomwright.worklist.tests_left import things_to_prove
from loomwright.worklist.thing import WORKS, Thing, WorkList, thing_plain

__all__ = ["Card", "Day", "cards_of", "day_of", "day_plain"]

_NOT_KNOWN: Mapping[str, str] = FixedMap({})

_WAITS = "not worked out yet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """What a label leads to. sheet: wires or parts.   facts: word and what it is.   wires: that end there, by id."""

    id: str
    sheet: str
    title: str
    colour: str = ""
    here: str = ""
    there: str = ""
    facts: tuple[tuple[str, str], ...] = ()
    wires: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """A day's work. lists: one a work, in the order of a job.   cards: of what carries a label."""

    title: str
    lists: tuple[WorkList, ...]
    cards: tuple[Card, ...]

    def of(self, work: str) -> WorkList:
        """The list of one work."""
        return next(one for one in self.lists if one.work == work)


def day_of(
    job: Job,
    routes: Routes,
    *,
    plan: TestPlan | None = None,
    survey: Survey | None = None,
    start: FirstStart | None = None,
    built: AsBuilt | None = None,
    cavities: Mapping[str, str] = _NOT_KNOWN,
) -> Day:
    """A day's work on a job.

    Args:
        job: with what was decided filled in.
        routes: of the job.
        plan: its tests; None while they are worked out.
        survey: what its readings say; None while that is worked out.
        start: its list of the first start; None while that is worked out.
        built: what the job asks of what is built already; nothing where left out.
        cavities: point -> the cavity its plug has it in (`handover.connector_faces`); none is told where left out.
    """
    title = next((row.value for row in job.vehicle if row.name == "title"), "")
    return Day(
        title=title,
        lists=(
            _list("survey", None if survey is None else survey_things(job, survey)),
            _list("build", building_things(job, built, cavities, _tubes(job, routes))),
            _list("fit", fitting_things(job, routes)),
            _list("prove", None if plan is None else things_to_prove(job, plan)),
            _list("start", None if start is None else start_things(start)),
        ),
        cards=cards_of(job),
    )


def cards_of(job: Job) -> tuple[Card, ...]:
    """A card for every wire and every part of a job.

    Args:
        job: with what was decided filled in.
    """
    names = {place.id: place.name or place.id for place in job.places}
    places = {part.id: names.get(part.place, part.place) for part in job.parts}
    wires = sorted((wire for wire in job.wires if wire.fitted != "removed"), key=lambda wire: id_order(wire.id))
    ends: dict[str, list[str]] = {}
    found = []
    for wire in wires:
        for point in (wire.from_, wire.to):
            ends.setdefault(split_point(point)[0], []).append(wire.id)
        facts = (
            ("circuit", wire.circuit),
            ("size", "" if wire.size_mm2 is None else f"{for_print(wire.size_mm2)} mm²"),
            ("cut", "" if wire.length_mm is None else f"{for_print(wire.length_mm + ALLOWANCE_MM, digits=6)} mm"),
            ("start at", places.get(split_point(wire.from_)[0], "")),
            ("end at", places.get(split_point(wire.to)[0], "")),
            ("note", wire.notes),
        )
        found.append(
            Card(
                id=wire.id,
                sheet="wires",
                title=f"Wire {wire.id}",
                colour=wire.colour,
                here=wire.from_ or "free end",
                there=wire.to or "free end",
                facts=tuple(pair for pair in facts if pair[1]),
            )
        )
    for part in sorted((part for part in job.parts if part.fitted != "removed"), key=lambda part: id_order(part.id)):
        rating = str(part.settings.get("rating_a", ""))
        about = (
            ("what", part.kind.replace("_", " ")),
            ("place", places.get(part.id, "")),
            ("rating", f"{rating} A" if rating and part.kind.startswith("fuse") else ""),
            ("circuit", part.circuit or ""),
            ("note", part.notes),
        )
        found.append(
            Card(
                id=part.id,
                sheet="parts",
                title=f"{part.id} {part.name}".strip(),
                facts=tuple(pair for pair in about if pair[1]),
                wires=tuple(dict.fromkeys(ends.get(part.id, ()))),
            )
        )
    return tuple(found)


def _tubes(job: Job, routes: Routes) -> Mapping[str, str]:
    """Wire -> the tubes along its way that no crimped end passes, in words."""
    tubes = {run.id: f"{run.covering} of {run.id}" for run in job.runs if is_pushed_on(run.covering)}
    ways = {name: [tubes[run] for run in dict.fromkeys(way.runs) if run in tubes] for name, way in routes.wires.items()}
    return {name: ", ".join(words) for name, words in ways.items() if words}


def day_plain(day: Day) -> dict[str, object]:
    """A day's work as plain data."""
    told = dict.fromkeys(text for one in day.lists for thing in one.things for text in thing.cautions)
    at = {text: place for place, text in enumerate(told)}
    return {
        "title": day.title,
        "cautions": list(told),
        "works": [
            {
                "work": one.work,
                "title": WORKS[one.work],
                "waits": one.waits,
                "left": one.left,
                "things": [
                    {**thing_plain(thing), "cautions": [at[text] for text in thing.cautions]} for thing in one.things
                ],
            }
            for one in day.lists
        ],
        "cards": [_card_plain(card) for card in day.cards],
    }


def _card_plain(card: Card) -> Mapping[str, object]:
    told = {
        "id": card.id,
        "sheet": card.sheet,
        "title": card.title,
        "colour": card.colour,
        "here": card.here,
        "there": card.there,
        "facts": [list(pair) for pair in card.facts],
        "wires": list(card.wires),
    }
    return {name: value for name, value in told.items() if value not in ("", [])}


def _list(work: str, things: tuple[Thing, ...] | None) -> WorkList:
    return WorkList(work=work, waits=_WAITS) if things is None else WorkList(work=work, things=things)
