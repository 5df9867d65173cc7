"""What speaks for a function of an old wire, and what against it?

For a reading r of a wire and a function f, with b(f) what was held before any reading:

    times(r, f) = p(r | f) / sum over functions g of b(g) p(r | g)

Above 1 the reading speaks for f, below 1 against it. Three figures stand beside each other for a function: before any
reading (how many a car has, colour, place), by the wire's own readings, and with all wires weighed together; the last
is what the survey says. Where they part, it was another wire that spoke.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.job.job import Job
from loomwright.refusals import OutOfReach
from loomwright.survey.doubts import wrong_frac
from loomwright.survey.likelihood import evidence_likelihoods
from loomwright.survey.records import Evidence
from loomwright.survey.weighing import weighed

__all__ = ["SpokenFor", "SpokenReading", "WireSpoken", "spoken_of"]

_TINY = 1e-300
_MOST = 8
_LEAST_ODDS = 0.005


@dataclass(frozen=True, slots=True, kw_only=True)
class SpokenFor:
    """One function. before_frac: before any reading; alone_frac: by its own readings; odds_frac: all wires. [0..1]"""

    function: str
    words: str
    before_frac: float
    alone_frac: float
    odds_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SpokenReading:
    """One row of the sheet `readings`. row: the first being 2. [-]   times: as above, function by function. [-]

    wrong_frac: how likely the reading is wrong. [0..1]
    """

    row: int
    times: tuple[float, ...]
    wrong_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WireSpoken:
    """What speaks for and against what a wire may be, likeliest first; readings in the order of their rows."""

    wire: str
    functions: tuple[SpokenFor, ...]
    readings: tuple[SpokenReading, ...]


def spoken_of(job: Job, wire: str, most: int = _MOST) -> WireSpoken:
    """What speaks for and against each function an old wire may have.

    Args:
        job: its sheets as for the survey.
        wire: which old wire.
        most: at most so many functions. [-]
    Raises:
        OutOfReach: no such old wire.
    Example:
        >>> from loomwright.job.rows import OldWire
        >>> spoken_of(Job(old_wires=(OldWire(id="7", colour="BK"),)), "7").readings
        ()
    """
    known = weighed(job)
    row = next((place for place, each in enumerate(known.wires) if each.id == wire), None)
    if row is None:
        raise OutOfReach("old wire", wire, " ".join(each.id for each in known.wires) or "none in this job")
    before = known.before[row]
    alone = known.weights[row] / max(float(known.weights[row].sum()), _TINY)
    order = [int(place) for place in np.argsort(-known.odds[row], kind="stable")[:most]]
    order = [place for place in order if known.odds[row, place] >= _LEAST_ODDS]
    by_row: dict[int, list[Evidence]] = {}
    for each in known.evidence[row]:
        by_row.setdefault(each.row, []).append(each)
    readings = []
    for number, some in by_row.items():
        # one row may be two readings, the lamp and what lit meanwhile: dead or sound, it was one wire
        likely = np.prod([evidence_likelihoods(known.shown, each) for each in some], axis=0)
        given = (known.shown.shares * likely).sum(axis=1)
        times = given / max(float(before @ given), _TINY)
        readings.append(
            SpokenReading(
                row=number,
                times=tuple(float(times[place]) for place in order),
                wrong_frac=max(wrong_frac(known, row, each) for each in some),
            )
        )
    return WireSpoken(
        wire=wire,
        functions=tuple(
            SpokenFor(
                function=known.functions[place].key,
                words=known.functions[place].words,
                before_frac=float(before[place]),
                alone_frac=float(alone[place]),
                odds_frac=float(known.odds[row, place]),
            )
            for place in order
        ),
        readings=tuple(readings),
    )
