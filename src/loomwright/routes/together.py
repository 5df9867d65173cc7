"""Which wires lie side by side all the way, since they are twisted together, screened together or cores of a cable?

Wires that share a word in `twist`, `screen` or `cable` belong together, and so do those that a chain of such words
joins. Of them, those whose ends sit at the same two places follow one way: that of the first by its id, of those with
a `via` where some have one. The others go by themselves, and it is told.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from loomwright.findings import id_order
from loomwright.job.cells_read import all_looked_at
from loomwright.job.job import Job
from loomwright.job.rows import Wire
from loomwright.routes.records import Routes

__all__ = ["WORDS", "Parted", "bundled", "parted", "shared_words"]

WORDS: Mapping[str, str] = {"twist": "twist", "screen": "screen", "cable": "cable"}
"""Column -> what a person calls those who share a word in it."""

_WHOLE = ("screen", "cable")
"""One piece from end to end; wires of one twist may be several pairs in a row."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Parted:
    """Wires that share a word and do not lie side by side all the way. alone: those that go by themselves."""

    column: str
    word: str
    wires: tuple[str, ...]
    alone: tuple[str, ...]
    says: str


def shared_words(job: Job) -> dict[tuple[str, str], tuple[Wire, ...]]:
    """(column, word) -> the wires that share it, in order of id; words of one wire alone are left out."""
    found: dict[tuple[str, str], list[Wire]] = {}
    seen = all_looked_at(job.wires, ("id", "fitted", *WORDS))
    pairs = ((wire, row) for wire, row in zip(job.wires, seen, strict=True) if row.fitted != "removed")
    for wire, row in sorted(pairs, key=lambda pair: _order(pair[1])):
        for column in WORDS:
            word = getattr(row, column)
            if word:
                found.setdefault((column, word), []).append(wire)
    return {key: tuple(wires) for key, wires in sorted(found.items()) if len(wires) > 1}


def bundled(job: Job) -> tuple[tuple[Wire, ...], ...]:
    """Wires that belong together, each group in order of id."""
    leader: dict[str, str] = {}

    def lead(name: str) -> str:
        while leader.setdefault(name, name) != name:
            name = leader[name]
        return name

    shared = shared_words(job)
    for wires in shared.values():
        for wire in wires[1:]:
            a, b = sorted((lead(wires[0].id), lead(wire.id)), key=lambda name: (id_order(name), name))
            leader[b] = a
    groups: dict[str, dict[str, Wire]] = {}
    for wires in shared.values():
        for wire in wires:
            groups.setdefault(lead(wire.id), {})[wire.id] = wire
    return tuple(tuple(sorted(group.values(), key=_order)) for _, group in sorted(groups.items()))


def parted(job: Job, routes: Routes) -> Iterator[Parted]:
    """Wires that share a word and part on the way: their ends sit at different places, or their `via` differ."""
    for (column, word), wires in shared_words(job).items():
        led = [wire for wire in wires if wire.id in routes.wires]
        by_ends: dict[frozenset[str], list[Wire]] = {}
        for wire in led:
            places = routes.wires[wire.id].places
            by_ends.setdefault(frozenset((places[0], places[-1])), []).append(wire)
        if len(by_ends) > 1:
            most = max(by_ends.values(), key=len)
            others = [group for group in by_ends.values() if group is not most]
            alone = [wire.id for group in others if column in _WHOLE or len(group) == 1 for wire in group]
            if column not in _WHOLE and len(most) == 1:
                alone = [wire.id for wire in led]
            if alone:
                yield _told(column, word, led, alone, "their ends sit at different places")
        for group in by_ends.values():
            asked = [wire for wire in group if wire.via and wire.id != _follows(routes, wire)]
            unlike = [wire.id for wire in asked if set(wire.via) - _passed(routes, wire)]
            if unlike:
                yield _told(column, word, group, unlike, "their via ask for different ways")


def _told(column: str, word: str, wires: Iterable[Wire], alone: Iterable[str], says: str) -> Parted:
    return Parted(column=column, word=word, wires=tuple(wire.id for wire in wires), alone=tuple(alone), says=says)


def _follows(routes: Routes, wire: Wire) -> str:
    return routes.wires[wire.id].follows or wire.id


def _passed(routes: Routes, wire: Wire) -> frozenset[str]:
    route = routes.wires[wire.id]
    return frozenset((*route.runs, *route.places))


def _order(wire: Wire) -> tuple[object, ...]:
    return id_order(wire.id), wire.id
