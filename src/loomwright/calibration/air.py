"""How dense is the air today, and by what is a power corrected to another day?

Vapour pressure after Magnus: 6.112 exp(17.62 t / (243.12 + t)) hPa. Moist air: rho = (p_dry/287.05 + e/461.5) / T.
Corrections of power: SAE J1349 (1990), ISO 1585 for spark ignition, DIN 70020 and the older "STD".

Source: the formulas as they are quoted; none of the standards was read, so a printed power names the formula beside it.
Outside 0.93 to 1.07 the standards themselves do not correct (from memory). Not for boosted engines whose boost is held.
"""

from __future__ import annotations

from math import exp, sqrt

from loomwright.calibration.charge import KELVIN
from loomwright.refusals import OutOfReach
from loomwright.tables.start_figures import figure

__all__ = ["CORRECTIONS", "moist_kg_per_m3", "power_factor", "vapour_kpa"]

CORRECTIONS = ("SAE J1349", "ISO 1585", "DIN 70020", "STD")
"""The corrections there are."""
_HPA = 10.0
_ROUND_KELVIN = 273.0
_INHG_HPA = 33.8639


def vapour_kpa(air_c: float, humidity_frac: float) -> float:
    """Pressure of the water vapour in the air.

    Args:
        air_c: its temperature. [C]
        humidity_frac: relative humidity. [0..1]
    Example:
        >>> round(vapour_kpa(20.0, 0.5), 4)
        1.1663
    """
    if not (-60.0 <= air_c <= 60.0 and 0.0 <= humidity_frac <= 1.0):
        raise OutOfReach("air", f"{air_c:g} °C, humidity {humidity_frac:g}", "-60 to 60 °C, 0 to 1")
    return humidity_frac * 6.112 * exp(17.62 * air_c / (243.12 + air_c)) / _HPA


def moist_kg_per_m3(baro_kpa: float, air_c: float, humidity_frac: float) -> float:
    """Density of moist air, in kg/m3. [-]

    Args:
        baro_kpa: pressure. [kPa]
        air_c: temperature. [C]
        humidity_frac: relative humidity. [0..1]
    Example:
        >>> round(moist_kg_per_m3(101.325, 20.0, 0.5), 4)
        1.1989
    """
    e = vapour_kpa(air_c, humidity_frac)
    dry = (baro_kpa - e) / figure("air_gas_constant") + e / figure("vapour_gas_constant")
    return dry * 1000.0 / (air_c + KELVIN)


def power_factor(code: str, baro_kpa: float, air_c: float, humidity_frac: float) -> float:
    """What a measured power is multiplied by. [-]

    Args:
        code: one of `CORRECTIONS`.
        baro_kpa: pressure of the air. [kPa]
        air_c: in the intake, not in the room. [C]
        humidity_frac: relative humidity. [0..1]
    Raises:
        OutOfReach: no such correction.
    Example:
        >>> round(power_factor("SAE J1349", 101.325, 20.0, 0.5), 5)
        0.97652
    """
    p = baro_kpa * _HPA
    dry = p - vapour_kpa(air_c, humidity_frac) * _HPA
    kelvin = air_c + _ROUND_KELVIN
    if code == "SAE J1349":
        return 1.180 * (990.0 / dry) * sqrt(kelvin / 298.0) - 0.18
    if code == "ISO 1585":
        return float((990.0 / dry) ** 1.2 * (kelvin / 298.0) ** 0.6)
    if code == "DIN 70020":
        return 1013.0 / p * sqrt(kelvin / 293.0)
    if code == "STD":
        fahrenheit = air_c * 1.8 + 32.0
        return 29.92 / (dry / _INHG_HPA) * sqrt((fahrenheit + 460.0) / 520.0)
    raise OutOfReach("correction", code, ", ".join(CORRECTIONS))
