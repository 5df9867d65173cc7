"""Small puzzles thrown by dice, and every answer of one looked at: the plain form that the solver is held against."""

from __future__ import annotations

from itertools import product
from random import Random

from loomwright.allocation.engine import (
    Alternative,
    Goal,
    Limit,
    Link,
    Pair,
    Puzzle,
    Side,
    Unit,
)
from tests.allocation.judging import broken_by, costs_of

Answer = tuple[tuple[int, ...], dict[str, str], dict[str, str]]


def best_of_all(puzzle: Puzzle) -> Answer:
    """The least costs there are, and an answer that has them, by looking at every answer."""
    found: list[Answer] = []

    def go_on(number: int, chosen: dict[str, str], placed: dict[str, str]) -> None:
        if number == len(puzzle.units):
            if not broken_by(puzzle, chosen, placed):
                costs = costs_of(puzzle, chosen, placed)
                if not found or costs < found[0][0]:
                    found[:] = [(costs, dict(chosen), dict(placed))]
            return
        unit = puzzle.units[number]
        go_on(number + 1, chosen, placed)
        for one in unit.alternatives:
            for slots in product(*[list(puzzle.seats[item]) for item in one.items]):
                taken = dict(zip(one.items, slots, strict=True))
                go_on(number + 1, {**chosen, unit.name: one.name}, {**placed, **taken})

    go_on(0, {}, {})
    return found[0]


def first_that_fits(puzzle: Puzzle) -> Answer:
    """What somebody gets who takes the units in order and gives each the cheapest seats still free."""
    chosen: dict[str, str] = {}
    placed: dict[str, str] = {}
    for unit in puzzle.units:
        tries = []
        for one in unit.alternatives:
            for slots in product(*[list(puzzle.seats[item]) for item in one.items]):
                new = {**placed, **dict(zip(one.items, slots, strict=True))}
                built = {**chosen, unit.name: one.name}
                if not _breaks(puzzle, built, new):
                    tries.append((costs_of(puzzle, built, new), built, new))
        if tries:
            _, chosen, placed = min(tries, key=lambda each: each[0])
    return costs_of(puzzle, chosen, placed), chosen, placed


def _breaks(puzzle: Puzzle, chosen: dict[str, str], placed: dict[str, str]) -> bool:
    return bool(broken_by(puzzle, chosen, placed))


def thrown(dice: Random, *, links: bool = True) -> Puzzle:
    """A small puzzle with everything the engine knows in it now and then."""
    slots = [f"s{number}" for number in range(dice.randint(3, 6))]
    units, seats = _units(dice, slots)
    items = list(seats)
    side = {slot: dice.choice(["x", "y", ""]) for slot in slots}
    half = slots[: len(slots) // 2 + 1]
    limits = tuple(
        Limit(
            name=f"limit {number}",
            most=dice.randint(2, 6),
            takes={(item, slot): dice.randint(1, 4) for item in items for slot in half if slot in seats[item]},
        )
        for number in range(dice.randint(0, 1))
    )

    def sides(name: str) -> tuple[Side, ...]:
        return tuple(
            Side(name=name, items=(pick[0], pick[1]), of=side)
            for pick in [dice.sample(items, 2)]
            if dice.random() < 0.4
        )

    pairs = tuple(
        Pair(
            name="pair",
            items=(one.items[0], one.items[1]),
            partner={slot: tuple(dice.sample(slots, 2)) for slot in slots},
        )
        for unit in units
        for one in unit.alternatives
        if len(one.items) == 2 and dice.random() < 0.5
    )
    double = [unit for unit in units if len(unit.alternatives) == 2]
    linked = (Link(one=(double[0].name, "a1"), other=(double[1].name, "a0")),) if len(double) > 1 and links else ()
    return Puzzle(
        units=units,
        seats=seats,
        goals=_goals(dice, units, seats, slots),
        rooms={slot: 2 for slot in slots if dice.random() < 0.1},
        limits=limits,
        together=sides("together"),
        apart=sides("apart"),
        pairs=pairs,
        links=linked,
    )


def _units(dice: Random, slots: list[str]) -> tuple[tuple[Unit, ...], dict[str, dict[str, tuple[str, ...]]]]:
    seats: dict[str, dict[str, tuple[str, ...]]] = {}
    units = []
    like: dict[str, tuple[str, ...]] = {}
    for number in range(dice.randint(3, 5)):
        alternatives = []
        for which in range(2 if dice.random() < 0.25 else 1):
            names = []
            for place in range(2 if dice.random() < 0.2 else 1):
                name = f"i{number}_{which}_{place}"
                names.append(name)
                # now and then the same seats as the one before, so that some are alike
                if not like or dice.random() < 0.6:
                    like = {slot: (slot,) for slot in dice.sample(slots, dice.randint(1, min(4, len(slots))))}
                seats[name] = {
                    slot: tuple(dict.fromkeys((slot, dice.choice(slots)))) if dice.random() < 0.06 else fills
                    for slot, fills in like.items()
                }
            alternatives.append(Alternative(name=f"a{which}", items=tuple(names)))
        units.append(Unit(name=f"u{number}", alternatives=tuple(alternatives)))
    return tuple(units), seats


def _goals(
    dice: Random, units: tuple[Unit, ...], seats: dict[str, dict[str, tuple[str, ...]]], slots: list[str]
) -> tuple[Goal, ...]:
    plain = dice.random() < 0.4
    return (
        Goal(name="built", left_out={unit.name: 1 for unit in units}),
        Goal(name="rank", left_out={unit.name: 1 if plain else dice.randint(1, 3) for unit in units}),
        Goal(
            name="options",
            choices={(unit.name, one.name): place for unit in units for place, one in enumerate(unit.alternatives)},
        ),
        Goal(
            name="prefer",
            seats={} if plain else {(item, slot): dice.randint(0, 2) for item in seats for slot in seats[item]},
        ),
        Goal(name="spares", slots={slot: dice.randint(0, 4) for slot in slots}),
    )
