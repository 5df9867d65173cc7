"""Which slots are alike, and which items, so that it makes no difference which of them is taken?

Slots are alike where every item may go into both at the same cost and nothing else tells them apart: no limit, no side,
no pair, no seat that fills a second slot. A solver is then asked how many of a class are taken, not which, and a proof
needs no look at every exchange of two like slots. Items are alike in the same way. Which item gets which slot of its
class is settled afterwards: in the order of their names, so that the first gets the first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.allocation.engine import Puzzle
from loomwright.findings import id_order

__all__ = ["in_order_of_names", "like_slots", "like_units"]


def like_slots(puzzle: Puzzle) -> tuple[tuple[str, ...], ...]:
    """All slots in classes of those that are alike, each class and all of them in order of names."""
    signs: dict[str, list[object]] = {
        slot: [] for seats in puzzle.seats.values() for fills in seats.values() for slot in fills
    }
    alone: set[str] = set()
    for item in sorted(puzzle.seats):
        for slot, fills in puzzle.seats[item].items():
            costs = tuple(goal.seats.get((item, slot), 0) for goal in puzzle.goals if goal.seats)
            signs[slot].append((item, costs))
            if len(fills) > 1:
                alone.update(fills)
    for number, limit in enumerate(puzzle.limits):
        for (item, slot), taken in sorted(limit.takes.items()):
            if slot in signs:
                signs[slot].append((number, item, taken))
    for side in (*puzzle.together, *puzzle.apart):
        for slot in signs:
            signs[slot].append(side.of.get(slot, ""))
    for pair in puzzle.pairs:
        alone.update(pair.partner, (slot for slots in pair.partner.values() for slot in slots))
    classes: dict[object, list[str]] = {}
    for slot in sorted(signs, key=id_order):
        used = tuple(goal.slots.get(slot, 0) for goal in puzzle.goals)
        sign: object = slot if slot in alone else (used, puzzle.rooms.get(slot, 1), tuple(signs[slot]))
        classes.setdefault(sign, []).append(slot)
    return tuple(tuple(found) for found in classes.values())


def like_units(puzzle: Puzzle, classes: Sequence[tuple[str, ...]]) -> tuple[tuple[str, ...], ...]:
    """All units in classes of those that are alike, in order of names; only units of one item can be.

    Args:
        classes: from `like_slots`.
    """
    number_of = {slot: number for number, slots in enumerate(classes) for slot in slots}
    bound = {item for side in (*puzzle.together, *puzzle.apart) for item in side.items}
    bound |= {item for pair in puzzle.pairs for item in pair.items}
    linked = {name for link in puzzle.links for name, _ in (link.one, link.other)}
    takes: dict[str, list[tuple[int, int, int]]] = {}
    for place, limit in enumerate(puzzle.limits):
        for (item, slot), taken in limit.takes.items():
            if slot in number_of:
                takes.setdefault(item, []).append((place, number_of[slot], taken))
    found: dict[object, list[str]] = {}
    for unit in sorted(puzzle.units, key=lambda each: id_order(each.name)):
        items = unit.alternatives[0].items
        if len(unit.alternatives) != 1 or len(items) != 1 or items[0] in bound or unit.name in linked:
            found[unit.name] = [unit.name]
            continue
        seats = puzzle.seats[items[0]]
        first = {number_of[slot]: slot for slot in reversed(list(seats))}
        if any(len(fills) > 1 for fills in seats.values()):
            found[unit.name] = [unit.name]
            continue
        costs = tuple(
            (number, tuple(goal.seats.get((items[0], slot), 0) for goal in puzzle.goals if goal.seats))
            for number, slot in sorted(first.items())
        )
        choice = (unit.name, unit.alternatives[0].name)
        whole = tuple((goal.left_out.get(unit.name, 0), goal.choices.get(choice, 0)) for goal in puzzle.goals)
        found.setdefault((costs, whole, tuple(sorted(set(takes.get(items[0], ()))))), []).append(unit.name)
    return tuple(tuple(names) for names in found.values())


def in_order_of_names(puzzle: Puzzle, placed: Mapping[str, str]) -> dict[str, str]:
    """An answer in which items that are alike take their slots in the order of names."""
    bound = {item for side in (*puzzle.together, *puzzle.apart) for item in side.items}
    bound |= {item for pair in puzzle.pairs for item in pair.items}
    takes: dict[str, list[object]] = {}
    for number, limit in enumerate(puzzle.limits):
        for (item, slot), taken in sorted(limit.takes.items()):
            takes.setdefault(item, []).append((number, slot, taken))
    groups: dict[object, list[str]] = {}
    for item in sorted(placed, key=id_order):
        if item in bound:
            continue
        seats = tuple(
            (slot, fills, tuple(goal.seats.get((item, slot), 0) for goal in puzzle.goals if goal.seats))
            for slot, fills in sorted(puzzle.seats[item].items())
        )
        groups.setdefault((seats, tuple(takes.get(item, ()))), []).append(item)
    found = dict(placed)
    for items in groups.values():
        found |= dict(zip(items, _sorted([placed[item] for item in items]), strict=True))
    return found


def _sorted(slots: Sequence[str]) -> list[str]:
    return sorted(slots, key=id_order)
