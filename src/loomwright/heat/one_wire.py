"""How warm does a current make one wire in still air, and what may it carry?

In: wires as resistance and two diameters (`WireBodies`), many at once; what is round them. Out: copper temperatures for
currents, or currents for a copper temperature. Per metre:

    I^2 R(T_c) = (T_c - T_s) / Theta = lost(T_s),   R(T) = R20 (234.5 + T) / 254.5,   Theta = ln(D/d) / (2 pi k_i)

Since R goes in a straight line with T, the heat is known from the surface alone,
q(T_s) = a (234.5 + T_s) / (1 - a Theta), a = I^2 R20 / 254.5, and T_s is where that equals what is lost. With
a Theta >= 1, or where no surface below the melting of copper loses so much, the wire does not settle: `inf`.

Limits: one level wire, nothing touching it; see `still_air`. The tables of the trade lie below it, by an amount that
goes with the size: a wire of a job is judged by the table (`tables.ampacity`), this says how warm it really gets.
Source: the balance is worked out; figures in `still_air` and `constants.csv`. Diameters: ISO 6722, from memory.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.heat.still_air import Around, Floats, lost_w_per_m
from loomwright.refusals import OutOfReach
from loomwright.tables.conductors import conductor_mm, ohm_per_m_20c, outside_mm
from loomwright.tables.constants import constant

__all__ = ["MELT_C", "WireBodies", "bodies_of", "carries_a", "root_between", "settled_c", "surface_of_c"]

MELT_C = 1083.0
"""Copper melts. [C]"""

_AT_C = 20.0
_KILO = 1000.0
_ROUNDS = 60
_NEAR = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WireBodies:
    """Wires as far as heat goes, one figure a wire.

    r20_ohm_per_m: at 20 degC. [ohm/m]   copper_mm2: metal in them. [mm2]
    conductor_mm, outside_mm: over the strands, over the insulation. [mm]
    """

    r20_ohm_per_m: Floats
    copper_mm2: Floats
    conductor_mm: Floats
    outside_mm: Floats

    @property
    def wall_k_m_per_w(self) -> Floats:
        """What a watt a metre makes of difference across the insulation. [K m/W]"""
        walls = np.log(self.outside_mm / self.conductor_mm)
        return np.asarray(walls / (2.0 * np.pi * constant("insulation_w_per_m_k")))

    @property
    def heat_j_per_m_k(self) -> Floats:
        """Heat held by copper and insulation. [J/m K]"""
        plastic_mm2 = np.pi / 4.0 * (self.outside_mm**2 - self.conductor_mm**2)
        copper = constant("copper_heat_j_per_mm3_k") * self.copper_mm2
        return np.asarray((copper + constant("insulation_heat_j_per_mm3_k") * plastic_mm2) * _KILO)

    def ohm_per_m(self, copper_c: Floats) -> Floats:
        """Resistance at working temperature.

        Args:
            copper_c: of the copper. [C]
        """
        zero = constant("copper_zero_k")
        return np.asarray(self.r20_ohm_per_m * (zero + copper_c) / (zero + _AT_C))


def bodies_of(sizes_mm2: Sequence[float], wall: str = "thin", gauge: str = "metric") -> WireBodies:
    """Road-vehicle wires of some sizes.

    Args:
        sizes_mm2: nominal areas. [mm2]
        wall: thin or thick.
        gauge: whose resistance: metric, awg or road.
    Raises:
        OutOfReach: a size outside 0.35 to 70 mm2, another wall or gauge.
    """
    known = {size: (ohm_per_m_20c(size, gauge), conductor_mm(size), outside_mm(size, wall)) for size in {*sizes_mm2}}
    rows = np.array([known[size] for size in sizes_mm2], dtype=np.float64).reshape(-1, 3)
    return WireBodies(
        r20_ohm_per_m=rows[:, 0],
        copper_mm2=np.array(sizes_mm2, dtype=np.float64),
        conductor_mm=rows[:, 1],
        outside_mm=rows[:, 2],
    )


def settled_c(amps: Floats, bodies: WireBodies, around: Around) -> Floats:
    """Temperature of the copper once it no longer rises; `inf` where it never settles below melting. [C]

    Args:
        amps: through each wire, steady.
        bodies: the wires.
        around: them.
    Example:
        >>> at_c = settled_c(np.array([20.0]), bodies_of([1.5], gauge="road"), Around(ambient_c=40.0))
        >>> round(float(at_c[0]), 1)
        76.9
    """
    zero, theta = constant("copper_zero_k"), bodies.wall_k_m_per_w
    a = amps**2 * bodies.r20_ohm_per_m / (zero + _AT_C)
    holds = 1.0 - a * theta
    per_k = np.divide(a, holds, out=np.full_like(holds, np.inf), where=holds > 0.0)
    alive = np.isfinite(per_k)
    per_k = np.where(alive, per_k, 0.0)

    def beyond(surface_c: Floats) -> Floats:
        return lost_w_per_m(surface_c, bodies.outside_mm, around) - per_k * (zero + surface_c)

    low = np.full_like(a, around.ambient_c)
    surface_c, found = root_between(beyond, low, _no_cooler_c(per_k, bodies, around))
    copper_c = surface_c + theta * per_k * (zero + surface_c)
    return np.where(alive & found & (copper_c <= MELT_C), copper_c, np.inf)


def carries_a(copper_c: float, bodies: WireBodies, around: Around) -> Floats:
    """The current that keeps the copper at a temperature; nothing where the air is as hot.

    Args:
        copper_c: of the copper. [C]
        bodies: the wires.
        around: them.
    Raises:
        OutOfReach: hotter than copper melts.
    Example:
        >>> round(float(carries_a(105.0, bodies_of([2.5], gauge="road"), Around(ambient_c=60.0))[0]), 1)
        30.8
    """
    if not copper_c <= MELT_C:
        raise OutOfReach("copper_c", copper_c, f"{MELT_C:g} or less")
    if copper_c <= around.ambient_c:
        return np.zeros_like(bodies.outside_mm)
    at = np.full_like(bodies.outside_mm, copper_c)
    lost = lost_w_per_m(surface_of_c(at, bodies, around), bodies.outside_mm, around)
    return np.asarray(np.sqrt(lost / bodies.ohm_per_m(at)))


def surface_of_c(copper_c: Floats, bodies: WireBodies, around: Around) -> Floats:
    """Temperature of the jacket over copper that is warm. [C]

    Args:
        copper_c: of the copper, at the ambient or above. [C]
        bodies: the wires.
        around: them.
    """
    theta = bodies.wall_k_m_per_w

    def beyond(surface_c: Floats) -> Floats:
        return lost_w_per_m(surface_c, bodies.outside_mm, around) * theta - (copper_c - surface_c)

    return root_between(beyond, np.full_like(copper_c, around.ambient_c), copper_c)[0]


def _no_cooler_c(per_k: Floats, bodies: WireBodies, around: Around) -> Floats:
    """A bound above the surface that settles: by the least that leaves it for each degree. [C]

    Nu rises with Ra and radiation with the surface, so a thousandth of a degree loses the least for each degree.
    """
    ambient = around.ambient_c
    one_k = lost_w_per_m(np.full_like(per_k, ambient + 1e-3), bodies.outside_mm, around) * _KILO
    spare = 0.9 * one_k - per_k
    above = per_k * (constant("copper_zero_k") + ambient) / np.where(spare > 0.0, spare, 1.0)
    return np.where(spare > 0.0, np.minimum(ambient + above + 1.0, MELT_C), MELT_C)


def root_between(of: Callable[[Floats], Floats], low: Floats, high: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """Where a rising function crosses nothing, between two bounds, for many at once; and whether it does at all.

    Straight lines through the two bounds (regula falsi, the Illinois way), every fifth step a halving.

    Args:
        of: the function, of an array.
        low: where it is below nothing or nothing. [-]
        high: where it is above, else there is no answer. [-]
    """
    low, high = low.copy(), high.copy()
    f_low, f_high = of(low), of(high)
    found = f_high >= 0.0
    at = high.copy()
    for round_ in range(_ROUNDS):
        half = (low + high) / 2.0
        spread = f_high - f_low
        line = high - f_high * (high - low) / np.where(spread > 0.0, spread, 1.0)
        at = half if round_ % 5 == 4 else np.where((line > low) & (line < high), line, half)
        f_at = of(at)
        under = f_at < 0.0
        # the bound that stays counts half, or it would stay for ever
        f_high = np.where(under, f_high / 2.0, f_at)
        f_low = np.where(under, f_at, f_low / 2.0)
        low, high = np.where(under, at, low), np.where(under, high, at)
        if float(np.max(np.minimum(high - low, np.abs(f_at)), initial=0.0)) < _NEAR:
            break
    return at, found
