"""What is one thing to do, and what is a day's list of them?

A thing is told whole: what to do, on which wire, from where to where, what to look at, what may be answered and the row
its answer makes. Whoever shows it needs nothing else, so it can be shown where the job is not.

Which is next is fixed by the list: things of a lower stage come first, none before those it comes after, and within
that the order of the list. One that may be passed over holds up no other.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from loomwright.job.rows import Place
from loomwright.proving.plan import PlannedTest
from loomwright.proving.walking import ordered

__all__ = ["WORKS", "Asks", "Thing", "WorkList", "next_of", "places_in_order", "thing_plain"]

WORKS: Mapping[str, str] = {
    "survey": "Read an old wire",
    "build": "Build the loom",
    "fit": "Fit it in the car",
    "prove": "Prove it",
    "start": "First start",
}
"""Word of a work and its heading, in the order of a job."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asks:
    """How a thing is answered. kind: `done`, `figure` or `words`.

    unit: of the figure. low, high: the band, in it; None: no bound. A piece that is cut has the length it needs as its
    low. most: a figure beyond it is asked about; None where anything may be meant. word: what is expected of the words.
    says: what is expected, for a reader. waivable: it may be let go with a reason. measure: with what.
    """

    kind: str = "done"
    unit: str = ""
    low: float | None = None
    high: float | None = None
    most: float | None = None
    words: tuple[str, ...] = ()
    word: str = ""
    says: str = ""
    waivable: bool = False
    measure: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """One thing to do.

    work: build, fit, prove, survey or start. group: what it is done together with. stage: nothing of a later one comes
    before it. [-] does: the sentence. wire, colour: the wire in hand. here, there: from where to where. place: where to
    stand. facts: word and what it is. cautions: what can hurt. after: ids of what comes before it. offered: it may be
    passed over. sheet, cells: the row that its answer completes. photo: sheet and row a picture of it belongs to.
    again: what to do where it does not hold. holds_up: it stays in hand until it holds. is_done: it is on record.
    """

    id: str
    work: str
    group: str
    does: str
    sheet: str
    cells: Mapping[str, str]
    stage: int = 0
    wire: str = ""
    colour: str = ""
    here: str = ""
    there: str = ""
    place: str = ""
    facts: tuple[tuple[str, str], ...] = ()
    cautions: tuple[str, ...] = ()
    asks: Asks = Asks()
    after: tuple[str, ...] = ()
    offered: bool = False
    photo: tuple[str, ...] = ()
    again: str = ""
    holds_up: bool = False
    is_done: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkList:
    """The things of one work, in the order they are done. waits: why it is not worked out yet."""

    work: str
    things: tuple[Thing, ...] = ()
    waits: str = ""

    @property
    def left(self) -> int:
        """How many are not done. [-]"""
        return sum(not thing.is_done and not thing.offered for thing in self.things)


def next_of(things: Sequence[Thing], done: Collection[str] = (), later: Collection[str] = ()) -> Thing | None:
    """The next thing of a list; None where nothing is left.

    Args:
        things: of one work.
        done: ids of things done since the list was made.
        later: ids that were put off: they come when nothing else of their stage is left.
    """
    settled = {thing.id for thing in things if thing.is_done} | set(done)
    left = [thing for thing in things if thing.id not in settled]
    stage = min((thing.stage for thing in left if not thing.offered), default=None)
    if stage is None:
        return next((thing for thing in left if thing.id not in later), None)
    can = [thing for thing in left if thing.stage <= stage and all(name in settled for name in thing.after)]
    return next(
        (thing for thing in can if thing.id not in later), next((thing for thing in can if not thing.offered), None)
    )


def places_in_order(names: Iterable[str], places: Iterable[Place]) -> tuple[str, ...]:
    """Places in the order that takes least walking.

    Args:
        names: of those one has to go to.
        places: of the job.
    Source:
        `proving.walking`.
    """
    known = {place.id: place for place in places}
    stops = [
        PlannedTest(id=name, stage="", does="", point=name, measure="", place=name) for name in dict.fromkeys(names)
    ]
    return tuple(stop.place for stop in ordered(stops, known))


def thing_plain(thing: Thing) -> dict[str, object]:
    """A thing as plain data, what is blank left out."""
    asks = thing.asks
    told: dict[str, object] = {
        "id": thing.id,
        "work": thing.work,
        "group": thing.group,
        "does": thing.does,
        "stage": thing.stage,
        "wire": thing.wire,
        "colour": thing.colour,
        "here": thing.here,
        "there": thing.there,
        "place": thing.place,
        "facts": [list(pair) for pair in thing.facts],
        "cautions": list(thing.cautions),
        "after": list(thing.after),
        "offered": thing.offered,
        "photo": list(thing.photo),
        "again": thing.again,
        "holds_up": thing.holds_up,
        "is_done": thing.is_done,
        "sheet": thing.sheet,
        "cells": dict(thing.cells),
    }
    limits = {
        "kind": asks.kind,
        "unit": asks.unit,
        "low": asks.low,
        "high": asks.high,
        "most": asks.most,
        "words": list(asks.words),
        "word": asks.word,
        "says": asks.says,
        "waivable": asks.waivable,
        "measure": asks.measure,
    }
    kept = {name: value for name, value in told.items() if value not in ("", [], False)}
    return {**kept, "asks": {name: value for name, value in limits.items() if value not in (None, "", [], False)}}
