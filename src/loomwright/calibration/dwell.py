"""How long must an ignition coil be charged at which volts, and is there time for it?

i(t) = (V - Vd)/R (1 - e^(-t R/L)), so t = -(L/R) ln(1 - I R / (V - Vd)) and the energy is L I^2 / 2. Vd is what the
driver keeps, R the coil with its wires. Where I R is not less than V - Vd the current is never reached: then there is
no dwell at those volts, and none is made up. What the controller sees and what the coil gets differ by the wires
between: the solved network says by how much.

Source: the circuit of an inductance; driver drops and the time a spark needs from `start_figures.csv`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, isfinite

from loomwright.calibration.injector import charging_s
from loomwright.refusals import OutOfReach
from loomwright.tables.start_figures import figure

__all__ = ["CHARGES", "Dwell", "charged_a", "dwell_ms", "dwell_rows", "energy_mj"]

CHARGES: Mapping[str, int | None] = {"one a cylinder": 1, "one a pair": 2, "one for all": None}
"""How coils are shared -> charges of one coil in two turns; None: one for every cylinder, behind a distributor."""
_MS = 1000.0
_CYCLE_MS_RPM = 120_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Dwell:
    """Dwell at some volts. supply_v: at the controller.   coil_v: at the coil, its driver's drop taken off.

    dwell_ms: None where the current is never reached.   most_rpm: speed up to which there is time for it; None: none.
    """

    supply_v: float
    coil_v: float
    dwell_ms: float | None
    most_rpm: float | None


def dwell_ms(coil_v: float, *, mh: float, ohm: float, peak_a: float) -> float | None:
    """Charging time of a coil, None where its current is never reached. [ms]

    Args:
        coil_v: across coil and wires, the driver's drop taken off. [V]
        mh: inductance. [mH]
        ohm: resistance, the wires' with it. [ohm]
        peak_a: current wanted at the end. [A]
    Example:
        >>> round(dwell_ms(10.0, mh=3.0, ohm=0.5, peak_a=7.0), 4), dwell_ms(6.5, mh=6.0, ohm=1.4, peak_a=5.5)
        (2.5847, None)
    """
    if not (mh > 0.0 and ohm >= 0.0 and peak_a > 0.0):
        raise OutOfReach("coil", f"{mh:g} mH, {ohm:g} Ω, {peak_a:g} A", "above nothing")
    seconds = charging_s(coil_v, mh, ohm, peak_a)
    return seconds * _MS if isfinite(seconds) else None


def charged_a(coil_v: float, rpm: float, *, mh: float, ohm: float, charges: int) -> float:
    """Current a coil comes to in the time there is at a speed, what its spark needs taken off. [A]

    i = V/R (1 - e^(-t R/L)), V t / L without resistance.

    Args:
        coil_v: across coil and wires, the driver's drop taken off. [V]
        rpm: of the engine. [rpm]
        mh: inductance. [mH]
        ohm: resistance, the wires' with it. [ohm]
        charges: of the coil in two turns. [-]
    Example:
        >>> round(charged_a(12.5, 5200.0, mh=6.0, ohm=0.8, charges=8), 2)
        2.63
    """
    time_ms = max(_CYCLE_MS_RPM / (charges * rpm) - figure("spark_time_ms"), 0.0)
    if ohm == 0.0:
        return max(coil_v, 0.0) * time_ms / mh
    return max(coil_v, 0.0) / ohm * (1.0 - exp(-time_ms * ohm / mh))


def energy_mj(mh: float, peak_a: float) -> float:
    """Energy of a charged coil, in thousandths of a joule. [-]

    Example:
        >>> energy_mj(6.0, 3.0)
        27.0
    """
    return 0.5 * mh * peak_a**2


def dwell_rows(
    supplies_v: Sequence[float],
    *,
    mh: float,
    ohm: float,
    peak_a: float,
    charges: int,
    drop_v: float,
    wires_v: float = 0.0,
) -> tuple[Dwell, ...]:
    """Dwell against the volts a controller sees.

    Args:
        supplies_v: at the controller. [V]
        mh: inductance of the coil. [mH]
        ohm: its resistance. [ohm]
        peak_a: current wanted. [A]
        charges: of one coil in two turns. [-]
        drop_v: what its driver keeps. [V]
        wires_v: how much less the coil has than the controller sees, from the solved network. [V]
    """
    rows = []
    for supply_v in supplies_v:
        coil_v = supply_v - drop_v - wires_v
        long_ms = dwell_ms(coil_v, mh=mh, ohm=ohm, peak_a=peak_a)
        most = None if long_ms is None else _CYCLE_MS_RPM / (charges * (long_ms + figure("spark_time_ms")))
        rows.append(Dwell(supply_v=supply_v, coil_v=coil_v, dwell_ms=long_ms, most_rpm=most))
    return tuple(rows)
