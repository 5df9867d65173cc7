"""Which curve does a thermistor have, which pull-up suits it, and does it say the right thing before the first crank?

From three points: 1/T = A + B ln R + C (ln R)^3 (Steinhart-Hart), exact through them. From two: R = R1 exp(b (1/T -
1/T1)), which holds only between its points. Points must fall: the warmer, the fewer ohms. Where they do not, one of
them was misread, and nothing is fitted through it.

Pull-up: V = Vref R / (R + Rp). The widest span of volts between two temperatures has Rp = sqrt(R1 R2); the best worst
resolution has the Rp that makes the smallest |dV/dT| largest, found by a bounded search.

Source: the equations are the trade's; the outside tests hold them against a printed table [manual-coolant-curve].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp, log, sqrt

import numpy as np

from loomwright.calibration.charge import KELVIN
from loomwright.refusals import BadDocument, OutOfReach, Problem

__all__ = [
    "PullUp",
    "Thermistor",
    "divider_v",
    "ohms_of_volts",
    "pull_up_for",
    "thermistor_of",
]

_HEAT_MW = 1000.0
_STEPS = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Thermistor:
    """A curve.

    a, b, c: of Steinhart-Hart. [-]
    least_c, most_c: its points' ends; beyond them it is a guess.   beta_k: of the two-point law, or None.
    """

    a: float
    b: float
    c: float
    least_c: float
    most_c: float
    beta_k: float | None = None

    def temperature_c(self, ohm: float) -> float:
        """Temperature at a resistance. [C]"""
        if ohm <= 0.0:
            raise OutOfReach("resistance", ohm, "above nothing")
        lines = log(ohm)
        return 1.0 / (self.a + self.b * lines + self.c * lines**3) - KELVIN

    def resistance_ohm(self, at_c: float) -> float:
        """Resistance at a temperature: the one real root. [ohm]"""
        y = self.a - 1.0 / (at_c + KELVIN)
        if abs(self.c) < 1e-15:
            return exp(-y / self.b)
        p, q = self.b / self.c, y / self.c
        inside = sqrt((p / 3.0) ** 3 + (q / 2.0) ** 2)
        return exp(float(np.cbrt(inside - q / 2.0) - np.cbrt(inside + q / 2.0)))

    def is_inside(self, at_c: float) -> bool:
        """Whether its points reach that far."""
        return self.least_c <= at_c <= self.most_c


@dataclass(frozen=True, slots=True, kw_only=True)
class PullUp:
    """Pull-ups for a span. widest_ohm: most volts between its ends.   finest_ohm: best resolution where it is worst.

    finest_mv_per_k: that resolution.   heat_mw: most heat in the thermistor then, in thousandths of a watt. [-]
    """

    widest_ohm: float
    finest_ohm: float
    finest_mv_per_k: float
    heat_mw: float


def thermistor_of(points: Sequence[tuple[float, float]]) -> Thermistor:
    """The curve through two or three points.

    Args:
        points: temperature in degC and ohms. [-]
    Raises:
        BadDocument: not two or three points, or points that do not fall with temperature.
    Example:
        >>> curve = thermistor_of([(0, 5975), (50, 806.9), (100, 175.7)])
        >>> round(curve.temperature_c(231.2), 2), round(curve.resistance_ohm(50), 1)
        (90.0, 806.9)
    """
    rows = sorted(points)
    problems = tuple(_wrong_with(rows))
    if problems:
        raise BadDocument(problems)
    y = [1.0 / (t + KELVIN) for t, _ in rows]
    lines = [log(r) for _, r in rows]
    if len(rows) == 2:
        beta = (lines[0] - lines[1]) / (y[0] - y[1])
        return Thermistor(
            a=y[0] - lines[0] / beta, b=1.0 / beta, c=0.0, least_c=rows[0][0], most_c=rows[1][0], beta_k=beta
        )
    matrix = np.array([[1.0, each, each**3] for each in lines])
    a, b, c = (float(each) for each in np.linalg.solve(matrix, np.array(y)))
    curve = Thermistor(a=a, b=b, c=c, least_c=rows[0][0], most_c=rows[2][0])
    if b + 3.0 * c * max(lines) ** 2 <= 0.0 or b + 3.0 * c * min(lines) ** 2 <= 0.0 or c < 0.0:
        raise BadDocument((_problem(f"{rows}", "the curve through them turns back: one point is misread"),))
    return curve


def divider_v(ohm: float, pull_up_ohm: float, reference_v: float = 5.0) -> float:
    """Volts at the input.

    Args:
        ohm: of the sensor. [ohm]
        pull_up_ohm: of the controller. [ohm]
        reference_v: behind the pull-up. [V]
    Example:
        >>> divider_v(250.0, 1000.0)
        1.0
    """
    return reference_v * ohm / (ohm + pull_up_ohm)


def ohms_of_volts(volts: float, pull_up_ohm: float, reference_v: float = 5.0) -> float:
    """Resistance behind a voltage, by the ratio to the reference. [ohm]

    Args:
        volts: at the input. [V]
        pull_up_ohm: of the controller. [ohm]
        reference_v: as measured, not as printed. [V]
    Raises:
        OutOfReach: above 98 % of the reference the line is open, below 2 % it is shorted.
    Example:
        >>> round(ohms_of_volts(1.0, 1000.0), 6)
        250.0
    """
    share = volts / reference_v
    if share > 0.98:
        raise OutOfReach("sensor volts", f"{volts:g} V", f"below {0.98 * reference_v:g} V; there the line is open")
    if share < 0.02:
        raise OutOfReach("sensor volts", f"{volts:g} V", f"above {0.02 * reference_v:g} V; there it is shorted")
    return pull_up_ohm * share / (1.0 - share)


def pull_up_for(curve: Thermistor, least_c: float, most_c: float, reference_v: float = 5.0) -> PullUp:
    """Which pull-ups suit a span of temperatures.

    Args:
        least_c, most_c: what it is to tell. [C]
        reference_v: behind the pull-up. [V]
    Raises:
        OutOfReach: no span.
    """
    if not least_c < most_c:
        raise OutOfReach("span", f"{least_c:g} to {most_c:g} °C", "the colder end first")
    at_c = np.linspace(least_c, most_c, _STEPS)
    ohms = np.array([curve.resistance_ohm(float(t)) for t in at_c])
    lines = np.log(ohms)
    slope = -ohms / ((at_c + KELVIN) ** 2 * (curve.b + 3.0 * curve.c * lines**2))

    def worst(log_ohm: float) -> float:
        pull = exp(log_ohm)
        return -float(np.min(np.abs(reference_v * pull * slope / (ohms + pull) ** 2)))

    # log-concave between the ends' resistances: a bounded search finds the one top
    from scipy.optimize import minimize_scalar  # here: half a second that few questions need

    found = minimize_scalar(worst, bounds=(log(ohms[-1]), log(ohms[0])), method="bounded", options={"xatol": 1e-6})
    finest = exp(float(found.x))
    hottest = finest if ohms[-1] <= finest <= ohms[0] else float(ohms[np.argmin(np.abs(ohms - finest))])
    return PullUp(
        widest_ohm=sqrt(float(ohms[0]) * float(ohms[-1])),
        finest_ohm=finest,
        finest_mv_per_k=-float(found.fun) * _HEAT_MW,
        heat_mw=(reference_v / (hottest + finest)) ** 2 * hottest * _HEAT_MW,
    )


def _wrong_with(rows: Sequence[tuple[float, float]]) -> list[Problem]:
    if len(rows) not in (2, 3):
        return [_problem(f"{len(rows)} points", "Give two points, or three for the whole range")]
    wrong = [
        _problem(f"{r:g} ohm at {t:g} °C", "Measure it again: ohms are above nothing") for t, r in rows if r <= 0.0
    ]
    for (t1, r1), (t2, r2) in pairwise(rows):
        if t1 == t2:
            wrong.append(_problem(f"{t1:g} °C twice", "Give points of different temperatures"))
        elif r2 >= r1:
            found = f"{r1:g} ohm at {t1:g} °C and {r2:g} at {t2:g} °C"
            wrong.append(_problem(found, "Measure both again, or see whether they were swapped"))
    return wrong


def _problem(found: str, mend: str) -> Problem:
    return Problem(
        sheet="",
        row=None,
        column="points",
        found=found,
        allowed="fewer ohms the warmer it is (a thermistor of this sort)",
        mend=mend,
    )
