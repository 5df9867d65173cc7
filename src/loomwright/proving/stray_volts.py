"""How wide must a band be so that a sound car, every part of which is a little off, still lies in it?

In: the volts of some sound cars drawn within their tolerances, state by state and node by node. Out: three standard
deviations either way of their middle, and bands opened as far as that, with the meter's own stray on top:

    meter       0.5 % of what it shows, and 0.02 V; 0.002 V where it reads millivolts, over an earth

Source: a hand meter of the trade: common practice, no source; typical.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["StrayVolts", "stray_volts"]

Numbers = NDArray[np.float64]

_METER_FRAC = 0.005
_METER_V, _METER_FINE_V = 0.02, 0.002
_LEAST_BATTERY_V = 1.0
_SIGMAS = 3.0
"""How far a band is opened: a figure off by more is one in some hundreds: our choice [-]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrayVolts:
    """Between which volts sound cars lie. least_v, most_v: states x nodes. [V]"""

    least_v: Numbers
    most_v: Numbers

    def let_through(
        self, band_v: tuple[float, float], state: int, node: int, *, share: float = 1.0, fine: bool = False
    ) -> tuple[float, float]:
        """A band opened so far that all of them lie in it. [V]

        Args:
            band_v: least and most as they are without this. [V]
            state: in which of the states. [-]
            node: at which node. [-]
            share: the battery as it was measured, against the one it was solved with. [-]
            fine: an earth, read without its sign on a range of millivolts.
        Example:
            >>> strays = StrayVolts(least_v=np.array([[9.3]]), most_v=np.array([[10.4]]))
            >>> strays.let_through((9.4, 10.6), 0, 0)
            (9.234, 10.6)
        """
        ends = float(self.least_v[state, node]) * share, float(self.most_v[state, node]) * share
        if fine:
            ends = -max(map(abs, ends)), max(map(abs, ends))
        digits = _METER_FINE_V if fine else _METER_V
        stray_v = [digits + _METER_FRAC * abs(each) for each in ends]
        least, most = ends[0] - stray_v[0], ends[1] + stray_v[1]
        return round(min(band_v[0], least), 3), round(max(band_v[1], most), 3)


def stray_volts(cars: Iterable[Numbers], sound: Numbers, battery: int | None) -> StrayVolts:
    """Between which volts sound cars lie, each held against its own battery at rest.

    Args:
        cars: volts of each, states x nodes. [V]
        sound: the same with no figure off. [V]
        battery: the node of its live post, which is read first; none where there is no battery. [-]
    """
    count, total, squares = 0, np.zeros_like(sound), np.zeros_like(sound)
    for volts in cars:
        own_v = 0.0 if battery is None else float(volts[0, battery])
        held = volts if battery is None or abs(own_v) < _LEAST_BATTERY_V else volts * (sound[0, battery] / own_v)
        away = held - sound
        count, total, squares = count + 1, total + away, squares + away**2
    middle = total / max(1, count)
    wide = _SIGMAS * np.sqrt(np.maximum(squares / max(1, count) - middle**2, 0.0))
    return StrayVolts(least_v=np.minimum(sound, sound + middle - wide), most_v=np.maximum(sound, sound + middle + wide))
