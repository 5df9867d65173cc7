"""Which smallest sets of units cannot be built together?

A set is *smallest* when its units cannot all be built, and can as soon as any one of them is left out; both are
proved by the solver. Each unit that the best answer leaves out clashes with some that it builds (else it would have
been built too); halving finds them: a set is split, and what is needed of each half is looked for beside the other
half.

Then it is asked which of the other rules of a set are to blame: without which limit, side or pair it would fit.

Source: the halving is QuickXplain (Junker, 2004), from memory; the proof does not rest on it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import chain

from loomwright.allocation.engine import Puzzle, only_units
from loomwright.allocation.placing import fits

__all__ = ["Clash", "clash_with", "clashes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """Units that cannot be built together, and can with any one of them left out.

    slots: all that they could go into.   least_slots: how many slots they take at the least. [-]
    blamed: limits, sides and pairs without any one of which they would fit, by name; none where slots are too few.
    """

    units: tuple[str, ...]
    slots: tuple[str, ...]
    least_slots: int
    blamed: tuple[str, ...]


def clashes(
    puzzle: Puzzle, left_out: Sequence[str], told: Callable[[int, int], None] | None = None
) -> tuple[Clash, ...]:
    """One smallest set for each unit that is left out, none twice.

    Args:
        left_out: units that the best answer does not build.
        told: called with sets found and to find; may raise Stopped.
    """
    built = [unit.name for unit in puzzle.units if unit.name not in left_out]
    found: dict[tuple[str, ...], Clash] = {}
    for number, unit in enumerate(left_out):
        if told is not None:
            told(number, len(left_out))
        one = clash_with(puzzle, unit, built)
        found.setdefault(one.units, one)
    return tuple(found.values())


def clash_with(puzzle: Puzzle, unit: str, others: Sequence[str]) -> Clash:
    """A smallest set that a unit cannot be built with, of others that can be built without it."""
    near = _near(puzzle, unit, others)

    def holds(names: Sequence[str]) -> bool:
        return fits(only_units(puzzle, frozenset(names)))

    needed = _needed([unit], near, holds, changed=False) if near and holds([unit]) else []
    order = {each.name: number for number, each in enumerate(puzzle.units)}
    units = tuple(sorted([unit, *needed], key=lambda name: order[name]))
    small = only_units(puzzle, frozenset(units))
    slots = tuple(dict.fromkeys(slot for item in sorted(small.seats) for slot in small.seats[item]))
    least = sum(min(len(one.items) for one in each.alternatives) for each in small.units)
    return Clash(units=units, slots=slots, least_slots=least, blamed=tuple(_blamed(small)))


def _needed(
    background: list[str], candidates: list[str], holds: Callable[[Sequence[str]], bool], *, changed: bool
) -> list[str]:
    """The fewest of the candidates that clash with the background."""
    if changed and not holds(background):
        return []
    if len(candidates) == 1:
        return candidates
    half = len(candidates) // 2
    first, second = candidates[:half], candidates[half:]
    of_second = _needed(background + first, second, holds, changed=True)
    of_first = _needed(background + of_second, first, holds, changed=bool(of_second))
    return of_first + of_second


def _near(puzzle: Puzzle, unit: str, others: Sequence[str]) -> list[str]:
    """The others that have anything to do with a unit: slots or rules they share, in as many steps as it takes."""
    ties: dict[str, set[object]] = {}
    owner = {item: each.name for each in puzzle.units for one in each.alternatives for item in one.items}
    for item, name in owner.items():
        fills = chain.from_iterable(puzzle.seats[item].values())
        ties.setdefault(name, set()).update(("slot", slot) for slot in fills)
    for number, limit in enumerate(puzzle.limits):
        for item, _ in limit.takes:
            ties[owner[item]].add(("limit", number))
    bound = [side.items for side in (*puzzle.together, *puzzle.apart)] + [pair.items for pair in puzzle.pairs]
    for number, items in enumerate(bound):
        for item in items:
            ties[owner[item]].add(("rule", number))
    for number, link in enumerate(puzzle.links):
        for name, _ in (link.one, link.other):
            ties.setdefault(name, set()).add(("link", number))
    reached, seen, found = set(ties.get(unit, ())), {unit}, []
    grew = True
    while grew:
        grew = False
        for name in others:
            if name not in seen and not reached.isdisjoint(ties.get(name, ())):
                seen.add(name)
                reached |= ties[name]
                found.append(name)
                grew = True
    return found


def _blamed(small: Puzzle) -> list[str]:
    found = []
    for index, limit in enumerate(small.limits):
        without = small.limits[:index] + small.limits[index + 1 :]
        if fits(replace(small, limits=without)):
            found.append(limit.name)
    for index, side in enumerate(small.together):
        if fits(replace(small, together=small.together[:index] + small.together[index + 1 :])):
            found.append(side.name)
    for index, side in enumerate(small.apart):
        if fits(replace(small, apart=small.apart[:index] + small.apart[index + 1 :])):
            found.append(side.name)
    for index, pair in enumerate(small.pairs):
        if fits(replace(small, pairs=small.pairs[:index] + small.pairs[index + 1 :])):
            found.append(pair.name)
    return found
