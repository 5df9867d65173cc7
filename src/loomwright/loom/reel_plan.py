"""Which piece comes off which reel, what finds none, and how far is that from the best there can be?

    best fit   the longest piece first, each from the reel that it leaves least on; of equals the first

Told beside it: the least that can be short on any plan,
    max(0, all pieces - all reels, all pieces longer than the longest reel)
and the fewest reels any plan has to open for what is given, counting the longest reels until they hold it. Where the
plan meets both there is no better one; else the difference is told and nothing more is claimed.

Source: worked out; best fit of pieces in order of length is the usual rule of the bench.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Piece", "ReelPlan", "ReelUse", "reel_plan"]

_DUST_M = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A piece to cut. cut_m: how long. [m]"""

    wire: str
    cut_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ReelUse:
    """What comes off one reel.

    number: which, as the stock sheet lists them. [-]   held_m: on it. [m]   left_m: after. [m]
    """

    number: int
    held_m: float
    pieces: tuple[Piece, ...]
    left_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ReelPlan:
    """Pieces on reels.

    uses: reels that are cut from.   without: pieces that no reel has.
    short_m: of these. [m]   least_short_m: what any plan is short by. [m]
    opened, least_opened: reels cut from; the fewest any plan opens for as much. [-]
    """

    uses: tuple[ReelUse, ...]
    without: tuple[Piece, ...]
    short_m: float
    least_short_m: float
    opened: int
    least_opened: int

    @property
    def is_best(self) -> bool:
        """Whether no plan can be better: both bounds are met."""
        return self.short_m <= self.least_short_m + _DUST_M and self.opened <= self.least_opened


def reel_plan(pieces: Sequence[Piece], reels_m: Sequence[float]) -> ReelPlan:
    """The pieces laid on the reels, the longest first, each where it leaves least.

    Args:
        pieces: to be cut.
        reels_m: what each reel holds. [m]
    Example:
        >>> plan = reel_plan([Piece(wire=name, cut_m=long) for name, long in (("W1", 6), ("W2", 4), ("W3", 5))], [9, 6])
        >>> [(use.number, [piece.wire for piece in use.pieces]) for use in plan.uses], plan.short_m, plan.is_best
        ([(0, ['W3', 'W2']), (1, ['W1'])], 0, True)
    """
    left = list(reels_m)
    taken: dict[int, list[Piece]] = {}
    without: list[Piece] = []
    for piece in sorted(pieces, key=lambda one: -one.cut_m):
        fits = [number for number, rest in enumerate(left) if rest >= piece.cut_m - _DUST_M]
        best = min(fits, key=lambda number: (round(left[number] - piece.cut_m, 9), number), default=None)
        if best is None:
            without.append(piece)
            continue
        left[best] -= piece.cut_m
        taken.setdefault(best, []).append(piece)
    uses = tuple(
        ReelUse(number=number, held_m=reels_m[number], pieces=tuple(taken[number]), left_m=left[number])
        for number in sorted(taken)
    )
    given_m = sum(piece.cut_m for use in uses for piece in use.pieces)
    return ReelPlan(
        uses=uses,
        without=tuple(without),
        short_m=sum(piece.cut_m for piece in without),
        least_short_m=_least_short_m(pieces, reels_m),
        opened=len(uses),
        least_opened=_least_opened(given_m, reels_m),
    )


def _least_short_m(pieces: Sequence[Piece], reels_m: Sequence[float]) -> float:
    longest = max(reels_m, default=0.0)
    too_long = sum(piece.cut_m for piece in pieces if piece.cut_m > longest + _DUST_M)
    rest = sum(piece.cut_m for piece in pieces) - sum(reels_m)
    return max(0.0, too_long, rest if rest > _DUST_M else 0.0)


def _least_opened(given_m: float, reels_m: Sequence[float]) -> int:
    held, count = 0.0, 0
    for reel in sorted(reels_m, reverse=True):
        if held >= given_m - _DUST_M:
            break
        held, count = held + reel, count + 1
    return count
