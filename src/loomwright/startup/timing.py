"""Is the spark where the controller says, and if not, what is to be corrected: the trigger's angle, or its delay?

Difference = seen - commanded. A trigger that sits wrong gives the same at every speed; a delay grows with it:

    difference = offset - 6 rpm delay      (degrees, a turn a minute being 6 degrees a second)

fitted by least squares, with the 95 % interval of both. Before that, each reading is asked whether it is one at all: on
another cylinder's lead the mark lies a firing interval (720 deg / cylinders) away; a dial-back light that takes a
wasted spark's two flashes for two turns reads double or half; a turn off is 360 deg. Such a reading is told and set
apart, never averaged in; so is one that lies alone, by its externally studentized residual. A mark is read to half a
degree at best, so no interval is narrower than that allows, however well the readings lie on a line. One speed alone
tells offset and delay together; while cranking the delay hardly shows, and that is said.

Source: deg = 6 rpm s; 2 deg from a maker's guide to timing lights [light-handbook]; the rest is common practice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from loomwright.refusals import OutOfReach
from loomwright.startup.timing_dangers import DANGER_DEG, NO_ENGINE_DEG, danger_of, none_left, scatter_of
from loomwright.startup.wheel_teeth import way_of, whole_teeth

__all__ = ["READ_DEG", "Interval", "SetApart", "Timing", "TimingReading", "reach_deg", "teeth_of", "timing_of"]

_DEG_PER_RPM_S = 6.0
_US = 1e6
_ALLOWED_DEG = 1.0
_NEAR_DEG = 4.0
_CYCLE_DEG = 720.0
_TURN_DEG = 360.0
_SURE = 0.975
_LONELY = 0.01
_LEAST = 3
_FALSE_US = -5.0
_CRANKING_RPM = 500.0
_CRANKING_DEG = 2.0
_US_TYPICAL = 100.0
_NORMAL = 1.96
READ_DEG = 0.5 / sqrt(3.0)
"""Standard deviation of a mark that is read to half a degree either way; common practice, no source. [deg]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class TimingReading:
    """One reading. commanded_deg, seen_deg: spark before top centre, in the controller and at the light.

    cylinder: whose lead the light was on, blank where nobody said.   stroke: `compression` or `exhaust` where it was
    felt at the plug hole.
    """

    rpm: float
    commanded_deg: float
    seen_deg: float
    cylinder: str = ""
    stroke: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A figure and its 95 % interval. value, low, high: in `unit`."""

    value: float
    low: float
    high: float
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SetApart:
    """A reading that was not averaged in. number: which, from 1. [-]"""

    number: int
    reading: TimingReading
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """The verdict. offset, delay: None where too few readings are left.   spread_deg: readings round the line.

    says: what it is, what to correct, by how much and which way, one sentence each.   is_true: within a degree.
    """

    offset: Interval | None
    delay: Interval | None
    spread_deg: float
    used: int
    apart: tuple[SetApart, ...]
    says: tuple[str, ...]
    is_true: bool
    mistakes: tuple[str, ...]


def timing_of(
    readings: Sequence[TimingReading],
    *,
    cylinders: int,
    teeth: int = 0,
    wasted_spark: bool = False,
    first: str = "1",
) -> Timing:
    """What readings of a timing light say.

    Args:
        readings: at several speeds.
        cylinders: of the engine. [-]
        teeth: of the crank wheel, the missing ones counted; 0: not known. [-]
        wasted_spark: coils fire two cylinders at once.
        first: the cylinder whose mark is looked at.
    Raises:
        OutOfReach: no readings, or a speed that is none.
    Example:
        >>> err = (-0.1, -0.4, -0.6, -0.9, -1.1, -1.4)
        >>> read = [TimingReading(rpm=1000 * n, commanded_deg=10, seen_deg=10 + e) for n, e in enumerate(err, 1)]
        >>> found = timing_of(read, cylinders=4)
        >>> round(found.offset.value, 2), round(found.delay.value, 1)
        (0.14, 42.4)
    """
    if not readings or cylinders < 1 or any(one.rpm <= 0.0 for one in readings):
        raise OutOfReach(
            "timing", f"{len(readings)} readings, {cylinders} cylinders", "readings at speeds above nothing"
        )
    apart, mistakes = _odd_ones(readings, cylinders, first, wasted_spark)
    gain = _doubled(readings, apart)
    if gain != 1.0:
        word = "twice" if gain > 1.0 else "half"
        why = (
            "wasted spark flashes it every turn"
            if wasted_spark
            else "it counts a flash a turn where there is one in two"
        )
        told = (
            f"The light reads {word} what is commanded wherever it was changed: {why}. Set its dial to nothing, or to "
            "two-stroke, and read the degree marks; these readings say nothing of the trigger."
        )
        return _without(readings, apart, (told,), (*mistakes, f"a light that reads {word}"))
    left = [n for n in range(len(readings)) if n not in apart]
    left, lonely = _without_lonely(readings, left)
    apart |= lonely
    if len(left) < _LEAST or len({readings[n].rpm for n in left}) < 2:
        if not left:
            return _without(readings, apart, none_left(mistakes, first), mistakes)
        says, more = _few([readings[n] for n in left], teeth)
        return _without(readings, apart, says, (*mistakes, *more))
    return _fitted(readings, left, apart, mistakes, teeth, wasted_spark)


def reach_deg(spread_deg: float, free: int) -> float:
    """Half of a 95 % interval round one reading, no less than the reading of a mark allows. [deg]

    Args:
        spread_deg: of readings round their line. [deg]
        free: readings less the two figures fitted. [-]
    Example:
        >>> round(reach_deg(0.0, 1), 3), round(reach_deg(1.0, 6), 3)
        (0.566, 2.447)
    """
    from scipy.special import stdtrit  # here: a quarter of a second that few questions need

    return max(float(stdtrit(free, _SURE)) * spread_deg, _NORMAL * READ_DEG)


def teeth_of(wheel: str) -> int:
    """Teeth of a crank wheel, the missing ones counted; 0 where nobody says. [-]

    Args:
        wheel: teeth and those missing.
    Raises:
        OutOfReach: it cannot be a wheel.
    Example:
        >>> teeth_of("60-2"), teeth_of("")
        (60, 0)
    """
    count, _, gone = wheel.partition("-")
    if not wheel:
        return 0
    if not count.isdecimal() or int(count) < _LEAST or (gone and not (gone.isdecimal() and int(gone) < int(count))):
        raise OutOfReach("teeth", wheel, "teeth and those missing, such as 60-2")
    return int(count)


def _difference(one: TimingReading) -> float:
    return one.seen_deg - one.commanded_deg


def _odd_ones(
    readings: Sequence[TimingReading], cylinders: int, first: str, wasted_spark: bool
) -> tuple[dict[int, str], tuple[str, ...]]:
    """Readings of another cylinder, of another turn, or felt on the exhaust stroke."""
    apart: dict[int, str] = {}
    mistakes: list[str] = []
    every = _CYCLE_DEG / cylinders
    for n, one in enumerate(readings):
        off = _difference(one)
        turns = round(off / _TURN_DEG)
        steps = round(off / every) if cylinders > 1 else 0
        if one.cylinder and one.cylinder != first:
            apart[n] = f"the light was on cylinder {one.cylinder}, the mark is that of cylinder {first}"
            mistakes.append("a light on another cylinder")
        elif abs(off) > _TURN_DEG + _CYCLE_DEG:
            apart[n] = f"{off:+.0f}° is what no light shows: was it typed wrong?"
            mistakes.append("a reading that cannot be")
        elif turns and abs(off - turns * _TURN_DEG) <= _NEAR_DEG:
            apart[n] = f"{off:+.1f}° is a whole turn off: fired on the exhaust stroke, or dialled past the mark"
            mistakes.append("a turn off")
        elif steps and every >= 4.0 * _NEAR_DEG and abs(off - steps * every) <= _NEAR_DEG:
            where = "the light was on another cylinder's lead"
            if one.cylinder:
                where = f"though the light was on cylinder {first}: coils changed over, or firing order"
            apart[n] = f"{off:+.1f}° is {abs(steps)} × {every:g}°: {where}"
            mistakes.append("a light on another cylinder")
        elif one.stroke == "exhaust" and not wasted_spark:  # which fires on that stroke as well
            apart[n] = "the spark came on the exhaust stroke: 360° off, and the mark alone cannot show it"
            mistakes.append("a turn off")
    return apart, tuple(dict.fromkeys(mistakes))


def _doubled(readings: Sequence[TimingReading], apart: dict[int, str]) -> float:
    """1, 2 or a half: how seen goes with commanded, where commanded was changed by ten degrees or more."""
    kept = [one for n, one in enumerate(readings) if n not in apart]
    asked = np.array([one.commanded_deg for one in kept])
    if len(kept) < _LEAST or float(np.ptp(asked)) < 10.0:
        return 1.0
    matrix = np.column_stack([np.ones(len(kept)), [one.rpm for one in kept], asked])
    if np.linalg.matrix_rank(matrix) == 3 and len(kept) > 3:
        slope = float(np.linalg.lstsq(matrix, np.array([one.seen_deg for one in kept]), rcond=None)[0][2])
    else:
        slope = float(np.polyfit(asked, [one.seen_deg for one in kept], 1)[0])
    return min((1.0, 2.0, 0.5), key=lambda gain: abs(slope - gain)) if abs(slope - 1.0) > 0.3 else 1.0


def _without_lonely(readings: Sequence[TimingReading], left: list[int]) -> tuple[list[int], dict[int, str]]:
    """Readings less those that no line fits, one by one, the worst first; never more than a quarter of them."""
    gone: dict[int, str] = {}
    from scipy.special import stdtrit  # here: a quarter of a second that few questions need

    most = len(left) // 4
    while len(left) >= 5 and len(gone) < most:
        x = np.array([readings[n].rpm for n in left])
        y = np.array([_difference(readings[n]) for n in left])
        matrix = np.column_stack([np.ones(len(x)), x])
        hat = np.einsum("ij,ji->i", matrix, np.linalg.pinv(matrix))
        rest = y - matrix @ np.linalg.lstsq(matrix, y, rcond=None)[0]
        free = len(x) - 3
        alone = (float(rest @ rest) - rest**2 / np.maximum(1.0 - hat, 1e-9)) / free
        score = np.abs(rest) / np.sqrt(np.maximum(alone, 1e-6) * np.maximum(1.0 - hat, 1e-9))
        worst = int(np.argmax(score))
        if score[worst] <= stdtrit(free, 1.0 - _LONELY / (2.0 * len(x))) or abs(rest[worst]) < _ALLOWED_DEG:
            break
        off = rest[worst] / max(1.0 - hat[worst], 1e-9)
        gone[left[worst]] = f"it lies {off:+.1f}° from the line through the others: read it again"
        left = [n for n in left if n != left[worst]]
    return left, gone


def _fitted(
    readings: Sequence[TimingReading],
    left: list[int],
    apart: dict[int, str],
    mistakes: tuple[str, ...],
    teeth: int,
    wasted_spark: bool,
) -> Timing:
    x = np.array([readings[n].rpm for n in left])
    y = np.array([_difference(readings[n]) for n in left])
    about = float(np.sum((x - x.mean()) ** 2))
    slope = float(np.sum((x - x.mean()) * (y - y.mean()))) / about
    begin = float(y.mean()) - slope * float(x.mean())
    free = len(x) - 2
    spread = sqrt(float(np.sum((y - begin - slope * x) ** 2)) / free)
    reach = reach_deg(spread, free)
    begin_within = reach * sqrt(1.0 / len(x) + float(x.mean()) ** 2 / about)
    slope_within = reach / sqrt(about)
    offset = Interval(value=begin, low=begin - begin_within, high=begin + begin_within, unit="°")
    to_us = -_US / _DEG_PER_RPM_S
    us, us_within = slope * to_us, slope_within * abs(to_us)
    delay = Interval(value=us, low=us - us_within, high=us + us_within, unit="µs")
    worst = float(np.max(np.abs(y)))
    says, more = _advice(offset, delay, worst, float(x.max()), teeth)
    first = danger_of(float(y.max() if y.max() >= DANGER_DEG else y[x.argmin()]))
    says = first if abs(begin) >= NO_ENGINE_DEG else (*first, *scatter_of(spread), *says)
    asked = {readings[n].commanded_deg for n in left}
    if wasted_spark and len(asked) == 1 and abs(begin) > _NEAR_DEG and abs(begin - asked.pop()) < 2.0:
        told = (
            "It reads twice what is commanded, and only one angle was commanded: a dial-back light on wasted spark "
            "would too. Command another angle and read again before anything is corrected."
        )
        says, more = (told,), (*more, "perhaps a light that reads twice")
    return Timing(
        offset=offset,
        delay=delay,
        spread_deg=spread,
        used=len(left),
        apart=_set_apart(readings, apart),
        says=says,
        is_true=worst <= _ALLOWED_DEG and not apart,
        mistakes=(*mistakes, *more),
    )


def _advice(
    offset: Interval, delay: Interval, worst: float, most_rpm: float, teeth: int
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    says, mistakes = whole_teeth(offset.value, max(_ALLOWED_DEG, 0.5 * (offset.high - offset.low)), teeth)
    if not says:
        says.append(_angle(offset))
    grown = abs(delay.value) * _DEG_PER_RPM_S * most_rpm / _US
    if delay.low > 0.0 and grown > 0.3:
        says.append(
            f"Correct the delay: the spark comes {delay.value:.0f} µs late ({delay.low:.0f} to {delay.high:.0f}), "
            f"{grown:.1f}° at {most_rpm:g}/min. Make the delay field larger by that."
        )
    elif delay.high < _FALSE_US and grown > 0.3:
        says.append(
            f"The spark gets earlier with speed, {grown:.1f}° by {most_rpm:g}/min: no delay does that. Look at the "
            "crank sensor's two leads (swapped: wrong edge), at the delay field (too large), at the light's own delay."
        )
        mistakes.append("earlier with speed")
    else:
        says.append(f"No delay can be told from none: {delay.low:.0f} to {delay.high:.0f} µs.")
    if worst <= _ALLOWED_DEG:
        says.append(f"Every reading lies within {_ALLOWED_DEG:g}°; the worst is {worst:.1f}° off.")
    return tuple(says), tuple(mistakes)


def _angle(offset: Interval) -> str:
    """What is to be done to the trigger's angle."""
    span = f"{offset.low:+.1f} to {offset.high:+.1f}"
    if (offset.low > 0.0 or offset.high < 0.0) and abs(offset.value) > 0.3:
        return (
            f"Correct the trigger's angle by {-offset.value:+.1f}° of advance ({span} is what it is off): the spark "
            f"must come {abs(offset.value):.1f}° {way_of(offset.value)}. Read again: if the difference has doubled, "
            "the field counts the other way."
        )
    if offset.high - offset.low > 2.0 * _CRANKING_DEG:
        return (
            f"How far the trigger's angle is off cannot be told from these readings: {offset.value:+.1f}°, {span}. "
            "Read more speeds, further apart."
        )
    return f"The trigger's angle is right: {offset.value:+.2f}°, {offset.low:+.2f} to {offset.high:+.2f}."


def _few(left: Sequence[TimingReading], teeth: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What one or two readings, or readings of one speed, tell; which is all there is before the first start."""
    mean = sum(_difference(one) for one in left) / len(left)
    at = max(one.rpm for one in left)
    more = "Then read three speeds or more, from idle to the highest that is safe: a delay shows only there."
    danger = danger_of(mean, turns=at > _CRANKING_RPM)
    said, mistakes = whole_teeth(mean, _ALLOWED_DEG, teeth)
    if said:
        return (*danger, *said, more), tuple(mistakes)
    seen = f"At {at:g}/min the spark is {mean:+.1f}° from what is commanded"
    if at > _CRANKING_RPM and abs(mean) < DANGER_DEG:
        few = "at one speed" if len({one.rpm for one in left}) < 2 else "by so few readings"
        return (f"{seen}: offset and delay cannot be parted {few}. {more}",), ()
    hidden = f"a delay of {_US_TYPICAL:g} µs would be {_DEG_PER_RPM_S * at * _US_TYPICAL / _US:.2f}° there"
    if abs(mean) <= _CRANKING_DEG:
        return (f"{seen}, near enough for the first start; {hidden}. {more}",), ()
    again = "at idle" if at > _CRANKING_RPM else "before the engine is started"
    told = (
        f"{seen}; {hidden}, so it is the trigger's angle. Correct it by {-mean:+.1f}° of advance, the spark must come "
        f"{abs(mean):.1f}° {way_of(mean)}, and read again {again}: if the difference has doubled, the field counts the "
        f"other way. {more}"
    )
    return (*danger, told), ()


def _without(
    readings: Sequence[TimingReading], apart: dict[int, str], says: tuple[str, ...], mistakes: tuple[str, ...]
) -> Timing:
    return Timing(
        offset=None,
        delay=None,
        spread_deg=0.0,
        used=0,
        apart=_set_apart(readings, apart),
        says=says,
        is_true=False,
        mistakes=mistakes,
    )


def _set_apart(readings: Sequence[TimingReading], apart: dict[int, str]) -> tuple[SetApart, ...]:
    return tuple(SetApart(number=n + 1, reading=readings[n], why=why) for n, why in sorted(apart.items()))
