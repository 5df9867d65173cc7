"""How tight do round wires lie in a round bundle, and where does each lie?

    one        the wire itself             two         D = d1 + d2
    more       starts of several shapes: a patch of a honeycomb about four middles, rings turned against each other,
               a sunflower; each is pressed together in a ring that closes in, and the tightest that came out is kept

Pressing: E = sum of overlaps squared, between wires and beyond the ring, is brought to nothing by going downhill, in a
ring of some radius; where it comes to nothing the ring closes in, else it opens. Whatever comes out is spread until no
two wires overlap, so the answer is always a bundle that can be laid: never below the tightest there is, and not proved
the tightest. The same wires give the same answer: starts are made by rule, not drawn.

Source: worked out; held against the best known packings of 1 to 37 equal circles (circle-packing pages) and geometry.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil, cos, pi, sin, sqrt

import numpy as np

from loomwright.heat.still_air import Floats
from loomwright.refusals import OutOfReach

__all__ = ["Packing", "packed"]

_GOLDEN = pi * (3.0 - sqrt(5.0))
_FIRST_ROUNDS = 3
_LAST_ROUNDS = 8
_WITHIN = 1e-9
_ITERATIONS = 220
_NOTHING = 1e-16
_MANY = 40
_BEST_STARTS = 4
_FEW_STARTS = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Packing:
    """A bundle that can be laid. bundle_mm: its diameter. [mm]   at_mm: the middle of each wire, as asked. [mm]"""

    bundle_mm: float
    at_mm: Floats


def packed(wires_mm: Sequence[float], *, roughly: bool = False) -> Packing:
    """The tightest bundle found for some wires.

    Args:
        wires_mm: outside diameters, one at least. [mm]
        roughly: fewer starts, a fifth of the time, looser by some hundredths.
    Raises:
        OutOfReach: no wire, or one that has no thickness.
    Example:
        >>> round(packed([3.7, 1.6]).bundle_mm, 3), round(packed([2.4] * 7).bundle_mm, 2)
        (5.3, 7.2)
    """
    if not wires_mm:
        raise OutOfReach("wires", 0, "1 or more")
    if not all(0.0 < value < float("inf") for value in wires_mm):
        raise OutOfReach("wires_mm", min(wires_mm), "more than nothing")
    radii = np.array(wires_mm, dtype=np.float64) / 2.0
    if len(radii) == 1:
        return Packing(bundle_mm=2.0 * float(radii[0]), at_mm=np.zeros((1, 2)))
    order = np.argsort(-radii, kind="stable")
    big = radii[order]
    best, radius = _tightest(big, roughly=roughly)
    at = np.empty_like(best)
    at[order] = best
    return Packing(bundle_mm=2.0 * radius, at_mm=at)


def _tightest(radii: Floats, *, roughly: bool) -> tuple[Floats, float]:
    """The best of all starts: each pressed roughly, the best few to the end."""
    root = sqrt(float(np.sum(radii**2)))
    rough: list[tuple[float, int, Floats]] = []
    for start in _starts(radii, root):
        at, radius = _spread(start, radii)
        rough.append((radius, len(rough), at))
    rough.sort(key=lambda one: one[:2])
    pressed = []
    for radius, number, at in rough if len(radii) <= _MANY and not roughly else rough[:_FEW_STARTS]:
        found, tight = _closed_in(at, radii, radius, _FIRST_ROUNDS)
        pressed.append((tight, number, found))
    pressed.sort(key=lambda one: one[:2])
    ended = []
    for tight, number, at in pressed[: _BEST_STARTS if len(radii) <= _MANY and not roughly else 1]:
        found, tighter = _closed_in(at, radii, tight, _LAST_ROUNDS)
        ended.append((tighter, number, found))
    tight, _, found = min(ended, key=lambda one: one[:2])
    return found, tight


def _closed_in(at: Floats, radii: Floats, radius: float, rounds: int) -> tuple[Floats, float]:
    """A start pressed together: the ring's radius halved between what went and what did not."""
    least = max(float(np.max(radii)), sqrt(float(np.sum(radii**2))))
    best, went = at, radius
    for round_ in range(rounds):
        # most starts are loose by a tenth: close in fast at first
        tried = (least + went) / 2.0 if round_ else max(least, 0.93 * went)
        found, radius = _spread(_pressed(best, radii, tried), radii)
        if radius < went:
            best, went = found, radius
        else:
            least = tried
        if went - least < _WITHIN:
            break
    return best, went


def _pressed(at: Floats, radii: Floats, ring: float) -> Floats:
    """The wires pressed into a ring of a radius, as little overlapping as comes out."""
    count = len(radii)
    one, two = np.triu_indices(count, 1)
    apart, most = radii[one] + radii[two], ring - radii

    def overlap(flat: Floats) -> tuple[float, Floats]:
        x, y = flat[:count], flat[count:]
        dx, dy = x[one] - x[two], y[one] - y[two]
        far = np.sqrt(dx * dx + dy * dy) + 1e-15
        lap = np.maximum(apart - far, 0.0)
        out = np.sqrt(x * x + y * y) + 1e-15
        over = np.maximum(out - most, 0.0)
        pull = -2.0 * lap / far
        gx = np.bincount(one, pull * dx, count) - np.bincount(two, pull * dx, count) + 2.0 * over * x / out
        gy = np.bincount(one, pull * dy, count) - np.bincount(two, pull * dy, count) + 2.0 * over * y / out
        return float(np.sum(lap * lap) + np.sum(over * over)), np.concatenate((gx, gy))

    return _lowest(overlap, at.T.ravel(), float(np.min(radii))).reshape(2, count).T


def _lowest(of: Callable[[Floats], tuple[float, Floats]], at: Floats, most: float) -> Floats:
    """Downhill by steps of Barzilai and Borwein, none longer than a wire's radius; the lowest that was passed."""
    much, slope = of(at)
    best, least, step = at, much, 0.25
    for _ in range(_ITERATIONS):
        if much < _NOTHING:
            return at
        move = -step * slope
        longest = float(np.max(np.abs(move)))
        if longest < _NOTHING:
            break
        if longest > most:
            move *= most / longest
        before, at = slope, at + move
        much, slope = of(at)
        if much < least:
            best, least = at, much
        turned = slope - before
        bend = float(np.sum(move * turned))
        step = float(np.sum(move * move)) / bend if bend > 0.0 else 0.25
    return best


def _spread(at: Floats, radii: Floats) -> tuple[Floats, float]:
    """The same bundle spread until no two wires overlap, and the radius of the ring round it."""
    one, two = np.triu_indices(len(radii), 1)
    far = np.hypot(*(at[one] - at[two]).T)
    wider = max(float(np.max((radii[one] + radii[two]) / np.maximum(far, 1e-12))), 1e-12)
    found = at * wider
    for _ in range(30):  # the middle of the ring moves to where the outermost wires want it
        out = np.hypot(*found.T) + radii
        worst = int(np.argmax(out))
        step = found[worst] * (0.5 * (out[worst] - float(np.partition(out, -2)[-2])) / max(out[worst], 1e-12))
        if float(np.hypot(*step)) < 1e-9:
            break
        found = found - step
    return found, float(np.max(np.hypot(*found.T) + radii))


def _starts(radii: Floats, root: float) -> Iterator[Floats]:
    """Layouts to begin with, thickest wires given first and laid inmost, or outmost."""
    count, wide = len(radii), 1.15 * root
    seats = np.arange(count) + 0.5
    turn = np.arange(count) * _GOLDEN
    sunflower = np.sqrt(seats / count)[:, None] * np.column_stack((np.cos(turn), np.sin(turn))) * wide
    equal = float(np.max(radii) - np.min(radii)) < 1e-12 * float(np.max(radii))
    yield sunflower
    if not equal:
        yield sunflower[::-1].copy()
        yield sunflower[np.argsort(np.arange(count) * _GOLDEN % 1.0)].copy()
    for middle in ((0.0, 0.0), (0.5, 0.0), (0.5, sqrt(3.0) / 6.0), (0.25, 0.1)):
        yield _honeycomb(count, middle) * (2.0 * root / sqrt(count))
    for turned in (0.0, 0.5, 0.25):
        for inner in (1, 2, 3, 4, 5):
            if inner < count:
                yield _rings(count, inner, turned) * (2.0 * root / sqrt(count))
    if count <= _MANY and not equal:
        for number in (1, 2, 3, 4):
            yield sunflower[np.argsort((np.arange(count) * (number + _GOLDEN)) % 1.0)].copy()


def _honeycomb(count: int, middle: tuple[float, float]) -> Floats:
    """So many seats of a honeycomb of unit spacing, nearest a middle."""
    reach = ceil(sqrt(count)) + 2
    seats = [
        (i + j / 2.0 - middle[0], j * sqrt(3.0) / 2.0 - middle[1])
        for i in range(-reach, reach + 1)
        for j in range(-reach, reach + 1)
    ]
    seats.sort(key=lambda seat: (round(seat[0] ** 2 + seat[1] ** 2, 9), seat))
    return np.array(seats[:count])


def _rings(count: int, inner: int, turned: float) -> Floats:
    """Rings of unit spacing, six more in each than in the one inside it, every ring turned against the last."""
    seats: list[tuple[float, float]] = []
    ring, room, angle = 0, inner, 0.0
    while len(seats) < count:
        here = min(room, count - len(seats))
        radius = 0.0 if inner == 1 and ring == 0 else max(ring + (0.0 if inner == 1 else 0.5 / sin(pi / inner)), 0.5)
        seats += [
            (radius * cos(angle + 2 * pi * k / here), radius * sin(angle + 2 * pi * k / here)) for k in range(here)
        ]
        ring, angle = ring + 1, angle + turned * 2.0 * pi / (room + 6)
        room += 5 if inner == 1 and ring == 1 else 6
    return np.array(seats)
