"""Where does each card of words stand on the board, so that it lies on no other card and on no run?

A card wants to stand near its place. Rings of spots round it are tried, nearest first, the four corners and four sides
of each; the first that is free is taken. Where none within reach is, the card goes below the whole board, in a row.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

__all__ = ["CardSpots", "Rect", "Segment", "crosses"]

Rect = tuple[float, float, float, float]
"""Left, top, right, bottom. [mm]"""

Segment = tuple[float, float, float, float]
"""From x, y to x, y. [mm]"""

_RINGS = 40
_SIDES = ((1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, 1), (1, -1), (-1, -1))


@dataclass(slots=True, kw_only=True)
class CardSpots:
    """What is taken so far. step_mm: from ring to ring. [mm]   gap_mm: kept free round a card. [mm]

    floor_mm: below everything drawn; cards that find no room stand under it. [mm]
    """

    lines: list[Segment]
    cards: list[Rect]
    step_mm: float
    gap_mm: float
    floor_mm: float
    along_mm: float = 0.0

    def place(self, spots_mm: Sequence[tuple[float, float]], width_mm: float, height_mm: float) -> Rect:
        """Where a card of that size goes, which is taken from then on.

        Args:
            spots_mm: what it may stand by, the best first. [mm]
            width_mm: how wide it is. [mm]
            height_mm: how high it is. [mm]
        """
        for card in self._tried(spots_mm, width_mm, height_mm):
            if self.is_free(card):
                self.cards.append(card)
                return card
        card = (self.along_mm, self.floor_mm, self.along_mm + width_mm, self.floor_mm + height_mm)
        self.along_mm += width_mm + 3 * self.gap_mm
        self.cards.append(card)
        return card

    def is_free(self, card: Rect) -> bool:
        """Whether nothing lies where a card would."""
        gap = self.gap_mm
        wide = (card[0] - gap, card[1] - gap, card[2] + gap, card[3] + gap)
        if any(wide[0] < one[2] and one[0] < wide[2] and wide[1] < one[3] and one[1] < wide[3] for one in self.cards):
            return False
        return not any(crosses(wide, line) for line in self.lines)

    def _tried(self, at: Sequence[tuple[float, float]], width_mm: float, height_mm: float) -> Iterator[Rect]:
        for ring in range(1, _RINGS + 1):
            far = ring * self.step_mm
            for x, y in at:
                for across, down in _SIDES:
                    middle_x = x + across * (far + width_mm / 2)
                    middle_y = y + down * (far + height_mm / 2)
                    left, top = middle_x - width_mm / 2, middle_y - height_mm / 2
                    yield left, top, left + width_mm, top + height_mm


def crosses(card: Rect, line: Segment) -> bool:
    """Whether a straight line passes through a card: whether anything of it is left inside all four sides.

    Example:
        >>> card = (0.0, 0.0, 10.0, 10.0)
        >>> crosses(card, (-5.0, 5.0, 15.0, 5.0)), crosses(card, (12.0, 0.0, 12.0, 9.0))
        (True, False)
    """
    x, y, to_x, to_y = line
    along_x, along_y = to_x - x, to_y - y
    first, last = 0.0, 1.0
    for step, room in (
        (-along_x, x - card[0]),
        (along_x, card[2] - x),
        (-along_y, y - card[1]),
        (along_y, card[3] - y),
    ):
        if step == 0.0:
            if room < 0.0:
                return False
            continue
        share = room / step
        if step < 0.0:
            first = max(first, share)
        else:
            last = min(last, share)
        if first > last:
            return False
    return True
