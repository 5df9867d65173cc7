"""What does a sensor with a law of its own mean by its ohms, millivolts or pulses?

Platinum: R = R0 (1 + A t + B t^2), below nothing with C (t - 100) t^3 besides. Type K: the ITS-90 reference function;
the cold junction is added in millivolts, never in degrees. Alcohol: 50 Hz none, 150 Hz all alcohol; the pulse width is
the fuel's temperature, in a scale that the sensor's own sheet says.

Source: `iec-60751`, `nist-its-90`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import exp

import numpy as np

from loomwright.refusals import OutOfReach

__all__ = [
    "READ_BY_LAW",
    "Meant",
    "flex_fuel",
    "meant_by",
    "platinum_c",
    "platinum_ohm",
    "type_k_c",
    "type_k_mv",
]

_PT_A, _PT_B, _PT_C = 3.9083e-3, -5.775e-7, -4.183e-12
_K_UP = (
    *(-1.7600413686e-2, 3.8921204975e-2, 1.8558770032e-5, -9.9457592874e-8, 3.1840945719e-10),
    *(-5.6072844889e-13, 5.6075059059e-16, -3.2020720003e-19, 9.7151147152e-23, -1.2104721275e-26),
)
_K_BUMP = (0.1185976, -1.183432e-4, 126.9686)
_K_DOWN = (
    *(0.0, 3.9450128025e-2, 2.3622373598e-5, -3.2858906784e-7, -4.9904828777e-9, -6.7509059173e-11),
    *(-5.7410327428e-13, -3.1088872894e-15, -1.0451609365e-17, -1.9889266878e-20, -1.6322697486e-23),
)
_FLEX_HZ = (50.0, 150.0)
_PLATINUM_C = (-200.0, 850.0)
_PERCENT = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Meant:
    """What a reading means. what: in words. value: in the unit."""

    what: str
    value: float
    unit: str


def platinum_ohm(at_c: float, zero_ohm: float = 100.0) -> float:
    """Resistance of a platinum thermometer. [ohm]

    Args:
        at_c: temperature. [C]
        zero_ohm: at 0 degC. [ohm]
    Example:
        >>> round(platinum_ohm(100.0), 4)
        138.5055
    """
    below = _PT_C * (at_c - 100.0) * at_c**3 if at_c < 0.0 else 0.0
    return zero_ohm * (1.0 + _PT_A * at_c + _PT_B * at_c**2 + below)


def platinum_c(ohm: float, zero_ohm: float = 100.0) -> float:
    """Temperature of a platinum thermometer.

    Args:
        ohm: what is measured. [ohm]
        zero_ohm: at 0 degC. [ohm]
    Raises:
        OutOfReach: ohms that it has at no temperature from -200 to 850 degC.
    Example:
        >>> round(platinum_c(138.5055), 3)
        100.0
    """
    low, high = (platinum_ohm(end_c, zero_ohm) for end_c in _PLATINUM_C)
    if not (zero_ohm > 0.0 and low <= ohm <= high):
        raise OutOfReach("platinum thermometer", f"{ohm:g} Ω", f"{low:.4g} to {high:.4g} Ω, -200 to 850 °C")
    from scipy.optimize import brentq  # here: half a second that few questions need

    return float(brentq(lambda at: platinum_ohm(at, zero_ohm) - ohm, *_PLATINUM_C, xtol=1e-6))


def type_k_mv(at_c: float) -> float:
    """Millivolts of a type K thermocouple against 0 degC. [-]

    Args:
        at_c: temperature. [C]
    Raises:
        OutOfReach: outside -270 to 1372 degC.
    Example:
        >>> round(type_k_mv(100.0), 3)
        4.096
    """
    if not -270.0 <= at_c <= 1372.0:
        raise OutOfReach("thermocouple", f"{at_c:g} °C", "-270 to 1372 °C")
    if at_c < 0.0:
        return float(np.polynomial.polynomial.polyval(at_c, _K_DOWN))
    size, rate, about = _K_BUMP
    return float(np.polynomial.polynomial.polyval(at_c, _K_UP)) + size * exp(rate * (at_c - about) ** 2)


def type_k_c(mv: float, junction_c: float) -> float:
    """Temperature at a type K thermocouple; the cold junction is added in millivolts.

    Args:
        mv: what is measured. [-]
        junction_c: where the pair ends on copper. [C]
    Example:
        >>> round(type_k_c(28.0, 30.0), 2)
        701.77
    """
    wanted = mv + type_k_mv(junction_c)
    if not type_k_mv(-200.0) <= wanted <= type_k_mv(1372.0):
        raise OutOfReach("thermocouple", f"{mv:g} mV", "-200 to 1372 °C")
    from scipy.optimize import brentq  # here: half a second that few questions need

    return float(brentq(lambda at: type_k_mv(at) - wanted, -200.0, 1372.0, xtol=1e-6))


def flex_fuel(hz: float, pulse_ms: float, *, k_per_ms: float) -> tuple[float, float]:
    """Alcohol share and fuel temperature of a flexible-fuel sensor. [-]

    Args:
        hz: its frequency. [Hz]
        pulse_ms: its pulse width; 1 ms is -40 degC. [ms]
        k_per_ms: two scales are in print, 33.75 and 41.25: the sensor's sheet says which. [-]
    Raises:
        OutOfReach: a frequency no sound sensor gives.
    Example:
        >>> flex_fuel(135.0, 3.0, k_per_ms=41.25)
        (0.85, 42.5)
    """
    low, high = _FLEX_HZ
    if not low <= hz <= high:
        raise OutOfReach("flexible-fuel sensor", f"{hz:g} Hz", f"{low:g} to {high:g} Hz; about 170: its fault")
    return (hz - low) / (high - low), -40.0 + (pulse_ms - 1.0) * k_per_ms


def meant_by(read: Mapping[str, float]) -> tuple[Meant, ...]:
    """What one reading means, by the law that goes with its names.

    Args:
        read: the names of one of `READ_BY_LAW` and their figures; those in its second list may be left out. [-]
    Raises:
        OutOfReach: no law goes with these names, or the law has no such reading.
    Example:
        >>> [(one.what, round(one.value, 1), one.unit) for one in meant_by({"type_k_mv": 28.0, "junction_c": 30.0})]
        [('thermocouple', 701.8, '°C')]
    """
    for (needed, more), law in _LAWS.items():
        if set(needed) <= set(read) <= {*needed, *more}:
            return law(read)
    known = "; ".join(" ".join([*needed, *(f"({name})" for name in more)]) for needed, more in READ_BY_LAW)
    raise OutOfReach("reading", " ".join(read) or "nothing", known)


def _of_platinum(read: Mapping[str, float]) -> tuple[Meant, ...]:
    at_c = platinum_c(read["platinum_ohm"], read.get("zero_ohm", 100.0))
    return (Meant(what="platinum thermometer", value=at_c, unit="°C"),)


def _of_type_k(read: Mapping[str, float]) -> tuple[Meant, ...]:
    at_c = type_k_c(read["type_k_mv"], read["junction_c"])
    return (Meant(what="thermocouple", value=at_c, unit="°C"),)


def _of_flex_fuel(read: Mapping[str, float]) -> tuple[Meant, ...]:
    share, fuel_c = flex_fuel(read["flex_hz"], read["flex_ms"], k_per_ms=read["k_per_ms"])
    return (
        Meant(what="alcohol in the fuel", value=share * _PERCENT, unit="%"),
        Meant(what="temperature of the fuel", value=fuel_c, unit="°C"),
    )


_Law = Callable[[Mapping[str, float]], tuple[Meant, ...]]
_LAWS: Mapping[tuple[tuple[str, ...], tuple[str, ...]], _Law] = {
    (("platinum_ohm",), ("zero_ohm",)): _of_platinum,
    (("type_k_mv", "junction_c"), ()): _of_type_k,
    (("flex_hz", "flex_ms", "k_per_ms"), ()): _of_flex_fuel,
}
READ_BY_LAW = tuple(_LAWS)
"""The names of each law's readings: those it needs, those it takes."""
