"""Why do some needs not fit together, in words?

In: the smallest sets that the engine has proved. Out: each as a colleague would say it: who asks for what, which pins
there are for it, what carries too little; and who else is left out for the same reason.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from loomwright.allocation.able import a_ability, can_do, why_not
from loomwright.allocation.clashes import Clash, clashes
from loomwright.allocation.engine import Puzzle
from loomwright.allocation.ground import Ground
from loomwright.allocation.placing import Tell
from loomwright.findings import id_order
from loomwright.quantities.printing import for_print
from loomwright.tables.stand_ins import STAND_INS

__all__ = ["Conflict", "conflicts_of"]

_MOST_NAMES = 12
_FIRST_ROW = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """Needs that cannot all have a pin, and can with any one of them left out.

    pins: all that would serve them.   blamed: the banks and wishes without any one of which they would fit.
    likewise: more that are left out for want of the same pins.
    """

    units: tuple[str, ...]
    needs: tuple[str, ...]
    pins: tuple[str, ...]
    blamed: tuple[str, ...]
    likewise: tuple[str, ...]
    says: str


def conflicts_of(
    ground: Ground, puzzle: Puzzle, left_out: Sequence[str], tell: Tell | None = None
) -> tuple[Conflict, ...]:
    """The smallest sets that do not fit, those for want of the same pins told once.

    Args:
        left_out: what the best answer leaves out.
        tell: called with sets found and to find; may raise Stopped.
    """
    same: dict[tuple[tuple[str, ...], tuple[str, ...], str], list[Clash]] = {}
    units = {unit.name: unit for unit in puzzle.units}
    for one in clashes(puzzle, left_out, tell):
        first = units[one.units[0]].alternatives[0].items[0]
        word = "" if one.slots else ground.needs[first].row.ability
        same.setdefault((tuple(sorted(one.slots)), one.blamed, word), []).append(one)
    return tuple(_conflict(ground, puzzle, group, left_out) for group in same.values())


def _conflict(ground: Ground, puzzle: Puzzle, group: list[Clash], left_out: Sequence[str]) -> Conflict:
    first = group[0]
    likewise = tuple(
        dict.fromkeys(name for one in group[1:] for name in one.units if name in left_out and name not in first.units)
    )
    units = {unit.name: unit for unit in puzzle.units}
    needs = tuple(need for name in first.units for one in units[name].alternatives for need in one.items)
    says = ". ".join(_said(ground, first, needs))
    if not first.slots and _nobody_can(ground, ground.needs[needs[0]].row.ability):
        every = [need for one in group for name in one.units for way in units[name].alternatives for need in way.items]
        asking: dict[str, list[str]] = {}
        for need in dict.fromkeys(every):
            asking.setdefault(ground.needs[need].row.ability, []).append(need)
        says = ". ".join(_alone(ground, names) for names in asking.values())
    elif likewise:
        says += f". Left out for want of the same pins: {_names(likewise)}"
    return Conflict(
        units=first.units,
        needs=needs,
        pins=tuple(sorted(first.slots, key=id_order)),
        blamed=first.blamed,
        likewise=likewise,
        says=says + ".",
    )


def _said(ground: Ground, one: Clash, needs: Sequence[str]) -> Iterator[str]:
    asking: dict[str, list[str]] = {}
    for need in needs:
        asking.setdefault(ground.needs[need].row.ability, []).append(need)
    if not one.slots or len(needs) == 1:
        yield _alone(ground, needs)
        return
    groups = [f"{len(names)} for {a_ability(word)}: {_names(names)}" for word, names in asking.items()]
    if len(groups) == 1:
        groups = [groups[0].partition(" ")[2]]
    options = [name.removeprefix("option ") for name in one.units if name.startswith("option ")]
    yield f"{len(needs)} needs ask{',' if len(asking) > 1 else ''} {'; '.join(groups)}"
    if options:
        yield f"Of the option {' and '.join(options)} one alternative is enough, whichever it is"
    pins = _names(sorted(one.slots, key=id_order))
    if one.least_slots > len(one.slots):
        yield f"{_pins(len(one.slots))} can do it: {pins}"
    else:
        yield f"The pins for them are {pins}"
    for name in one.blamed:
        yield _blame(ground, name, needs)
    if not one.blamed and one.least_slots <= len(one.slots):
        yield "Some of these pins serve only some of them, and there are not enough for each"
    yield "Leave any one of them out and the others have a pin each"


def _alone(ground: Ground, needs: Sequence[str]) -> str:
    """A need that no pin serves, even by itself."""
    need = ground.needs[needs[0]]
    named = " and ".join(needs)
    word = need.row.ability
    if _nobody_can(ground, word):
        places = [row.id for row in ground.job.needs]
        rows = " and ".join(str(places.index(name) + _FIRST_ROW) for name in needs)
        boxes = " ".join(dict.fromkeys(pin.part for pin in ground.pins.values()))
        return (
            f"{named} (row{'s' if len(needs) > 1 else ''} {rows} of needs): no pin of {boxes} is {a_ability(word)}"
            f"{_instead(ground, word)}"
        )
    near = [pin for pin in ground.pins.values() if word in pin.abilities]
    whys: dict[str, list[str]] = {}
    for pin in near:
        whys.setdefault(why_not(need, pin), []).append(pin.id)
    reasons = [f"{_names(pins)} {why if len(pins) == 1 else _plural(why)}" for why, pins in whys.items() if why]
    return f"{named}: no pin serves even by itself: {'; '.join(reasons) or 'no two of them belong together'}"


def _nobody_can(ground: Ground, word: str) -> bool:
    return not any(can_do(pin, word) for pin in ground.pins.values())


def _instead(ground: Ground, word: str) -> str:
    """What does the work of an ability that nobody has, in words; empty where nothing is known to."""
    told = []
    for one in STAND_INS.values():
        pins = [pin.id for pin in ground.pins.values() if one.by in pin.abilities]
        if one.ability == word and one.by != word and pins:
            # a box is bought and drawn by its maker's sheet; the others are ways out that can be taken
            told.append(f"{one.words} ({_names(pins)})" + (f", lost: {one.loses}" if one.how == "box" else ""))
    return f". It can be had by {'; or by '.join(told)}" if told else ""


def _blame(ground: Ground, name: str, needs: Sequence[str]) -> str:
    for pin in ground.pins.values():
        if pin.bank and name == f"bank {pin.bank} of {pin.part}" and pin.bank_max_a is not None:
            amps = sum(ground.needs[need].load_a or 0.0 for need in needs)
            most, all_of_them = for_print(pin.bank_max_a, side="down"), for_print(amps, side="up")
            return f"All pins of {name} together carry {most} A; these loads are {all_of_them} A"
    return f"What stands in the way: {name}"


def _plural(why: str) -> str:
    return (
        why.replace("carries", "carry each", 1).replace("is pulsed", "are pulsed", 1).replace("switches", "switch", 1)
    )


def _names(names: Sequence[str]) -> str:
    more = f" and {len(names) - _MOST_NAMES} more" if len(names) > _MOST_NAMES else ""
    return " ".join(names[:_MOST_NAMES]) + more


def _pins(count: int) -> str:
    return "No pin" if count == 0 else "Only 1 pin" if count == 1 else f"Only {count} pins"
