"""Which strokes and words make the layout board, and in which layer does each lie?

runs       the line a run's wires are laid along, peg to peg: measured from it, a run has its true length
pegs       a ring with a cross at each place; the end of an opened ring is a square
wraps      a short bar across each run beside its pegs
breakouts  the tails of what comes out at a peg, at their true length
labels     where the label sits on a tail
sleeves    each run's turn in the order of sleeving
words      the cards at pegs and runs
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, cos, pi, sin

from loomwright.drawings.board.cards import CardSpots, Rect, Segment
from loomwright.drawings.board.flattened import Branch, Flattened, Peg
from loomwright.drawings.board.loose_ends import LooseEnd
from loomwright.drawings.board.sleeving import Sleeve
from loomwright.drawings.placing.lettering import Lettering
from loomwright.drawings.symbols.items import Box, Circle, Item, Line
from loomwright.drawings.symbols.letters import wrapped

__all__ = ["BoardLook", "LayerItem", "board_items"]

LayerItem = tuple[str, Item]
"""A layer, and what is drawn in it."""

_HEAD = Lettering(size_mm=6.0, line_mm=7.4, strong=True)
_LINE = Lettering(size_mm=3.4, line_mm=4.3)
_TURN = Lettering(size_mm=5.0, line_mm=6.0, font="figures", strong=True)
_NUMBER = Lettering(size_mm=3.2, line_mm=4.0, font="figures")
_SMALL_HEAD = Lettering(size_mm=2.6, line_mm=3.2, strong=True)
_SMALL = Lettering(size_mm=2.2, line_mm=2.8, font="figures")

_PEG_MM = 5.0
_WRAP_MM = 25.0
_WRAP_WIDE_MM = 12.0
_LABEL_MM = 15.0
_LEAST_TAIL_MM = 30.0
_MOST_CARD_MM = 90.0
_ROOM_A_TAIL_MM = 6.0
_RUN_CARDS_EVERY_MM = 900.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardLook:
    """How the board is drawn.

    scale: 1 = true size. [-]   is_overview: only names and turns, for a page.
    """

    scale: float = 1.0
    is_overview: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tail:
    """One of the ends at a peg: its number in the peg's card, and the stroke from the peg to its end. [mm]"""

    number: int
    line: Segment


def board_items(
    flat: Flattened,
    ends: Sequence[LooseEnd],
    sleeves: Sequence[Sleeve],
    names: Mapping[str, str],
    look: BoardLook,
) -> tuple[tuple[LayerItem, ...], Rect]:
    """Everything drawn, the first loom's upper left peg at nought, and the room it takes together.

    Args:
        ends: what comes out at each place.
        names: place -> its name.
    """
    points = [(peg.x_mm * look.scale, peg.y_mm * look.scale) for peg in flat.pegs]
    runs = [(*points[one.start], *points[one.end]) for one in flat.branches]
    ends_at: dict[str, list[LooseEnd]] = {}
    for end in ends:
        ends_at.setdefault(end.place, []).append(end)
    tails = [
        [] if peg.is_again or look.is_overview else _tails(number, peg, flat, points, ends_at.get(peg.place, []))
        for number, peg in enumerate(flat.pegs)
    ]
    lines = [*runs, *(tail.line for row in tails for tail in row)]
    around = 3.0 if look.is_overview else _PEG_MM + 1.0
    lines += [(x - around, y, x + around, y) for x, y in points] + [(x, y - around, x, y + around) for x, y in points]
    spots = CardSpots(
        lines=lines,
        cards=[],
        step_mm=2.0 if look.is_overview else 6.0,
        gap_mm=0.5 if look.is_overview else 1.5,
        floor_mm=max((line[3] for line in lines), default=0.0) + (6.0 if look.is_overview else 40.0),
    )
    items: list[LayerItem] = []
    for branch, line in zip(flat.branches, runs, strict=True):
        items.append(("runs", _line(line, 0.6 if look.is_overview else 0.8, branch.run)))
        if not look.is_overview:
            items += [("wraps", bar) for bar in _wraps(branch, line)]
    for peg, (x, y) in zip(flat.pegs, points, strict=True):
        items += [("pegs", item) for item in _peg(peg, x, y, 1.6 if look.is_overview else _PEG_MM)]
    for row in tails:
        for tail in row:
            items += _tail_items(tail, spots)
    turns = {one.run: one for one in sleeves}
    for branch, line in zip(flat.branches, runs, strict=True):
        items += _run_cards(branch, line, turns[branch.run], spots, look)
    for peg, (x, y) in zip(flat.pegs, points, strict=True):
        here = [] if peg.is_again else ends_at.get(peg.place, [])
        items += _peg_card(peg, (x, y), names.get(peg.place, ""), here, spots, look)
    return tuple(items), _room(spots.cards, lines)


def _room(cards: Sequence[Rect], lines: Sequence[Segment]) -> Rect:
    """What cards and lines take together, from nought on."""
    left = min([0.0, *(card[0] for card in cards), *(min(line[0], line[2]) for line in lines)])
    top = min([0.0, *(card[1] for card in cards), *(min(line[1], line[3]) for line in lines)])
    right = max([0.0, *(card[2] for card in cards), *(max(line[0], line[2]) for line in lines)])
    bottom = max([0.0, *(card[3] for card in cards), *(max(line[1], line[3]) for line in lines)])
    return left, top, right, bottom


def _line(line: Segment, width_mm: float, about: str = "", *, dashed: bool = False) -> Line:
    return Line(
        x1_mm=line[0], y1_mm=line[1], x2_mm=line[2], y2_mm=line[3], width_mm=width_mm, dashed=dashed, about=about
    )


def _wraps(branch: Branch, line: Segment) -> Iterator[Line]:
    """A bar across the run beside each of its pegs, where it is long enough for both."""
    if branch.length_mm < 3 * _WRAP_MM:
        return
    turn = atan2(line[3] - line[1], line[2] - line[0])
    half = _WRAP_WIDE_MM / 2
    for far in (_WRAP_MM, branch.length_mm - _WRAP_MM):
        x, y = line[0] + far * cos(turn), line[1] + far * sin(turn)
        across, down = half * sin(turn), -half * cos(turn)
        yield _line((x - across, y - down, x + across, y + down), 1.6, branch.run)


def _peg(peg: Peg, x: float, y: float, radius_mm: float) -> Iterator[Item]:
    if peg.is_again:
        side = 2 * radius_mm
        yield Box(
            x_mm=x - radius_mm, y_mm=y - radius_mm, width_mm=side, height_mm=side, fill="paper", about=peg.place,
            dashed=True,
        )  # fmt: skip
    else:
        yield Circle(x_mm=x, y_mm=y, radius_mm=radius_mm, width_mm=0.4, fill="paper", about=peg.place)
    yield _line((x - radius_mm, y, x + radius_mm, y), 0.25, peg.place)
    yield _line((x, y - radius_mm, x, y + radius_mm), 0.25, peg.place)


def _tails(
    number: int,
    peg: Peg,
    flat: Flattened,
    points: Sequence[tuple[float, float]],
    ends: Sequence[LooseEnd],
) -> list[_Tail]:
    """The ends at a peg, spread over the widest gap between its runs; none where they would lie too close to tell."""
    if not ends:
        return []
    turns = sorted(
        atan2(points[far][1] - peg.y_mm, points[far][0] - peg.x_mm)
        for one in flat.branches
        if number in (one.start, one.end)
        for far in (one.end if one.start == number else one.start,)
    )
    start, wide = max(
        ((one, other - one) for one, other in pairwise([*turns, turns[0] + 2 * pi])), key=lambda gap: (gap[1], -gap[0])
    )
    long = [max(end.reach_mm or 0.0, _LEAST_TAIL_MM) for end in ends]
    step = wide / (len(ends) + 1)
    if min(long) * step < _ROOM_A_TAIL_MM:
        return []
    found = []
    for place, far in enumerate(long, start=1):
        turn = start + place * step
        found.append(
            _Tail(
                number=place,
                line=(peg.x_mm, peg.y_mm, peg.x_mm + far * cos(turn), peg.y_mm + far * sin(turn)),
            )
        )
    return found


def _tail_items(tail: _Tail, spots: CardSpots) -> Iterator[LayerItem]:
    """A tail, the mark of its label, and its number, which is left out where there is no room for it."""
    x, y, to_x, to_y = tail.line
    yield "breakouts", _line(tail.line, 0.4)
    turn = atan2(to_y - y, to_x - x)
    label_x, label_y = to_x - _LABEL_MM * cos(turn), to_y - _LABEL_MM * sin(turn)
    yield "labels", Box(x_mm=label_x - 1.5, y_mm=label_y - 1.5, width_mm=3.0, height_mm=3.0, line_mm=0.3, fill="paper")
    text = str(tail.number)
    wide = _NUMBER.long_mm(text)
    middle_x, middle_y = to_x + 3.6 * cos(turn), to_y + 3.6 * sin(turn)
    card = (middle_x - wide / 2, middle_y - 1.4, middle_x + wide / 2, middle_y + 1.4)
    gap, spots.gap_mm = spots.gap_mm, 0.2
    if spots.is_free(card):
        spots.cards.append(card)
        yield "words", _NUMBER.text(text, middle_x, middle_y + 1.1, anchor="middle")
    spots.gap_mm = gap


def _run_cards(branch: Branch, line: Segment, sleeve: Sleeve, spots: CardSpots, look: BoardLook) -> Iterator[LayerItem]:
    """What a run is, beside its middle, and again along a long one."""
    if look.is_overview:
        text = f"{sleeve.number}"
        middle = ((line[0] + line[2]) / 2, (line[1] + line[3]) / 2)
        left, top, *_ = spots.place([middle, _along(line, 0.35), _along(line, 0.65)], _SMALL.long_mm(text), 2.4)
        yield "sleeves", _SMALL.text(text, left, top + 2.0, about=branch.run)
        return
    head = f"{branch.run}  {branch.length_mm:g} mm"
    thick = "" if sleeve.thick_mm is None else f", about {sleeve.thick_mm:.0f} mm thick"
    how = f"{sleeve.how}: {sleeve.covering}" if sleeve.covering else "nothing over it"
    below = f"{how}{thick}"
    turn = f"{sleeve.number}"
    wide = max(_TURN.long_mm(turn) + 3.0 + _LINE.long_mm(head), _LINE.long_mm(below))
    high = _TURN.line_mm + _LINE.line_mm
    pieces = max(1, round(branch.length_mm / _RUN_CARDS_EVERY_MM))
    for piece in range(pieces):
        half = (piece + 0.5) / pieces
        at = [_along(line, share) for share in (half, half - 0.12 / pieces, half + 0.12 / pieces)]
        left, top, *_ = spots.place(at, wide, high)
        yield "sleeves", _TURN.text(turn, left, top + 4.6, about=branch.run)
        yield "words", _LINE.text(head, left + _TURN.long_mm(turn) + 3.0, top + 4.6, about=branch.run)
        yield "words", _LINE.text(below, left, top + _TURN.line_mm + 3.2, about=branch.run)


def _along(line: Segment, share: float) -> tuple[float, float]:
    return line[0] + share * (line[2] - line[0]), line[1] + share * (line[3] - line[1])


def _peg_card(
    peg: Peg,
    at: tuple[float, float],
    name: str,
    ends: Sequence[LooseEnd],
    spots: CardSpots,
    look: BoardLook,
) -> Iterator[LayerItem]:
    """The card of a peg: its place, and what comes out there, numbered as the tails are."""
    head_how, line_how = (_SMALL_HEAD, _SMALL) if look.is_overview else (_HEAD, _LINE)
    most = 30.0 if look.is_overview else _MOST_CARD_MM
    head = wrapped(
        f"to {peg.place}, its peg is elsewhere" if peg.is_again else peg.place,
        most_mm=most, size_mm=head_how.size_mm, strong=True,
    )  # fmt: skip
    lines: list[str] = []
    if not look.is_overview:
        lines += wrapped(name, most_mm=most, size_mm=line_how.size_mm) if name and name != peg.place else ()
        for number, end in enumerate(ends, start=1):
            lines += wrapped(f"{number}  {_end_words(end)}", most_mm=most, size_mm=line_how.size_mm)
    wide = max(*(head_how.long_mm(text) for text in head), *(line_how.long_mm(text) for text in lines), 1.0)
    high = len(head) * head_how.line_mm + len(lines) * line_how.line_mm
    left, top, *_ = spots.place([at], wide, high)
    y = top
    for text in head:
        y += head_how.line_mm
        yield "words", head_how.text(text, left, y - 0.26 * head_how.line_mm, about=peg.place)
    for text in lines:
        y += line_how.line_mm
        yield "words", line_how.text(text, left, y - 0.26 * line_how.line_mm, about=peg.place)


def _end_words(end: LooseEnd) -> str:
    """What comes out, in words: `X3: 4 wires, 60 mm beyond the peg`."""
    count = f"{len(end.wires)} wires" if len(end.wires) > 1 else end.wires[0]
    words = f"{end.to}: {count}"
    if end.reach_mm is not None:
        words += f", {end.reach_mm:.0f} mm beyond the peg"
    if end.beside and len(end.beside) == len(end.wires):
        words += ", beside the peg"
    if end.short:
        words += f"; too short to reach it: {' '.join(end.short)}"
    return words
