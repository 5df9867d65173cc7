"""A reading has moved since the car was handed over: by how much, what is that a sign of, and when is it out?

The sign goes by what was measured and which way it went: a drop between two points that grows is a joint going high,
and so are volts at an earth under load; volts where there were none are a second feed; an isolation that falls is damp
or a chafed covering, a load that draws more is stiff or partly shorted. The pace is a straight line from the day of the
baseline to today; it is told where a month or more lies between and the band would be left within ten years.

Source: common practice, no source; the straight line is our choice.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from loomwright.handover.later_visit import ReadAgain
from loomwright.job.rows import Proof
from loomwright.quantities import for_print

__all__ = ["Drift", "drift_of"]

_LEAST_DAYS = 30
_MONTH_DAYS = 30.4
_MOST_MONTHS = 120
_YEAR_MONTHS = 24
_JOINT_OHM = 5.0
_ISOLATION_OHM = 1e5
_EARTHS = "earth/"
"""What the test plan calls earths under load begins so."""
_ABOUT_NOTHING = ("earth", "dead")
"""Read against nought: what counts is how far off."""

_SIGNS = {
    ("drop", 1): "a crimp, contact or earth in it is going high: clean it, then read it again",
    ("drop", -1): "less current goes through it than then",
    ("feed", 1): "it draws less there than then, or the charging is set higher",
    ("feed", -1): "volts are lost on the way: a joint or contact in the feed, a tired battery, or more draw",
    ("earth", 1): "its bolt, ring or strap is going high: bright metal, tighten, then read it again",
    ("earth", -1): "better than then, or less current comes back through it",
    ("dead", 1): "something feeds it that did not: a contact that sticks, damp, or a covering that chafes",
    ("dead", -1): "nearer to nothing than then: nothing to do",
    ("isolation", 1): "drier than then: nothing to do",
    ("isolation", -1): "damp, or a covering that chafes: find it before a fuse does",
    ("joint", 1): "a joint, crimp or earth is going high: clean it, then read it again",
    ("joint", -1): "better than then, or the leads were not zeroed",
    ("load", 1): "warmer than then, or a joint in series with it",
    ("load", -1): "turns touch, or water lies across it",
    ("amps", 1): "stiff, worn or partly shorted; at rest: something stays awake",
    ("amps", -1): "a joint in its feed or earth is going high, or its brushes are worn",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """What a reading's move says. by: with its sign and unit.   sign: what it is a sign of.   pace: or empty."""

    by: str
    sign: str
    pace: str

    @property
    def says(self) -> str:
        """All of it in one line."""
        return ". ".join(one for one in (f"{self.by}: {self.sign}" if self.sign else self.by, self.pace) if one)


def drift_of(again: ReadAgain, today: str = "") -> Drift | None:
    """What the move of a reading says; None where it stands as then, or nothing can be compared.

    Args:
        today: the day it was read again; no pace without it.
    """
    proof = again.proof
    if proof is None or again.verdict not in ("moved", "outside"):
        return None
    if isinstance(again.value, str) or not isinstance(proof.value, int | float):
        return Drift(by=f"then {again.then}, now {again.now}", sign="", pace="")
    change = again.value - float(proof.value)
    sort, sign = _sort(proof), 1 if change > 0.0 else -1
    by = f"{'+' if sign > 0 else '-'}{for_print(abs(change))} {proof.unit}"
    if sort in _ABOUT_NOTHING:  # which way the leads were does not matter
        sign = 1 if abs(again.value) > abs(float(proof.value)) else -1
    if abs(again.value) >= _ISOLATION_OHM**2:
        by = "open now"
    return Drift(by=by, sign=_SIGNS[sort, sign], pace=_pace(proof, again.value, change, today))


def _sort(proof: Proof) -> str:
    if proof.unit == "A":
        return "amps"
    if proof.unit == "V":
        if proof.to:
            return "drop"
        if proof.test.startswith(_EARTHS):
            return "earth"
        return "dead" if proof.low is not None and proof.high is not None and proof.low <= 0.0 <= proof.high else "feed"
    if proof.high is None or (proof.low or 0.0) >= _ISOLATION_OHM:
        return "isolation"
    return "joint" if proof.high <= _JOINT_OHM else "load"


def _pace(proof: Proof, value: float, change: float, today: str) -> str:
    days = _days(proof.time, today)
    edge = proof.high if change > 0.0 else proof.low
    if days < _LEAST_DAYS or edge is None or change == 0.0:
        return ""
    left = (edge - value) / change
    if left <= 0.0:
        return f"Left its band within {_long(days / _MONTH_DAYS)}"
    months = left * days / _MONTH_DAYS
    if months > _MOST_MONTHS:
        return ""
    return f"If it goes on so, out of its band ({for_print(edge)} {proof.unit}) in about {_long(months)}"


def _long(months: float) -> str:
    if months > _YEAR_MONTHS:
        return f"{round(months / 12)} years"
    count = max(1, round(months))
    return "a month" if count == 1 else f"{count} months"


def _days(then: str, now: str) -> int:
    try:
        return (date.fromisoformat(now[:10]) - date.fromisoformat(then[:10])).days
    except ValueError:
        return 0
