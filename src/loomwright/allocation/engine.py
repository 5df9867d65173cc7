"""Which item goes into which slot: what is asked of an answer, and what does it cost?

Nothing here knows what an item or a slot is. A *puzzle* has units, each built in exactly one of its alternatives or
left out; an alternative has items; each item of a chosen alternative goes into one slot. A slot has room for one item
unless `rooms` says otherwise, and a seat (an item in a slot) may fill further slots. What else must hold: limits on
the sum of what items take, items together or apart by the side their slots are on, pairs in slots that belong
together, choices that go with one another. What is wished: goals in order, each a sum to be made least before the
next is looked at.
"""

from __future__ import annotations

from collections.abc import Mapping
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
