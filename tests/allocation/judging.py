"""A whole answer judged by the words of `engine` alone, without a solver: what solvers are held against."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from loomwright.allocation.engine import Puzzle

__all__ = ["broken_by", "costs_of"]


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
