"""Which item goes into which slot: what is asked, what an answer costs, and what is wrong with one?

Nothing here knows what an item or a slot is. A *puzzle* has units, each built in exactly one of its alternatives or
left out; an alternative has items; each item of a chosen alternative goes into one slot. A slot has room for one item
unless `rooms` says otherwise, and a seat (an item in a slot) may fill further slots. What else must hold: limits on
the sum of what items take, items together or apart by the side their slots are on, pairs in slots that belong
together, choices that go with one another. What is wished: goals in order, each a sum to be made least before the
next is looked at.

`costs_of` and `broken_by` judge a whole answer by these words alone, without a solver: they are what a solver's
answer is held against.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from loomwright.job.fixed_map import FixedMap

__all__ = [
    "Alternative",
    "Choice",
    "Goal",
    "Limit",
    "Link",
    "Pair",
    "Puzzle",
    "Seat",
    "Side",
    "Unit",
    "broken_by",
    "costs_of",
    "only_units",
]

Seat = tuple[str, str]
"""An item in a slot."""

Choice = tuple[str, str]
"""A unit built in one of its alternatives."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One way to build a unit. items: what then needs a slot; none where the unit can do without."""

    name: str
    items: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """What is built whole or left out. alternatives: exactly one of them is built."""

    name: str
    alternatives: tuple[Alternative, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A sum that may not be exceeded. takes: what an item takes of it in a slot; nothing where it is not named. [-]

    most: what the sum may be. [-]
    """

    name: str
    most: int
    takes: Mapping[Seat, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """Two items whose slots must lie on the same side, or must not. of: slot -> the side it is on.

    A slot without a side is on none: it is neither together with nor apart from any other.
    """

    name: str
    items: tuple[str, str]
    of: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Two items of one alternative whose slots belong together. partner: slot of the first -> slots of the second."""

    name: str
    items: tuple[str, str]
    partner: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """Two choices of which both are made or neither."""

    one: Choice
    other: Choice


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """A sum to be made least. seats, slots: of an item in a slot, of anything in a slot, all its slots counted.

    choices: of an alternative that is built.   left_out: of a unit that is not.
    """

    name: str
    seats: Mapping[Seat, int] = FixedMap()
    slots: Mapping[str, int] = FixedMap()
    choices: Mapping[Choice, int] = FixedMap()
    left_out: Mapping[str, int] = FixedMap()


@dataclass(frozen=True, slots=True, kw_only=True)
class Puzzle:
    """All that is asked. seats: item -> slot it may go into -> all slots it fills there, the slot itself first.

    rooms: slot -> how many items it has room for, where that is not one. [-]
    """

    units: tuple[Unit, ...]
    seats: Mapping[str, Mapping[str, tuple[str, ...]]]
    goals: tuple[Goal, ...]
    rooms: Mapping[str, int] = FixedMap()
    limits: tuple[Limit, ...] = ()
    together: tuple[Side, ...] = ()
    apart: tuple[Side, ...] = ()
    pairs: tuple[Pair, ...] = ()
    links: tuple[Link, ...] = ()


def costs_of(puzzle: Puzzle, chosen: Mapping[str, str], placed: Mapping[str, str]) -> tuple[int, ...]:
    """What an answer costs by each goal, in order. [-]

    Args:
        chosen: unit -> the alternative that is built; a unit left out is not named.
        placed: item -> slot.
    """
    found = []
    for goal in puzzle.goals:
        cost = sum(goal.left_out.get(unit.name, 0) for unit in puzzle.units if unit.name not in chosen)
        cost += sum(goal.choices.get(choice, 0) for choice in chosen.items())
        for item, slot in placed.items():
            cost += goal.seats.get((item, slot), 0)
            if goal.slots:
                cost += sum(goal.slots.get(each, 0) for each in puzzle.seats[item][slot])
        found.append(cost)
    return tuple(found)


def broken_by(puzzle: Puzzle, chosen: Mapping[str, str], placed: Mapping[str, str]) -> tuple[str, ...]:
    """What an answer breaks, each in a few words; none where it is a good one.

    Args:
        chosen: unit -> the alternative that is built; a unit left out is not named.
        placed: item -> slot.
    """
    return tuple(_broken(puzzle, chosen, placed))


def only_units(puzzle: Puzzle, names: frozenset[str]) -> Puzzle:
    """The puzzle with these units alone, and what is still asked of them."""
    units = tuple(unit for unit in puzzle.units if unit.name in names)
    items = {item for unit in units for one in unit.alternatives for item in one.items}
    return Puzzle(
        units=units,
        seats={item: puzzle.seats[item] for item in items},
        goals=puzzle.goals,
        rooms=puzzle.rooms,
        limits=tuple(one for one in puzzle.limits if any(item in items for item, _ in one.takes)),
        together=tuple(one for one in puzzle.together if items.issuperset(one.items)),
        apart=tuple(one for one in puzzle.apart if items.issuperset(one.items)),
        pairs=tuple(one for one in puzzle.pairs if items.issuperset(one.items)),
        links=tuple(one for one in puzzle.links if {one.one[0], one.other[0]} <= names),
    )


def _broken(puzzle: Puzzle, chosen: Mapping[str, str], placed: Mapping[str, str]) -> Iterator[str]:
    yield from _wrongly_built(puzzle, chosen, placed)
    yield from _crowded(puzzle, placed)
    for limit in puzzle.limits:
        if sum(limit.takes.get(seat, 0) for seat in placed.items()) > limit.most:
            yield f"{limit.name} is exceeded"
    for sides, same in ((puzzle.together, True), (puzzle.apart, False)):
        for side in sides:
            if all(item in placed for item in side.items):
                one, other = (side.of.get(placed[item], "") for item in side.items)
                if (one != other or not one) if same else (one == other and bool(one)):
                    yield f"{side.name}: on {one or 'no side'} and {other or 'no side'}"
    for pair in puzzle.pairs:
        first, second = pair.items
        if first in placed and second in placed and placed[second] not in pair.partner.get(placed[first], ()):
            yield f"{pair.name}: {placed[first]} and {placed[second]} do not belong together"
    for link in puzzle.links:
        if (chosen.get(link.one[0]) == link.one[1]) != (chosen.get(link.other[0]) == link.other[1]):
            yield f"{link.one[0]} {link.one[1]} goes with {link.other[0]} {link.other[1]}"


def _wrongly_built(puzzle: Puzzle, chosen: Mapping[str, str], placed: Mapping[str, str]) -> Iterator[str]:
    wanted: set[str] = set()
    for unit in puzzle.units:
        if unit.name in chosen:
            built = [one for one in unit.alternatives if one.name == chosen[unit.name]]
            wanted.update(item for one in built for item in one.items)
            if not built:
                yield f"{unit.name} has no alternative {chosen[unit.name]}"
    if wanted != set(placed):
        yield f"{' '.join(sorted(wanted ^ set(placed)))}: asked for and in no slot, or the other way round"


def _crowded(puzzle: Puzzle, placed: Mapping[str, str]) -> Iterator[str]:
    filled: Counter[str] = Counter()
    for item, slot in placed.items():
        fills = puzzle.seats.get(item, {}).get(slot)
        if fills is None:
            yield f"{item} may not go into {slot}"
        else:
            filled.update(fills)
    for slot, count in filled.items():
        if count > puzzle.rooms.get(slot, 1):
            yield f"{slot} has no room for {count}"
