"""How much heat leaves a metre of a warm round thing that lies level in still air?

    convection   q = pi Nu k (T_s - T_a),  Nu from Ra = g (T_s - T_a) D^3 / (T_f nu^2) Pr,  film at T_f = (T_s + T_a)/2
    radiation    q = pi D eps sigma (T_s^4 - T_a^4)

Air: mu = 1.458e-6 T^1.5 / (T + 110.4), k = 2.64638e-3 T^1.5 / (T + 245.4 10^(-12/T)), c_p = 1006, rho = p / 287.053 T.
Two laws of Nu, both published: Churchill and Chu, which is taken, and Morgan, which lets 4 to 8 % more current through
a vehicle wire. What lies between them is how well the model knows.

Limits: still air, a level wire that hangs free. Moving air cools more, a wire laid on a hot surface less. A wet surface
cools more, but nobody can count on the water: every wire is taken to be dry.
Source: ht-library (Morgan 1975; Churchill and Chu 1975); air: the standard atmosphere's formulas, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from loomwright.refusals import OutOfReach
from loomwright.tables.constants import constant

__all__ = ["Around", "Floats", "Law", "film", "lost_w_per_m", "nusselt", "pressure_kpa_at"]

Floats = NDArray[np.float64]
Law = Literal["churchill_chu", "morgan"]

ZERO_K = 273.15
"""Nought degrees Celsius. [K]"""

_G = 9.80665
_GAS = 287.053
_HEAT = 1006.0
_KILO = 1000.0
_SEA_KPA = 101.325
_HIGHEST_M = 20_000.0
_MORGAN = ((1e-2, 0.675, 0.058), (1e2, 1.02, 0.148), (1e4, 0.850, 0.188), (1e7, 0.480, 0.250), (np.inf, 0.125, 0.333))


@dataclass(frozen=True, slots=True, kw_only=True)
class Around:
    """What is round a wire.

    ambient_c: of the air. [C]   law: of convection.   pressure_kpa: of the air. [kPa]
    emissivity_frac: of the surface; None = the usual plastic. [0..1]
    """

    ambient_c: float
    law: Law = "churchill_chu"
    pressure_kpa: float = _SEA_KPA
    emissivity_frac: float | None = None

    def __post_init__(self) -> None:
        if not -60.0 <= self.ambient_c <= 300.0:
            raise OutOfReach("ambient_c", self.ambient_c, "-60 to 300")
        if not 1.0 <= self.pressure_kpa <= 200.0:
            raise OutOfReach("pressure_kpa", self.pressure_kpa, "1 to 200")
        if self.law not in ("churchill_chu", "morgan"):
            raise OutOfReach("law", self.law, "churchill_chu morgan")


def pressure_kpa_at(altitude_m: float) -> float:
    """Pressure of the standard atmosphere at a height. [kPa]

    Args:
        altitude_m: above the sea. [m]
    Raises:
        OutOfReach: below -500 m or above 20 km.
    Source:
        ISO 2533, from memory: 288.15 K less 6.5 K a kilometre up to 11 km, 216.65 K above.
    Example:
        >>> round(pressure_kpa_at(0.0), 3), round(pressure_kpa_at(3000.0), 2)
        (101.325, 70.11)
    """
    if not -500.0 <= altitude_m <= _HIGHEST_M:
        raise OutOfReach("altitude_m", altitude_m, f"-500 to {_HIGHEST_M:g}")
    low_m = min(altitude_m, 11_000.0)
    low_kpa = _SEA_KPA * (1.0 - 0.0065 * low_m / 288.15) ** (_G / (0.0065 * _GAS))
    return float(low_kpa * np.exp(-_G * (altitude_m - low_m) / (_GAS * 216.65)))


def film(film_c: Floats, pressure_kpa: float) -> tuple[Floats, Floats, Floats, Floats]:
    """Viscosity [Pa s], heat conducted [W/m K], density [kg/m3] and Prandtl number [-] of air.

    Args:
        film_c: its temperature. [C]
        pressure_kpa: its pressure. [kPa]
    Example:
        >>> mu, k, rho, prandtl = film(np.array([26.85]), 101.325)
        >>> round(float(mu[0]) * 1e5, 4), round(float(k[0]), 6), round(float(rho[0]), 4), round(float(prandtl[0]), 4)
        (1.846, 0.026252, 1.1766, 0.7074)
    """
    t = film_c + ZERO_K
    root = t * np.sqrt(t)
    mu = 1.458e-6 * root / (t + 110.4)
    k = 2.64638e-3 * root / (t + 245.4 * np.exp(-12.0 * np.log(10.0) / t))
    rho = pressure_kpa * _KILO / (_GAS * t)
    return mu, k, rho, mu * _HEAT / k


def nusselt(rayleigh: Floats, prandtl: Floats, law: Law) -> Floats:
    """Nusselt number of a level cylinder in still air. [-]

    Args:
        rayleigh: Rayleigh number. [-]
        prandtl: Prandtl number. [-]
        law: whose.
    Source:
        ht-library: Morgan 1975 in five ranges; Churchill and Chu 1975.
    Example:
        >>> ra, prandtl = np.array([0.69 * 2.63e9]), np.array([0.69])
        >>> [round(float(nusselt(ra, prandtl, law)[0]), 3) for law in ("morgan", "churchill_chu")]
        [151.388, 139.135]
    """
    if law == "morgan":
        factors = np.searchsorted([row[0] for row in _MORGAN[:-1]], rayleigh, side="right")
        c, n = np.array([row[1] for row in _MORGAN])[factors], np.array([row[2] for row in _MORGAN])[factors]
        return np.asarray(c * rayleigh**n)
    sixth = np.sqrt(np.cbrt(rayleigh))
    return np.asarray((0.60 + 0.387 * sixth / np.exp(8 / 27 * np.log1p((0.559 / prandtl) ** (9 / 16)))) ** 2)


def lost_w_per_m(surface_c: Floats, outside_mm: Floats, around: Around) -> Floats:
    """Heat that leaves a metre of a round thing. [W/m]

    Args:
        surface_c: its surface, at the ambient or above. [C]
        outside_mm: its outside diameter. [mm]
        around: the air.
    """
    d = outside_mm / _KILO
    ambient = around.ambient_c
    above = np.maximum(surface_c - ambient, 0.0)
    mu, k, rho, prandtl = film((surface_c + ambient) / 2.0, around.pressure_kpa)
    speed = rho / mu
    rayleigh = _G * above * d * d * d * speed * speed / ((surface_c + ambient) / 2.0 + ZERO_K) * prandtl
    convected = np.pi * nusselt(np.maximum(rayleigh, 1e-12), prandtl, around.law) * k
    given = around.emissivity_frac
    emissivity = constant("emissivity") if given is None else given
    warm2, cold2 = (surface_c + ZERO_K) ** 2, (ambient + ZERO_K) ** 2
    sigma = constant("stefan_boltzmann_w_per_m2_k4")
    radiated = np.pi * d * emissivity * sigma * (warm2 - cold2) * (warm2 + cold2)
    return np.asarray(convected * above + radiated)
