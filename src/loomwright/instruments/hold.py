"""When does a reading stand still, and at what?

The meter is asked again and again. The last five figures are held against each other: they stand still where the most
and the least lie within a small band, and the middle one is the reading. Open stands still where all five are open.

    volts    0.02 V + 0.5 %        ohms    0.1 ohm + 1 %        amps    0.02 A + 1 %

Source: five figures and these bands, common practice, no source. A meter's own hold does the same.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import inf, isinf
from statistics import median

from loomwright.refusals import NoAnswer

__all__ = ["Held", "hold", "steady"]

_LAST = 5
_BANDS: Mapping[str, tuple[float, float]] = {"V": (0.02, 0.005), "ohm": (0.1, 0.01), "A": (0.02, 0.01)}
_APART_S = 0.2

Tell = Callable[[float, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A reading that stood still. value: in `unit`; infinite where it is open.   asked: times the meter was. [-]"""

    value: float
    unit: str
    asked: int

    @property
    def text(self) -> str:
        """The figure as a sheet has it: `open` where no current flows."""
        return "open" if isinf(self.value) else f"{self.value:.6g}"


def steady(shown: Sequence[float], unit: str) -> float | None:
    """The reading, None as long as it does not stand still.

    Args:
        shown: everything the meter has shown so far, oldest first.
        unit: `V`, `ohm` or `A`.
    Example:
        >>> steady([3.0, 12.41, 12.40, 12.42, 12.41, 12.41], "V"), steady([3.0, 12.4, 12.4, 12.4, 12.4], "V")
        (12.41, None)
    """
    last = shown[-_LAST:]
    if len(last) < _LAST:
        return None
    if any(isinf(one) for one in last):
        return inf if all(isinf(one) for one in last) else None
    middle = median(last)
    least, share = _BANDS[unit]
    return middle if max(last) - min(last) <= least + share * abs(middle) else None


def hold(
    ask: Callable[[], float],
    unit: str,
    *,
    clock: Callable[[], float],
    wait: Callable[[float], None],
    patience_s: float = 30.0,
    tell: Tell | None = None,
) -> Held:
    """The reading once it stands still.

    Args:
        ask: gives one figure of the meter; may raise NoAnswer where the meter is gone.
        unit: `V`, `ohm` or `A`.
        clock: seconds that go by. [s]
        wait: lets some go by. [s]
        patience_s: longer than this nobody stands there. [s]
        tell: called with each figure and how often the meter was asked; may raise Stopped.
    Raises:
        NoAnswer: it never stood still, or the meter went away; says what was shown until then.
    """
    shown: list[float] = []
    until_s = clock() + patience_s
    while True:
        try:
            shown.append(ask())
        except NoAnswer as gone:
            raise NoAnswer(gone.question, (*gone.reasons, *_last(shown, unit))) from gone
        if tell is not None:
            tell(shown[-1], len(shown))
        value = steady(shown, unit)
        if value is not None:
            return Held(value=value, unit=unit, asked=len(shown))
        if clock() >= until_s:
            raise NoAnswer("a reading that stands still", _restless(shown, unit, patience_s))
        wait(_APART_S)


def _last(shown: Sequence[float], unit: str) -> tuple[str, ...]:
    return (f"It last showed {_figure(shown[-1], unit)}, which had not stood still yet.",) if shown else ()


def _restless(shown: Sequence[float], unit: str, patience_s: float) -> tuple[str, ...]:
    least, most = _figure(min(shown), unit), _figure(max(shown), unit)
    return (
        f"Between {least} and {most} over {patience_s:.0f} s.",
        "Press both probes on bare metal and take it again. Does it still wander? A joint is loose, or the car pulses.",
        "Or type the figure the display settles round.",
    )


def _figure(value: float, unit: str) -> str:
    return "open" if isinf(value) else f"{value:.5g} {unit}"
