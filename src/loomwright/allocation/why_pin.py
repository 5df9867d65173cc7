"""Why has a need got its pin: what else could take it, and what would that cost?

Every other pin the need may be on is tried in the answer that was found: the need moved there where the pin is free,
the two exchanged where it is taken. What breaks is named, else the first goal that suffers and by how much. Longer
chains, where three or more needs change places, are not told; that none of them is better is what the solver has
proved.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from loomwright.allocation.able import a_ability, able_pins, why_not
from loomwright.allocation.alike import like_slots
from loomwright.allocation.engine import Puzzle
from loomwright.allocation.exchanges import Standing
from loomwright.allocation.ground import AskedNeed, Ground
from loomwright.findings import id_order
from loomwright.quantities.printing import for_print, with_unit

__all__ = ["OtherPin", "WhyPin", "others_of", "why_pins"]

_MOST_PINS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherPin:
    """Other pins a need could be on, all alike. goal: the first that suffers; empty where none does or it cannot be.

    more: by how much, in the goal's own measure. [-]   is_possible: whether it could be, without moving a third.
    """

    pins: tuple[str, ...]
    goal: str
    more: int
    is_possible: bool
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyPin:
    """Why one need has its pin. by: `fixed`, `only`, the goal that ruled, or `order` where others are as good."""

    need: str
    pin: str
    by: str
    says: str
    others: tuple[OtherPin, ...]


def why_pins(ground: Ground, puzzle: Puzzle, placed: Mapping[str, str]) -> dict[str, WhyPin]:
    """Why each need has its pin.

    Args:
        placed: the answer, need -> pin.
    """
    asked = _tried(ground, puzzle, placed)
    return {need: _why(asked, need, pin) for need, pin in placed.items()}


def others_of(ground: Ground, puzzle: Puzzle, placed: Mapping[str, str], need: str) -> tuple[OtherPin, ...]:
    """The other pins one need could be on, each with its cost or why not.

    Args:
        placed: the answer, need -> pin.
        need: one that has a pin.
    """
    return tuple(_others(_tried(ground, puzzle, placed), need, placed[need]))


def _tried(ground: Ground, puzzle: Puzzle, placed: Mapping[str, str]) -> _Tried:
    return _Tried(
        ground=ground, puzzle=puzzle, placed=placed, standing=Standing(puzzle, placed), classes=like_slots(puzzle),
        taken={slot: item for item, slot in placed.items()},
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tried:
    ground: Ground
    puzzle: Puzzle
    placed: Mapping[str, str]
    standing: Standing
    classes: tuple[tuple[str, ...], ...]
    taken: Mapping[str, str]


def _why(asked: _Tried, name: str, pin: str) -> WhyPin:
    need = asked.ground.needs[name]
    told = _does(asked, need, pin)
    if need.fixed is not None:
        how = f"typed in the row of {name}" if need.by == "typed" else f"wire {need.by} is drawn to it"
        return WhyPin(need=name, pin=pin, by="fixed", says=f"{told}; {how}", others=())
    able = able_pins(asked.ground, need)
    others = tuple(_others(asked, name, pin))
    if len(able) == 1:
        return WhyPin(need=name, pin=pin, by="only", says=f"{told}; no other pin can do it", others=others)
    possible = [other for other in others if other.is_possible]
    if not possible:
        says = f"{told}; {len(able) - 1} more can do it, and none is to be had by a move or an exchange"
        return WhyPin(need=name, pin=pin, by="only", says=says, others=others)
    order = [goal.name for goal in asked.puzzle.goals]
    ruled = [other.goal for other in possible]
    by = "order" if "" in ruled else max(ruled, key=order.index)
    count = len(able) - 1
    says = f"{told}; {count} more can do it: {_ruled(by, possible)}"
    return WhyPin(need=name, pin=pin, by=by, says=says, others=others)


def _does(asked: _Tried, need: AskedNeed, pin: str) -> str:
    row = asked.ground.pins[pin]
    ability = need.row.ability
    is_listed = ability in row.abilities
    what = f"{pin} {'is' if is_listed else 'stands in for'} {a_ability(ability)}"
    if need.load_a is None:
        return what
    most = "" if row.max_a is None else f" of the {for_print(row.max_a, side='down')} A it carries"
    return f"{what}, {for_print(need.load_a, side='up')} A go through it{most}"


def _ruled(by: str, possible: list[OtherPin]) -> str:
    if by == "order":
        alike = [pin for other in possible if not other.goal for pin in other.pins]
        return f"{_names(alike)} as good"
    return next(other.says for other in possible if other.goal == by)


def _others(asked: _Tried, name: str, pin: str) -> Iterator[OtherPin]:
    """The other pins, alike ones together, free ones first."""
    taken = asked.taken
    for slots in asked.classes:
        there = [slot for slot in slots if slot != pin and slot in asked.puzzle.seats[name]]
        free = tuple(slot for slot in there if slot not in taken)
        if free:
            yield _moved(asked, name, free)
        held: dict[str, list[str]] = {}
        for slot in there:
            if slot in taken:
                one = _exchanged(asked, name, slot, taken[slot])
                held.setdefault(f"{one.is_possible} {one.goal} {one.more}", []).append(slot)
        for like in held.values():
            yield _exchanged(asked, name, like[0], taken[like[0]], tuple(like))


def _moved(asked: _Tried, name: str, free: tuple[str, ...]) -> OtherPin:
    moves = {name: free[0]}
    broken = asked.standing.broken(moves)
    if broken:
        return OtherPin(pins=free, goal="", more=0, is_possible=False, says=f"{_names(free)} free, but {broken}")
    return _compared(asked, name, moves, free, f"{_names(free)} free")


def _exchanged(asked: _Tried, name: str, slot: str, holder: str, pins: tuple[str, ...] = ()) -> OtherPin:
    pins = pins or (slot,)
    here = asked.placed[name]
    holds = f"{_names(pins)} taken, {slot} by {holder}" if len(pins) > 1 else f"{slot} is taken by {holder}"
    other = asked.ground.needs[holder]
    if here not in asked.puzzle.seats[holder]:
        why = why_not(other, asked.ground.pins[here])
        reason = f"{here} {why}" if why else f"{holder} is fixed there"
        return OtherPin(pins=pins, goal="", more=0, is_possible=False, says=f"{holds}: {reason}")
    moves = {name: slot, holder: here}
    broken = asked.standing.broken(moves)
    if broken:
        return OtherPin(pins=pins, goal="", more=0, is_possible=False, says=f"{holds}: changing places, {broken}")
    return _compared(asked, name, moves, pins, holds)


def _compared(asked: _Tried, name: str, moves: Mapping[str, str], pins: tuple[str, ...], lead: str) -> OtherPin:
    for goal, more in zip(asked.puzzle.goals, asked.standing.more(moves), strict=True):
        if more:
            says = f"{lead}, but {_costs_more(asked, name, goal.name, more, {**asked.placed, **moves})}"
            return OtherPin(pins=pins, goal=goal.name, more=more, is_possible=True, says=says)
    return OtherPin(pins=pins, goal="", more=0, is_possible=True, says=f"{lead} and as good")


def _costs_more(asked: _Tried, name: str, goal: str, more: int, answer: Mapping[str, str]) -> str:
    if goal == "moved":
        return "a wire that is made up would have to be moved"
    if goal == "prefer":
        return "less preferred"
    if goal == "wiring":
        return f"{with_unit(more, 'mm', digits=6)} more wire"
    if goal == "kept":
        return "not the pin that was kept"
    here, there = asked.ground.pins[asked.placed[name]], asked.ground.pins[answer[name]]
    gone = [word for word in there.abilities if word not in here.abilities]
    if (there.max_a or 0.0) > (here.max_a or 0.0) and not gone:
        return f"it carries {for_print(there.max_a or 0.0, side='down')} A, which is then not left over"
    left = {word: _left(asked, word, answer) for word in gone}
    if not gone:
        return "what is left over would be worth less"
    scarce = min(gone, key=lambda word: (left[word], word))
    total = sum(scarce in pin.abilities for pin in asked.ground.pins.values())
    return f"it is {a_ability(scarce)} as well, of which {left[scarce]} of {total} would be left over"


def _left(asked: _Tried, ability: str, answer: Mapping[str, str]) -> int:
    used = {slot for item, pin in answer.items() for slot in asked.puzzle.seats[item][pin]}
    return sum(ability in pin.abilities for name, pin in asked.ground.pins.items() if name not in used)


def _names(pins: tuple[str, ...] | list[str]) -> str:
    named = sorted(pins, key=id_order)
    if len(named) == 1:
        return f"{named[0]} is"
    more = f" and {len(named) - _MOST_PINS} more" if len(named) > _MOST_PINS else ""
    return f"{' '.join(named[:_MOST_PINS])}{more} are"
