"""How much air goes into a cylinder, how much fuel belongs to it, and how long must the injector be open for that?

m_air = VE * p * V / (R T), the pressure and the temperature in the manifold; fuel = m_air / (lambda * air-fuel ratio);
pulse = fuel / flow + opening delay; duty = pulse / the time there is between two of them. VE is referred to the air in
the manifold everywhere here: a table referred to the outside air is another table.

What a cylinder can draw in at part load, residual gas at exhaust pressure taking its room:
    VE = VE_full * [r/(r-1) - (p_e/p_m + g - 1) / (g (r-1))], which is 1 where both pressures are equal.

Source: gas law; the part-load form is the volumetric efficiency of the ideal four-stroke cycle, from memory.
"""

from __future__ import annotations

from loomwright.refusals import OutOfReach
from loomwright.tables.start_figures import figure

__all__ = [
    "KELVIN",
    "air_mg",
    "breathing",
    "charge_c",
    "density_factor",
    "duty_frac",
    "fuel_mg",
    "pulse_ms",
]

KELVIN = 273.15
"""0 degC in kelvin."""
_CYCLE_MS_RPM = 120_000.0


def air_mg(ve: float, manifold_kpa: float, cylinder_cc: float, charge_c: float) -> float:
    """Air in one cylinder.

    Args:
        ve: volumetric efficiency, referred to the manifold. [-]
        manifold_kpa: absolute. [kPa]
        cylinder_cc: swept by one piston. [cc]
        charge_c: temperature of the charge. [C]
    Example:
        >>> round(air_mg(0.85, 100.0, 500.0, 25.0), 1)
        496.6
    """
    if not (manifold_kpa > 0.0 and cylinder_cc > 0.0 and charge_c > -KELVIN and ve > 0.0):
        raise OutOfReach("charge", f"{manifold_kpa:g} kPa, {cylinder_cc:g} cc, {charge_c:g} °C", "above nothing")
    # kPa * cc = mJ * 1e0; over J/(kg K) and K gives 1e-3 kg * 1e-0 -> mg by 1e3
    return ve * manifold_kpa * cylinder_cc / (figure("air_gas_constant") * (charge_c + KELVIN)) * 1000.0


def fuel_mg(air_mg: float, mixture: float, air_fuel: float) -> float:
    """Fuel for that air.

    Args:
        air_mg: in the cylinder. [mg]
        mixture: lambda that is wanted. [-]
        air_fuel: of the fuel. [-]
    Example:
        >>> round(fuel_mg(496.588, 1.0, 14.7), 2)
        33.78
    """
    return air_mg / (mixture * air_fuel)


def pulse_ms(fuel_mg: float, flow_g_per_s: float, delay_ms: float) -> float:
    """How long an injector is driven for some fuel; a flow in g/s is one in mg/ms.

    Args:
        fuel_mg: to be given at once. [mg]
        flow_g_per_s: of the open injector at the pressure it has. [g/s]
        delay_ms: how late it opens at the volts there are. [ms]
    Example:
        >>> round(pulse_ms(33.7815, 5.4633, 0.9), 3)
        7.083
    """
    return fuel_mg / flow_g_per_s + delay_ms


def duty_frac(pulse_ms: float, rpm: float, *, shots: int = 1) -> float:
    """Share of the time the injector is open; over 1 it cannot be done.

    Args:
        pulse_ms: of one shot. [ms]
        rpm: engine speed. [rpm]
        shots: in two turns of the crankshaft. [-]
    Example:
        >>> round(duty_frac(15.2, 7000.0), 4)
        0.8867
    """
    return pulse_ms * rpm * shots / _CYCLE_MS_RPM


def charge_c(air_c: float, coolant_c: float, flow_frac: float) -> float:
    """Temperature of the charge between that of the air and that of the engine.

    Args:
        air_c: in the intake. [C]
        coolant_c: of the engine. [C]
        flow_frac: air flow as a share of the most there is; at little flow the charge warms more. [0..1]
    Example:
        >>> round(charge_c(30.0, 90.0, 0.0), 1)
        57.0
    """
    idle, full = figure("charge_mix_idle_frac"), figure("charge_mix_full_frac")
    share = idle + (full - idle) * min(max(flow_frac, 0.0), 1.0)
    return air_c + share * (coolant_c - air_c)


def breathing(manifold_kpa: float, exhaust_kpa: float, compression: float) -> float:
    """Volumetric efficiency against that with equal pressures on both sides: residual gas takes room. [-]

    Args:
        manifold_kpa, exhaust_kpa: absolute. [kPa]
        compression: ratio. [-]
    Example:
        >>> breathing(100.0, 100.0, 10.0), round(breathing(35.0, 102.0, 10.0), 3)
        (1.0, 0.836)
    """
    if compression <= 1.0 or manifold_kpa <= 0.0:
        raise OutOfReach("compression ratio", compression, "above 1")
    gamma = figure("gamma")
    ratio = exhaust_kpa / manifold_kpa
    return compression / (compression - 1.0) - (ratio + gamma - 1.0) / (gamma * (compression - 1.0))


def density_factor(baro_kpa: float, air_c: float, *, at_kpa: float, at_c: float) -> float:
    """Air of one day against that of another: fuel goes by pressure over absolute temperature. [-]

    Args:
        baro_kpa: the day asked about. [kPa]
        air_c: the same. [C]
        at_kpa: what the table was made at. [kPa]
        at_c: the same. [C]
    Example:
        >>> round(density_factor(90.0, 40.0, at_kpa=101.3, at_c=20.0), 3)
        0.832
    """
    return (baro_kpa / at_kpa) * (at_c + KELVIN) / (air_c + KELVIN)
