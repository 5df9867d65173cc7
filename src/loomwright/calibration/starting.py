"""Which numbers does this engine start with: each with its formula, its source, its range, and that it is a start only?

In: what is known of the engine, and what the solved network says of the volts at its coils. Out: single numbers and
tables at the breakpoints asked for. Where something needed is not known, the number is not made up: it stands in `asks`
with what to look up. All are on the careful side: rather rich, rather late, rather cool.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.calibration.charge import air_mg, breathing, charge_c, duty_frac, fuel_mg, pulse_ms
from loomwright.calibration.coil_numbers import coil_numbers
from loomwright.calibration.engine import Engine
from loomwright.calibration.first_cuts import BOOST_KPA, cut_numbers, taken_says
from loomwright.calibration.fuel import fuel_called
from loomwright.calibration.injector import (
    delay_says,
    difference_kpa,
    flow_cc_per_min,
    needed_cc_per_min,
    opening_ms,
)
from loomwright.calibration.side_tables import blends_rows, cold_rows, fan_numbers, idle_rows, power_rows, weather_rows
from loomwright.calibration.start_records import CAREFUL, StartNumber, StartTable, Supply, number_of

__all__ = ["StartNumber", "StartNumbers", "StartTable", "Supply", "starting_numbers"]

_MINUTES = 60.0
_RUNNING_V = 14.0
_IDLE_KPA = 35.0  # in the manifold at a steady idle; typical, from memory
_HARDLY_LONGER = 1.3  # an idle pulse of less than this many delays is not true; common practice, no source
_OPENS_MS = 50.0  # what opens later does not open
_IDLE_TO_DRIVEN = (1000.0, 2000.0)
_LATE_DEG = 5.0  # later under boost the mixture burns on in the exhaust; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class StartNumbers:
    """All of them. asks: what is not known and what it stops.   warns: what is known and looks wrong."""

    numbers: tuple[StartNumber, ...]
    tables: tuple[StartTable, ...]
    asks: tuple[str, ...]
    warns: tuple[str, ...]


def starting_numbers(engine: Engine, supplies: tuple[Supply, ...] = ()) -> StartNumbers:
    """The numbers an engine starts with.

    Args:
        engine: what is known of it.
        supplies: volts in the states of the job, where there is one.
    Example:
        >>> from loomwright.calibration.engine import engine_of
        >>> made = starting_numbers(engine_of({"displacement_cc": 1998, "cylinders": 4}))
        >>> [one.name for one in made.tables][:3], made.asks[0]
        (['efficiency', 'mixture', 'spark'], 'injector_cc_per_min and injector_kpa: no pulse, no duty without them')
    """
    numbers: list[StartNumber] = []
    asks: list[str] = []
    warns: list[str] = list(delay_says(engine.delays)) if len(engine.delays) > 1 else []
    warns += _short_tables(engine)
    tables = [_efficiency(engine), _mixture(engine), _spark(engine)]
    if engine.has("injector_cc_per_min"):
        more, table, said = _of_injector(engine)
        numbers += more
        tables += table
        warns += said
    else:
        asks.append("injector_cc_per_min and injector_kpa: no pulse, no duty without them")
    if engine.has("coil_mh", "coil_ohm", "coil_a"):
        more, coil, said = coil_numbers(engine, supplies)
        numbers += more
        tables.append(coil)
        warns += said
    else:
        asks.append("coil_mh, coil_ohm and coil_a: no dwell without them; a coil with its own igniter has its maker's")
    tables.append(cold_rows(engine))
    if engine.words["idle_valve"] == "yes":
        tables.append(idle_rows(engine))
    tables += [weather_rows(engine), power_rows(engine, is_blown=_is_blown(engine)), blends_rows()]
    more, said = fan_numbers(engine)
    numbers += [*more, *_of_fuel(engine), *cut_numbers(engine)]
    warns += _late_sparks(engine)
    asks += taken_says(engine)
    asks.append(
        "the oxygen sensor: type in volts and lambda at both ends from its unit's own sheet; check two mixtures"
    )
    return StartNumbers(
        numbers=tuple(numbers), tables=tuple(tables), asks=tuple(asks), warns=tuple(dict.fromkeys((*warns, *said)))
    )


def efficiency(engine: Engine, rpm: float, kpa: float) -> float:
    """Volumetric efficiency to start with, referred to the manifold. [-]

    Args:
        engine: what is known of it.
        rpm: engine speed. [rpm]
        kpa: in the manifold, absolute. [kPa]
    """
    off = rpm / engine.at("peak_torque_rpm") - 1.0
    full = engine.at("ve_peak_frac") * max(1.0 - engine.at("ve_fall_frac") * off**2, 0.6)
    exhaust = engine.at("baro_kpa") + engine.at("exhaust_over_baro_kpa") * kpa / engine.at("baro_kpa")
    return full * max(breathing(kpa, exhaust, engine.at("compression")), 0.3)


def mixture(engine: Engine, rpm: float, kpa: float) -> float:
    """Lambda to start with. [-]

    Args:
        engine: what is known of it.
        rpm: engine speed. [rpm]
        kpa: in the manifold, absolute. [kPa]
    """
    baro = engine.at("baro_kpa")
    at = (0.0, 0.6 * baro, 0.9 * baro, 2.0 * baro)
    light = engine.at("lambda_idle") if rpm < 1200.0 else engine.at("lambda_light")
    full = engine.at("lambda_full")
    return float(np.interp(kpa, at, (light, light, full, engine.at("lambda_boost"))))


def spark_deg(engine: Engine, rpm: float, kpa: float) -> float:
    """Spark before top centre to start with. [deg]

    To 1000 a minute it stands at idle's, whatever the speed; from there to 2000 the advance of load and speed comes in
    little by little: a spark that rises steeply just above idle makes an idle hunt.

    Args:
        engine: what is known of it.
        rpm: engine speed. [rpm]
        kpa: in the manifold, absolute. [kPa]
    """
    if rpm < 500.0:
        return engine.at("spark_crank_deg")
    baro = engine.at("baro_kpa")
    low = engine.at("spark_full_1000_deg")
    full = float(np.interp(rpm, (1000.0, 4000.0), (low, engine.at("spark_full_4000_deg"))))
    light = float(np.interp(kpa, (40.0, 0.95 * baro), (engine.at("spark_light_deg"), 0.0)))
    idle = float(np.interp(kpa, (60.0, 0.95 * baro), (engine.at("spark_idle_deg"), low)))
    driven = float(np.interp(rpm, _IDLE_TO_DRIVEN, (0.0, 1.0)))
    boost = max(kpa - baro, 0.0) / 10.0 * engine.at("spark_boost_deg")
    # knock asks for a later spark where the cylinder is full; an idle does not knock
    filled = float(np.interp(kpa, (60.0, 0.95 * baro), (driven, 1.0)))
    ratio = filled * max(engine.at("compression") - 9.5, 0.0) * engine.at("spark_ratio_deg")
    return max((1.0 - driven) * idle + driven * (full + light) - boost - ratio, 0.0)


def _short_tables(engine: Engine) -> list[str]:
    """Where breakpoints that were typed end before the engine does: a controller holds their last figures beyond."""
    ends = (("kpa", "most_kpa", "kPa", "the manifold reaches"), ("rpm", "limit_rpm", "1/min", "the engine turns up to"))
    return [
        f"The breakpoints {name} end at {engine.lists[name][-1]:g} {unit}, {reaches} {engine.at(most):g}: beyond them "
        "the controller keeps the last fuel, mixture and spark; put one there"
        for name, most, unit, reaches in ends
        if engine.lists[name][-1] < engine.at(most)
    ]


def _late_sparks(engine: Engine) -> list[str]:
    """Where boost takes so much of the spark back, at speeds at which it is driven, that the exhaust takes the heat."""
    at = [
        (spark_deg(engine, rpm, kpa), rpm, kpa)
        for rpm in engine.lists["rpm"]
        for kpa in engine.lists["kpa"]
        if rpm >= _IDLE_TO_DRIVEN[1] and kpa > engine.at("baro_kpa") + BOOST_KPA
    ]
    late = [one for one in at if one[0] < _LATE_DEG]
    if not late:
        return []
    deg, rpm, kpa = min(late)
    low = min(each for _, _, each in late)
    says = (
        f"Under boost the spark comes down to {deg:.0f}° at {rpm:g}/min and {kpa:g} kPa, and below {_LATE_DEG:g}° from "
        f"{low:g} kPa on: safe from knock, but so late that exhaust and turbine take the heat. Begin at the least "
        "boost, hold it for seconds, watch exhaust temperature, and bring the spark forward by ear before more"
    )
    return [says]


def _of_fuel(engine: Engine) -> list[StartNumber]:
    fuel = engine.fuel
    return [
        number_of(
            "air_fuel",
            f"grams of air that burn a gram of {fuel.name}",
            fuel.air_fuel,
            "",
            "atoms of the fuel; a blend by mass",
            "from-memory",
            0.01,
            "pump fuel spreads by a percent; keep targets in lambda",
        ),
        number_of(
            "density", f"density of {fuel.name}", fuel.density_kg_per_l, "kg/L", "by volume", "from-memory", 0.02
        ),
    ]


def _of_injector(engine: Engine) -> tuple[list[StartNumber], list[StartTable], list[str]]:
    full_kpa = engine.at("most_kpa")
    delay = _delay_ms(engine, _RUNNING_V)
    root = "q sqrt(p across / p rated), p across = rail - manifold, both absolute"
    numbers = [
        number_of(name, f"flow at {kpa:g} kPa", _flow(engine, kpa), "cc/min", root, "page-injector-flow", 0.05)
        for name, kpa in (("flow_full", full_kpa), ("flow_idle", _IDLE_KPA))
    ]
    idle = _pulse_numbers(engine, "idle", engine.at("idle_rpm"), _IDLE_KPA, delay)
    full = _pulse_numbers(engine, "full", engine.at("limit_rpm"), full_kpa, delay)
    warns = _pulse_warnings(engine, idle[0].value, delay, full[1].value)
    needed = _flow_needed(engine)
    if needed is not None and needed.value > _flow(engine, full_kpa):
        given = _flow(engine, full_kpa)
        warns.append(f"{needed.value:.0f} cc/min are needed, {given:.0f} is what they give at that pressure")
    return [*numbers, *idle, *full, *([] if needed is None else [needed])], [_delay_table(engine)], warns


def _flow(engine: Engine, kpa: float) -> float:
    """Flow of an injector with so much in the manifold. [cc/min]"""
    across = difference_kpa(
        engine.at("fuel_kpa"),
        kpa,
        baro_kpa=engine.at("baro_kpa"),
        follows_manifold=engine.words["regulator"] != "fixed",
    )
    return flow_cc_per_min(engine.at("injector_cc_per_min"), engine.at("injector_kpa"), max(across, 1.0))


def _pulse_numbers(engine: Engine, name: str, rpm: float, kpa: float, delay_ms: float) -> list[StartNumber]:
    """The pulse at one point, and the share of the time that the injector is open there."""
    share = engine.at("injectors") / engine.at("cylinders")
    shots = int(engine.at("shots"))
    shot = ("one shot" if shots == 1 else f"each of {shots} shots") + " in two turns"
    shot += f", for {1.0 / share:.3g} cylinders" if share < 1.0 else ""
    fuel = _fuel_for(engine, rpm, kpa) / (share * shots)
    to_mass = engine.fuel.density_kg_per_l / _MINUTES
    long_ms = pulse_ms(fuel, _flow(engine, kpa) * to_mass, delay_ms)
    each = "" if shots == 1 else f"{shots} / "
    formula = f"VE p V / (R T) / (lambda air-fuel) / {each}flow + delay at {_RUNNING_V:g} V"
    says = f"pulse at {rpm:g}/min, {kpa:g} kPa, {shot}"
    duty = 100.0 * duty_frac(long_ms, rpm, shots=shots)
    share_of_time = f"100 pulse rpm {'' if shots == 1 else f'{shots} '}/ 120000"
    return [
        number_of(f"pulse_{name}", says, long_ms, "ms", formula, "worked-out", 0.25),
        number_of(f"duty_{name}", "of the time it is open then", duty, "%", share_of_time, "worked-out", 0.25),
    ]


def _pulse_warnings(engine: Engine, idle_ms: float, delay_ms: float, full_percent: float) -> list[str]:
    """Injectors that are too small at full load, or too large to be true at idle."""
    warns = []
    most_percent = 100.0 * engine.at("duty_frac")
    if full_percent > most_percent:
        warns.append(
            f"At {engine.at('limit_rpm'):g}/min the injectors would be open {full_percent:.0f} % of the time, "
            f"{most_percent:.0f} % is the most: larger ones, or more pressure, before full load"
        )
    if idle_ms < _HARDLY_LONGER * delay_ms:
        warns.append(f"The idle pulse, {idle_ms:.2g} ms, is hardly longer than the delay: flow there is not true")
    return warns


def _is_blown(engine: Engine) -> bool:
    return engine.at("most_kpa") > engine.at("baro_kpa") + BOOST_KPA


def _flow_needed(engine: Engine) -> StartNumber | None:
    """The flow that the power asks for; None where nobody says what power.

    Consumption is that of petrol. The same air makes about the same power with any fuel, so more of one that needs less
    air is burnt for it; a consumption that the engine's file gives is its own fuel's.
    """
    if not engine.has("power_kw"):
        return None
    name = "bsfc_boosted_g_per_kwh" if _is_blown(engine) else "bsfc_g_per_kwh"
    more = 1.0 if name in engine.changed else fuel_called("petrol").air_fuel / engine.fuel.air_fuel
    needed = needed_cc_per_min(
        engine.at("power_kw"),
        more * engine.at(name),
        int(engine.at("injectors")),
        duty_frac=engine.at("duty_frac"),
        density_kg_per_l=engine.fuel.density_kg_per_l,
    )
    of_fuel = "" if more == 1.0 else f" * {more:.3g}, air of petrol over air of {engine.fuel.name},"
    formula = f"power * consumption{of_fuel} / (injectors * duty) / density"
    says = f"flow each injector must have for {engine.at('power_kw'):g} kW"
    return number_of("flow_needed", says, needed, "cc/min", formula, "page-injector-size", 0.1)


def _delay_table(engine: Engine) -> StartTable:
    late = [(volts, _delay_ms(engine, volts)) for volts in engine.lists["volts"]]
    return StartTable(
        name="opening_delay",
        says="how late the injector opens at the volts it has; blank: it does not open",
        columns=("supply_v", "delay_ms"),
        rows=tuple((volts, round(late_ms, 3) if late_ms < _OPENS_MS else None) for volts, late_ms in late if late_ms),
        unit="ms",
        formula="the engine's own pairs, between them straight" if engine.delays else "-(L/R) ln(1 - I R/V) + needle",
        source="the engine's file" if engine.delays else "from-memory",
        standing="as given" if engine.delays else "typical coil: measure it, or ask for the injector's own",
    )


def _delay_ms(engine: Engine, volts: float) -> float:
    if engine.delays:
        return float(np.interp(volts, [v for v, _ in engine.delays], [ms for _, ms in engine.delays]))
    return opening_ms(
        volts,
        mh=engine.at("injector_mh"),
        ohm=engine.at("injector_ohm"),
        pull_in_a=engine.at("injector_pull_in_a"),
        mechanical_ms=engine.at("injector_mechanical_ms"),
    )


def _fuel_for(engine: Engine, rpm: float, kpa: float) -> float:
    cylinder = engine.at("displacement_cc") / engine.at("cylinders")
    flow = rpm * kpa / (engine.at("limit_rpm") * engine.at("most_kpa"))
    warm = charge_c(engine.at("air_c"), engine.at("coolant_c"), flow)
    air = air_mg(efficiency(engine, rpm, kpa), kpa, cylinder, warm)
    return fuel_mg(air, mixture(engine, rpm, kpa), engine.fuel.air_fuel)


def _grid(engine: Engine, name: str, says: str, unit: str, formula: str, source: str, digits: int) -> StartTable:
    baro = engine.at("baro_kpa")
    boosted = f"{CAREFUL}; above {baro:g} kPa only once knock is listened for and the mixture is seen to follow"
    standing = boosted if engine.lists["kpa"][-1] > baro + BOOST_KPA else CAREFUL
    ask = {"efficiency": efficiency, "mixture": mixture, "spark": spark_deg}[name]
    columns = ("rpm", *(f"{kpa:g}" for kpa in engine.lists["kpa"]))
    rows = tuple(
        (rpm, *(round(ask(engine, rpm, kpa), digits) for kpa in engine.lists["kpa"])) for rpm in engine.lists["rpm"]
    )
    return StartTable(
        name=name, says=says, columns=columns, rows=rows, unit=unit, formula=formula, source=source, standing=standing
    )


def _efficiency(engine: Engine) -> StartTable:
    formula = "peak * (1 - k (n/n_peak - 1)^2) * residual gas of the ideal cycle"
    says = "volumetric efficiency, referred to the manifold's own density; columns: manifold kPa"
    return _grid(engine, "efficiency", says, "-", formula, "common-practice, from-memory", 3)


def _mixture(engine: Engine) -> StartTable:
    says = "lambda wanted; columns: manifold kPa"
    return _grid(
        engine, "mixture", says, "-", "light load to 60 % of the air's pressure, then richer", "common-practice", 3
    )


def _spark(engine: Engine) -> StartTable:
    says = "spark before top centre, deliberately late; columns: manifold kPa"
    formula = "full-load line + light-load advance - boost - compression above 9.5; idle's to 1000/min, full by 2000"
    return _grid(engine, "spark", says, "°", formula, "common-practice", 1)
