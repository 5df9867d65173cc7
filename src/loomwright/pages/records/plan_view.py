"""Where on the paper do the runs of a car lie, from above and from the side, and where do their names stand?

The nose is at the left in both views; from above the car's right side is up. Along the car, stretches in which nothing
sits are left out, and marked where they are: a van is mostly floor. A run is drawn straight from place to place, to a
multiple of the bundle's thickness. Names are set beside what they name, each where it covers least of the others.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import hypot

import numpy as np

from loomwright.heat.still_air import Floats
from loomwright.job.rows import Place, Run

__all__ = ["THICKER", "DrawnPlace", "DrawnRun", "View", "views_of"]

THICKER = 2.0
"""How many times thicker than the car is long a bundle is drawn. [-]"""

_WIDE = 1000.0
_MOST_HIGH = 540.0
_EDGE = 70.0
_LONG_MM = 400.0
_THIN, _UNKNOWN = 4.0, 5.0
_LETTER, _LINE = 9.7, 20.0
_HOLE = 9.0
_LITTLE = 2.0
_LEADER = 24.0
_BEAD = 9.0
_ALONG = (0.5, 0.4, 0.6, 0.3, 0.7, 0.22, 0.78)
_BESIDE = (0.0, 16.0, -16.0, 26.0, -26.0, 40.0, -40.0, 58.0, -58.0)
_ROUNDS = 3

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnRun:
    """One run in a view. x1, y1, x2, y2: its line.   thick: of it.   is_end_on: it is seen along its length.

    copper: the line beside it that is energised, as (x1, y1, x2, y2).
    label_x, label_y: the middle of its name; label_wide: of the plate under it.   leads: from the name to the run.
    label_wide, label_x, label_y, thick, x1, x2, y1, y2: in units of the drawing. [-]
    """

    run: str
    x1: float
    y1: float
    x2: float
    y2: float
    thick: float
    is_end_on: bool
    copper: Box
    label: str
    label_x: float = 0.0
    label_y: float = 0.0
    label_wide: float = 0.0
    leads: bool = False

    @property
    def middle(self) -> tuple[float, float]:
        """The middle of its line."""
        return (self.x1 + self.x2) / 2.0, (self.y1 + self.y2) / 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPlace:
    """A place in a view. label_x, label_y: of its name; anchor: start, middle or end of the words stands there.

    label_x, label_y, x, y: in units of the drawing. [-]
    """

    place: str
    x: float
    y: float
    label_x: float = 0.0
    label_y: float = 0.0
    anchor: str = "middle"


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One view. wide, high: of the paper.   breaks: where along the car something is left out.

    middle: of the car, from above; None from the side.   top, bottom: what lies there, in words.
    breaks, high, middle, wide: in units of the drawing. [-]
    """

    word: str
    wide: float
    high: float
    runs: tuple[DrawnRun, ...]
    places: tuple[DrawnPlace, ...]
    breaks: tuple[float, ...]
    middle: float | None
    top: str
    bottom: str


def views_of(
    places: Sequence[Place],
    runs: Sequence[Run],
    thick_mm: Mapping[str, float],
    labels: Mapping[str, str],
) -> tuple[View, ...]:
    """The views that can be drawn: from above, then from the side; none without two places along the car.

    Args:
        places: those without figures are left out, and so are runs that end at them.
        runs: in the order in which they are drawn.
        thick_mm: run -> its bundle with the covering; a run that is not named is empty. [mm]
        labels: run -> its name with a figure.
    """
    there = [one for one in places if one.x_mm is not None]
    along, breaks = _broken([one.x_mm or 0.0 for one in there])
    reach = max(along.values(), default=0.0)
    if reach <= 0.0:
        return ()
    found = []
    for word, axis, names in (
        ("From above", "y_mm", labels),
        ("From the side", "z_mm", {run.id: run.id for run in runs}),
    ):
        shown = [one for one in there if getattr(one, axis) is not None]
        ups = [float(getattr(one, axis)) for one in shown]
        if len(shown) < 2:
            continue
        span = max(ups) - min(ups)
        scale = min((_WIDE - 2.0 * _EDGE) / reach, _MOST_HIGH / span if span else 1.0)
        left = (_WIDE - reach * scale) / 2.0
        high = span * scale + 2.0 * _EDGE
        at = {
            one.id: (left + along[one.x_mm or 0.0] * scale, _EDGE + (max(ups) - up) * scale)
            for one, up in zip(shown, ups, strict=True)
        }
        drawn = [_run(run, at, thick_mm.get(run.id), scale, names) for run in runs if run.from_ in at and run.to in at]
        is_above = axis == "y_mm"
        found.append(
            _named(
                View(
                    word=word,
                    wide=_WIDE,
                    high=round(high, 1),
                    runs=tuple(drawn),
                    places=tuple(DrawnPlace(place=name, x=round(x, 1), y=round(y, 1)) for name, (x, y) in at.items()),
                    breaks=tuple(round(left + one * scale, 1) for one in breaks),
                    middle=round(_EDGE + max(ups) * scale, 1) if is_above and min(ups) < 0.0 < max(ups) else None,
                    top="right side" if is_above else "",
                    bottom="left side" if is_above else "",
                ),
                {run.id for run in runs if run.hole_mm is not None},
            )
        )
    return tuple(found)


def _broken(values: Sequence[float]) -> tuple[dict[float, float], list[float]]:
    """Each distance along the car -> how far along the paper, in mm of the car; and where something is left out."""
    order = sorted({*values})
    found = dict.fromkeys(order[:1], 0.0)
    breaks = []
    for before, now in pairwise(order):
        gap = min(now - before, _LONG_MM)
        found[now] = found[before] + gap
        if now - before > _LONG_MM:
            breaks.append(found[before] + gap / 2.0)
    return found, breaks


def _run(
    run: Run,
    at: Mapping[str, tuple[float, float]],
    thick_mm: float | None,
    scale: float,
    names: Mapping[str, str],
) -> DrawnRun:
    (x1, y1), (x2, y2) = at[run.from_], at[run.to]
    long = hypot(x2 - x1, y2 - y1)
    thick = max(_THIN, thick_mm * scale * THICKER) if thick_mm is not None else _UNKNOWN
    across = (-(y2 - y1) / long, (x2 - x1) / long) if long else (0.0, 1.0)
    off = thick / 2.0 + 3.0
    dx, dy = across[0] * off, across[1] * off
    return DrawnRun(
        run=run.id,
        x1=round(x1, 1),
        y1=round(y1, 1),
        x2=round(x2, 1),
        y2=round(y2, 1),
        thick=round(thick, 1),
        is_end_on=long < _LITTLE,
        copper=(round(x1 + dx, 1), round(y1 + dy, 1), round(x2 + dx, 1), round(y2 + dy, 1)),
        label=names.get(run.id, run.id),
    )


# ------------------------------------------------------------------------ names


def _named(view: View, holed: set[str]) -> View:
    """The view with every name where it covers least."""
    dots: list[Box] = [(one.x - 5.0, one.y - 5.0, one.x + 5.0, one.y + 5.0) for one in view.places]
    for run in view.runs:
        if run.run in holed:
            x, y = run.middle
            dots.append((x - _HOLE, y - _HOLE, x + _HOLE, y + _HOLE))
    lines = {run.run: list(_along(run)) for run in view.runs}
    along = [box for boxes in lines.values() for box in boxes]
    boxes_of: dict[str, Box] = {}
    runs, places = view.runs, view.places
    # a name is set before what comes after it is known, so all are set once more with the others where they lie
    for _ in range(_ROUNDS):
        found = []
        for run in runs:
            others = [box for name, box in boxes_of.items() if name != run.run]
            there = _array([*dots, *others, *(box for name, row in lines.items() if name != run.run for box in row)])
            wide = len(run.label) * _LETTER + 6.0
            spots = [(spot, spot[2] + _covers(_around(spot, wide), there, view)) for spot in _spots(run)]
            best = min(spots, key=lambda one: one[1])[0]
            boxes_of[run.run] = _around(best, wide)
            x, y = round(best[0], 1), round(best[1], 1)
            found.append(replace(run, label_x=x, label_y=y, label_wide=round(wide, 1), leads=best[3] > _LEADER))
        runs = tuple(found)
        named = []
        for place in places:
            key = f"\n{place.place}"
            there = _array([*dots, *along, *(box for name, box in boxes_of.items() if name != key)])
            sides = [(side, side[3] + _covers(side[4], there, view)) for side in _sides(place, len(place.place) * 8.0)]
            where = min(sides, key=lambda one: one[1])[0]
            boxes_of[key] = where[4]
            named.append(replace(place, label_x=round(where[0], 1), label_y=round(where[1], 1), anchor=where[2]))
        places = tuple(named)
    return replace(view, runs=runs, places=places)


def _along(run: DrawnRun) -> Iterator[Box]:
    """A run's line as a row of boxes."""
    steps = max(1, round(hypot(run.x2 - run.x1, run.y2 - run.y1) / _BEAD))
    for step in range(steps + 1):
        x = run.x1 + (run.x2 - run.x1) * step / steps
        y = run.y1 + (run.y2 - run.y1) * step / steps
        yield x - _BEAD / 2.0, y - _BEAD / 2.0, x + _BEAD / 2.0, y + _BEAD / 2.0


def _spots(run: DrawnRun) -> Iterator[tuple[float, float, float, float]]:
    """Where a run's name may stand: x, y, how ill it stands there, how far from the run."""
    long = hypot(run.x2 - run.x1, run.y2 - run.y1)
    across = (-(run.y2 - run.y1) / long, (run.x2 - run.x1) / long) if long else (0.0, 1.0)
    for place, share in enumerate(_ALONG):
        for off in _BESIDE:
            x = run.x1 + (run.x2 - run.x1) * share + across[0] * off
            y = run.y1 + (run.y2 - run.y1) * share + across[1] * off
            yield x, y, place * 6.0 + abs(off) * 2.0, abs(off)


def _sides(place: DrawnPlace, wide: float) -> Iterator[tuple[float, float, str, float, Box]]:
    """Where a place's name may stand: x, y, anchor, how ill it stands there, the room it takes."""
    for reach in (10.0, 20.0, 32.0):
        for dx, dy, anchor in (
            (0.0, -reach, "middle"),
            (0.0, reach + 10.0, "middle"),
            (reach, 5.0, "start"),
            (-reach, 5.0, "end"),
            (reach * 0.7, -reach * 0.7, "start"),
            (-reach * 0.7, -reach * 0.7, "end"),
            (reach * 0.7, reach * 0.7 + 10.0, "start"),
            (-reach * 0.7, reach * 0.7 + 10.0, "end"),
        ):
            x, y = place.x + dx, place.y + dy
            left = x - {"start": 0.0, "middle": wide / 2.0, "end": wide}[anchor]
            yield x, y, anchor, reach * 2.0, (left, y - 13.0, left + wide, y + 4.0)


def _around(spot: tuple[float, float, float, float], wide: float) -> Box:
    x, y = spot[0], spot[1]
    return x - wide / 2.0, y - _LINE / 2.0, x + wide / 2.0, y + _LINE / 2.0


def _array(boxes: Sequence[Box]) -> Floats:
    return np.array(boxes, dtype=np.float64).reshape(-1, 4)


def _covers(box: Box, taken: Floats, view: View) -> float:
    """How much of what is there already a box covers, and of what lies beyond the paper."""
    wide = np.minimum(box[2], taken[:, 2]) - np.maximum(box[0], taken[:, 0])
    high = np.minimum(box[3], taken[:, 3]) - np.maximum(box[1], taken[:, 1])
    over = float(np.sum(np.maximum(wide, 0.0) * np.maximum(high, 0.0)))
    out = max(0.0, -box[0]) + max(0.0, box[2] - view.wide) + max(0.0, -box[1]) + max(0.0, box[3] - view.high)
    return over + out * 20.0
