"""What does a sensor mean by its volts, ohms, millivolts or pulses, and do all of them say the same before the crank?

Linear sensors go through two points, volts as a share of their supply where they are ratiometric. Senders with three
points go in straight lines from point to point, and are refused where the points turn back. Platinum: R = R0 (1 + A t +
B t^2). Type K: the ITS-90 reference function; the cold junction is added in millivolts, never in degrees. Alcohol:
50 Hz none, 150 Hz all alcohol; the pulse width is the fuel's temperature, in a scale that the sensor's own sheet says.

A car that has stood overnight is one temperature throughout, and its manifold is open to the air: before the first
crank each sensor has something to agree with. What does not is told, and no average is taken over it.

Source: `sheet-pressure-250`, `sheet-pressure-115`, `iec-60751`, `nist-its-90`; the sanity limits are common practice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp

import numpy as np

from loomwright.refusals import BadDocument, OutOfReach, Problem
from loomwright.tables.start_figures import figure

__all__ = [
    "BeforeCrank",
    "Linear",
    "ProbePair",
    "ProbeScale",
    "before_crank",
    "flex_fuel",
    "platinum_ohm",
    "points_at",
    "probe_scale",
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
_SAME_K = 3.0
_BARO_KPA = 2.0
_SUPPLY_V = 0.1
_CLOSED_V = (0.3, 0.9)
_FLEX_HZ = (50.0, 150.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Linear:
    """A straight line from volts to what it measures.

    low_v, high_v: at `low` and `high`.   ratio_v: its supply where the volts go with it; None where they do not.
    low, high: in the sensor's unit. [-]
    """

    low_v: float
    high_v: float
    low: float
    high: float
    ratio_v: float | None = None

    def reading(self, volts: float, supply_v: float | None = None) -> float:
        """What it measures at some volts; a ratiometric one goes by its measured supply. [-]"""
        if self.ratio_v is not None and supply_v is not None:
            volts = volts * self.ratio_v / supply_v
        return self.low + (volts - self.low_v) * (self.high - self.low) / (self.high_v - self.low_v)

    def volts(self, reading: float, supply_v: float | None = None) -> float:
        """Volts at something measured. [V]

        Args:
            reading: in the sensor's unit. [-]
            supply_v: its measured supply. [V]
        """
        at = self.low_v + (reading - self.low) * (self.high_v - self.low_v) / (self.high - self.low)
        return at * supply_v / self.ratio_v if self.ratio_v is not None and supply_v is not None else at


@dataclass(frozen=True, slots=True, kw_only=True)
class BeforeCrank:
    """Sensors with the key on and the engine never turned since it stood. None where there is no such sensor.

    hours: how long it stood.   air_c: by a thermometer.   baro_kpa: by a barometer.   battery_v: by a meter.
    """

    hours: float
    air_c: float
    coolant_sensor_c: float | None = None
    air_sensor_c: float | None = None
    manifold_kpa: float | None = None
    baro_kpa: float | None = None
    throttle_v: float | None = None
    controller_v: float | None = None
    battery_v: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ProbePair:
    """One moment.

    shown: lambda on the unit's own display. [-]   logged: lambda in the controller. [-]
    since_s: since its heater was on.
    """

    shown: float
    logged: float
    since_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ProbeScale:
    """How the controller's lambda lies to the display's: logged = begin + slope * shown.

    slope: as there. [-]
    verdict: `same`, `ground offset`, `wrong scale`, `both`, `not enough`.   apart: pairs not believed, each with why.
    begin: lambda at a shown lambda of nothing. [-]   offset: at the middle of what was shown. [-]
    """

    begin: float
    slope: float
    offset: float
    verdict: str
    says: str
    used: int
    apart: tuple[tuple[ProbePair, str], ...]


def points_at(points: Sequence[tuple[float, float]], at: float) -> float:
    """What a sender with three or more points measures, straight from point to point. [-]

    Args:
        points: what is read (ohms, volts) and what it means. [-]
        at: what is read. [-]
    Raises:
        BadDocument: points that turn back, so that one reading would mean two things.
        OutOfReach: beyond the outer points.
    Example:
        >>> round(points_at([(10.0, 0.0), (107.0, 5.0), (184.0, 10.0)], 60.0), 4)
        2.5773
    """
    rows = list(points)
    steps = np.diff([each for each, _ in rows])
    if len(rows) < 2 or not (np.all(steps > 0.0) or np.all(steps < 0.0)):
        found = ", ".join(f"{each:g}" for each, _ in rows)
        mend = "Measure them again in order; where it truly turns back, use the part that does not"
        allowed = "readings that only rise, or only fall"
        raise BadDocument((Problem(sheet="", row=None, column="points", found=found, allowed=allowed, mend=mend),))
    rows.sort()
    if not rows[0][0] <= at <= rows[-1][0]:
        raise OutOfReach("reading", at, f"{rows[0][0]:g} to {rows[-1][0]:g}, where its points lie")
    return float(np.interp(at, [each for each, _ in rows], [each for _, each in rows]))


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


def before_crank(read: BeforeCrank) -> tuple[str, ...]:
    """What does not agree before the first crank, each with what to look at; nothing where all do.

    Example:
        >>> before_crank(BeforeCrank(hours=12, air_c=18, coolant_sensor_c=19, manifold_kpa=100, baro_kpa=101))
        ()
    """
    says: list[str] = []
    soaked = read.hours >= 6.0
    for name, value in (("coolant", read.coolant_sensor_c), ("air", read.air_sensor_c)):
        if value is not None and soaked and abs(value - read.air_c) > _SAME_K:
            says.append(
                f"The {name} sensor says {value:g} °C, the thermometer {read.air_c:g} °C after {read.hours:g} h: "
                "wrong curve, wrong pull-up, or its earth also carries something else"
            )
    if read.manifold_kpa is not None and read.baro_kpa is not None:
        off = read.manifold_kpa - read.baro_kpa
        if abs(off) > _BARO_KPA:
            says.append(
                f"The manifold sensor says {read.manifold_kpa:g} kPa, the barometer {read.baro_kpa:g}: "
                f"{off:+.3g} kPa; wrong scaling, or its 5 V or earth is off"
            )
    if read.throttle_v is not None and not _CLOSED_V[0] <= read.throttle_v <= _CLOSED_V[1]:
        says.append(
            f"The closed throttle gives {read.throttle_v:g} V, usual is 0.3 to 0.9: ends swapped, or not at its stop"
        )
    if read.controller_v is not None and read.battery_v is not None:
        lost = read.battery_v - read.controller_v
        if abs(lost) > _SUPPLY_V:
            says.append(
                f"The controller sees {read.controller_v:g} V, the battery has {read.battery_v:g}: {lost:.2g} V lost "
                "in its feed or earth; measure both, since an earth that is up lifts every sensor with it"
            )
    if not soaked:
        says.append(f"It stood {read.hours:g} h: temperatures can be compared after 6 h or more, best overnight")
    return tuple(says)


def probe_scale(pairs: Sequence[ProbePair]) -> ProbeScale:
    """How a wideband's lambda in the controller lies to its own display: the same, an offset, or a wrong scale.

    Pairs from a cold cell, or outside what a cell can tell, are set apart and told; two mixtures at least are needed.

    Args:
        pairs: read at the same moment.
    """
    used: list[ProbePair] = []
    apart: list[tuple[ProbePair, str]] = []
    for one in pairs:
        if one.since_s < figure("probe_ready_s"):
            apart.append((one, f"{one.since_s:g} s after its heater came on: the cell was cold and told nothing"))
        elif not figure("probe_least_lambda") < one.shown < 4.0:
            apart.append((one, f"lambda {one.shown:g} is outside what a cell tells: free air, or not alive"))
        else:
            used.append(one)
    shown = np.array([one.shown for one in used])
    logged = np.array([one.logged for one in used])
    if len(used) < 2 or float(np.ptp(shown)) < 0.05:
        says = "Read both at two mixtures that differ by 0.05 or more, with the cell warm."
        return ProbeScale(
            begin=0.0, slope=1.0, offset=0.0, verdict="not enough", says=says, used=len(used), apart=tuple(apart)
        )
    slope, begin = (float(each) for each in np.polyfit(shown, logged, 1))
    offset = float(np.mean(logged - shown))
    is_steep = abs(slope - 1.0) > 0.02
    is_shifted = abs(offset) > 0.005
    verdict = {(False, False): "same", (False, True): "ground offset"}.get((is_steep, is_shifted), "wrong scale")
    says = {
        "same": "The controller logs what the display shows.",
        "ground offset": f"It logs {offset:+.3f} everywhere: two earths differ; join the probe's signal earth to the "
        "controller's sensor earth, or take the data line. Do not shift the table.",
        "wrong scale": f"It logs {slope:.3f} times what is shown and {begin:+.3f}: type in both ends of the scale "
        "from the unit's own sheet.",
    }[verdict]
    return ProbeScale(
        begin=begin, slope=slope, offset=offset, verdict=verdict, says=says, used=len(used), apart=tuple(apart)
    )
