"""What does an answer cost, and what breaks, when one item moves or two exchange their slots?

The same as judging the whole answer anew by the words of `engine`, worked out from what the items that
move have to do with: so that every other slot of every item can be tried.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from loomwright.allocation.engine import Pair, Puzzle, Side

__all__ = ["Standing"]


class Standing:
    """An answer as it stands, with what moves are judged by.

    Args:
        puzzle: what is asked.
        placed: item -> slot, an answer that breaks nothing.
    """

    def __init__(self, puzzle: Puzzle, placed: Mapping[str, str]) -> None:
        self.puzzle, self.placed = puzzle, dict(placed)
        self.filled = Counter(slot for item, at in placed.items() for slot in puzzle.seats[item][at])
        self.sums = [sum(limit.takes.get(seat, 0) for seat in placed.items()) for limit in puzzle.limits]
        self.sides: dict[str, list[tuple[Side, bool]]] = {}
        for sides, same in ((puzzle.together, True), (puzzle.apart, False)):
            for side in sides:
                for item in side.items:
                    self.sides.setdefault(item, []).append((side, same))
        self.pairs: dict[str, list[Pair]] = {}
        for pair in puzzle.pairs:
            for item in pair.items:
                self.pairs.setdefault(item, []).append(pair)

    def broken(self, moves: Mapping[str, str]) -> str:
        """What breaks first when items move, in a few words; empty where nothing does.

        Args:
            moves: item -> its new slot.
        """
        return next(self._broken(moves), "")

    def more(self, moves: Mapping[str, str]) -> tuple[int, ...]:
        """What more it costs by each goal when items move. [-]

        Args:
            moves: item -> its new slot.
        """
        found = []
        for goal in self.puzzle.goals:
            more = 0
            for item, slot in moves.items():
                more += goal.seats.get((item, slot), 0) - goal.seats.get((item, self.placed[item]), 0)
                if goal.slots:
                    seats = self.puzzle.seats[item]
                    more += sum(goal.slots.get(each, 0) for each in seats[slot])
                    more -= sum(goal.slots.get(each, 0) for each in seats[self.placed[item]])
            found.append(more)
        return tuple(found)

    def _broken(self, moves: Mapping[str, str]) -> Iterator[str]:
        seats = self.puzzle.seats
        for item, slot in moves.items():
            if slot not in seats[item]:
                yield f"{item} may not go into {slot}"
                return
        change = Counter(each for item, slot in moves.items() for each in seats[item][slot])
        change.subtract(each for item in moves for each in seats[item][self.placed[item]])
        for slot, more in change.items():
            if more > 0 and self.filled[slot] + more > self.puzzle.rooms.get(slot, 1):
                yield f"{slot} has no room for {self.filled[slot] + more}"
        for limit, held in zip(self.puzzle.limits, self.sums, strict=True):
            new = held + sum(
                limit.takes.get((item, slot), 0) - limit.takes.get((item, self.placed[item]), 0)
                for item, slot in moves.items()
            )
            if new > limit.most:
                yield f"{limit.name} is exceeded"
        at = {**self.placed, **moves} if any(item in self.sides or item in self.pairs for item in moves) else moves
        yield from self._sides(moves, at)

    def _sides(self, moves: Mapping[str, str], at: Mapping[str, str]) -> Iterator[str]:
        for item in moves:
            for side, same in self.sides.get(item, ()):
                if all(each in at for each in side.items):
                    one, other = (side.of.get(at[each], "") for each in side.items)
                    if (one != other or not one) if same else (one == other and bool(one)):
                        yield f"{side.name}: on {one or 'no side'} and {other or 'no side'}"
            for pair in self.pairs.get(item, ()):
                first, second = pair.items
                if first in at and second in at and at[second] not in pair.partner.get(at[first], ()):
                    yield f"{pair.name}: {at[first]} and {at[second]} do not belong together"
