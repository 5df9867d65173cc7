"""What does a sensor mean by what is read of it, and do all of them say the same before the crank?

Senders and linear sensors go in straight lines from point to point, and are refused where the points turn back. Those
with a law of their own are in `sensor_laws`.

A car that has stood overnight is one temperature throughout, and its manifold is open to the air: before the first
crank each sensor has something to agree with. What does not is told, and no average is taken over it.

Source: `sheet-pressure-250`, `sheet-pressure-115`; the sanity limits are common practice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.refusals import BadDocument, OutOfReach, Problem
from loomwright.tables.start_figures import figure

__all__ = [
    "BeforeCrank",
    "ProbePair",
    "ProbeScale",
    "before_crank",
    "points_at",
    "probe_scale",
]

_SAME_K = 3.0
_BARO_KPA = 2.0
_SUPPLY_V = 0.1
_CLOSED_V = (0.3, 0.9)


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
