"""How warm is a wire after a time: a load that has just come on, one that comes and goes, a short until its fuse opens?

    C dT/dt = I^2 R(T) - lost(T)

C: copper and, where there is time for it, insulation. lost(T): what leaves the jacket over copper of T, from
`one_wire`, tabulated once from the ambient to the melting of copper. Stepped by Runge and Kutta's fourth order, steps a
hundredth of the time constant or of the time asked, whichever is less; after twelve time constants it has settled.

A short's fuse opens long before the insulation has warmed through: there C is the copper's alone, which is hotter.
Limits: one level wire in still air; the air does not warm.
Source: worked out; figures in `constants.csv`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite

import numpy as np

from loomwright.heat.one_wire import MELT_C, WireBodies, settled_c, surface_of_c
from loomwright.heat.still_air import Around, Floats, lost_w_per_m
from loomwright.refusals import OutOfReach
from loomwright.tables.constants import constant

__all__ = ["Curve", "Warming", "warming_of"]

_TABLE = 96
_FEW, _MANY = 200, 20_000
_SETTLED = 12.0
_KILO = 1000.0
_CYCLES = 400
_SAME_K = 0.01


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curve:
    """A temperature as it goes. times_s: rising from nothing. [s]   copper_c: at each. [C]"""

    times_s: Floats
    copper_c: Floats

    @property
    def end_c(self) -> float:
        """At the end. [C]"""
        return float(self.copper_c[-1])

    def first_s(self, copper_c: float) -> float:
        """When it first reaches a temperature; `inf` where it does not. [s]

        Args:
            copper_c: of the copper. [C]
        """
        reached = np.flatnonzero(self.copper_c >= copper_c)
        if not len(reached):
            return inf
        at = int(reached[0])
        if at == 0:
            return float(self.times_s[0])
        return float(np.interp(copper_c, self.copper_c[at - 1 : at + 1], self.times_s[at - 1 : at + 1]))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Warming:
    """One wire that warms and cools. table_c, lost: what it loses at each copper temperature. [C], [W/m]

    heat_j_per_m_k, copper_j_per_m_k: held by all of it, by the copper alone. [J/m K]   tau_s: near the ambient. [s]
    """

    bodies: WireBodies
    around: Around
    table_c: Floats
    lost: Floats
    heat_j_per_m_k: float
    copper_j_per_m_k: float
    tau_s: float

    def settled_c(self, amps: float) -> float:
        """Where it settles at a steady current; `inf` where it does not. [C]"""
        return float(settled_c(np.array([amps]), self.bodies, self.around)[0])

    def curve(self, amps: float, *, time_s: float, start_c: float | None = None, copper_alone: bool = False) -> Curve:
        """How it warms under a current held for a time.

        Args:
            amps: held.
            time_s: how long. [s]
            start_c: of the copper before; the ambient where left out. [C]
            copper_alone: only the copper holds heat, as in a short.
        Raises:
            OutOfReach: no time at all, or for ever.
        """
        if not (time_s > 0.0 and isfinite(time_s)):
            raise OutOfReach("time_s", time_s, "more than nothing, and not for ever")
        begun_c = self.around.ambient_c if start_c is None else start_c
        held = self.copper_j_per_m_k if copper_alone else self.heat_j_per_m_k
        steps = min(_MANY, max(_FEW, int(100.0 * min(time_s, _SETTLED * self.tau_s) / self.tau_s)))
        times = np.linspace(0.0, min(time_s, _SETTLED * self.tau_s), steps + 1)
        copper = self._stepped(amps, begun_c, float(times[1]), steps, held)
        if time_s > times[-1]:
            times, copper = np.append(times, time_s), np.append(copper, min(self.settled_c(amps), MELT_C))
        return Curve(times_s=times, copper_c=copper)

    def peak_c(self, amps: float, *, on_s: float, off_s: float) -> float:
        """The most it reaches under a load that comes and goes for ever. [C]

        Args:
            amps: while on.
            on_s: how long it is on. [s]
            off_s: how long it is off. [s]
        Raises:
            OutOfReach: no time on, or less than none off.
        """
        if off_s < 0.0:
            raise OutOfReach("off_s", off_s, "nothing or more")
        begun_c = self.around.ambient_c
        # the mean heat tells where it ends up, and the swing is about that
        mean_c = self.settled_c(amps * (on_s / (on_s + off_s)) ** 0.5) if on_s > 0.0 else begun_c
        at_c = min(mean_c, MELT_C)
        top_c = at_c
        for _ in range(_CYCLES):
            was_c, top_c = top_c, self.curve(amps, time_s=on_s, start_c=at_c).end_c
            at_c = self.curve(0.0, time_s=off_s, start_c=top_c).end_c if off_s > 0.0 else top_c
            if abs(top_c - was_c) < _SAME_K:
                break
        return top_c

    def _stepped(self, amps: float, start_c: float, step_s: float, steps: int, held: float) -> Floats:
        zero = constant("copper_zero_k")
        a = amps**2 * float(self.bodies.r20_ohm_per_m[0]) / (zero + 20.0)
        first_c, spread = float(self.table_c[0]), float(self.table_c[1] - self.table_c[0])
        lost = self.lost.tolist()
        last = len(lost) - 2

        def rate(at_c: float) -> float:
            where = (at_c - first_c) / spread
            low = min(max(int(where), 0), last)
            gone = lost[low] + (lost[low + 1] - lost[low]) * (where - low)
            return float((a * (zero + at_c) - gone) / held)

        found = [start_c]
        at_c = start_c
        for _ in range(steps):
            k1 = rate(at_c)
            k2 = rate(at_c + step_s / 2.0 * k1)
            k3 = rate(at_c + step_s / 2.0 * k2)
            k4 = rate(at_c + step_s * k3)
            at_c = min(at_c + step_s / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4), MELT_C)
            found.append(at_c)
        return np.array(found)


def warming_of(body: WireBodies, around: Around) -> Warming:
    """One wire, made ready to be warmed.

    Args:
        body: one wire.
        around: it.
    Raises:
        OutOfReach: several wires, or none.
    Example:
        >>> from loomwright.heat.one_wire import bodies_of
        >>> wire = warming_of(bodies_of([2.5], gauge="road"), Around(ambient_c=60.0))
        >>> round(wire.curve(30.0, time_s=60.0).end_c), round(wire.settled_c(30.0))
        (84, 103)
    """
    if len(body.outside_mm) != 1:
        raise OutOfReach("wires", len(body.outside_mm), "1")
    table = np.linspace(around.ambient_c, MELT_C, 8 * _TABLE + 1)
    many = _repeated(body, len(table))
    lost = lost_w_per_m(surface_of_c(table, many, around), many.outside_mm, around)
    held = float(body.heat_j_per_m_k[0])
    copper = constant("copper_heat_j_per_mm3_k") * float(body.copper_mm2[0]) * _KILO
    # the slope some 25 K above the ambient, as a time constant is quoted
    near = int(np.searchsorted(table, around.ambient_c + 25.0))
    tau = held * (float(table[near]) - around.ambient_c) / float(lost[near])
    return Warming(
        bodies=body, around=around, table_c=table, lost=lost, heat_j_per_m_k=held, copper_j_per_m_k=copper, tau_s=tau
    )


def _repeated(body: WireBodies, times: int) -> WireBodies:
    return WireBodies(
        r20_ohm_per_m=np.repeat(body.r20_ohm_per_m, times),
        copper_mm2=np.repeat(body.copper_mm2, times),
        conductor_mm=np.repeat(body.conductor_mm, times),
        outside_mm=np.repeat(body.outside_mm, times),
    )
