"""What does a cold engine need, the idle valve, another day's air, another fuel, and when do the fans come on?

Tables beside those of fuel and spark; the same standing: a careful start.
"""

from __future__ import annotations

import numpy as np

from loomwright.calibration.air import CORRECTIONS, power_factor
from loomwright.calibration.charge import density_factor
from loomwright.calibration.engine import Engine
from loomwright.calibration.fuel import blended, fuel_called
from loomwright.calibration.start_records import CAREFUL, StartNumber, StartTable, figure_of
from loomwright.tables.start_figures import warm_up_rows

__all__ = ["blends_rows", "cold_rows", "fan_numbers", "idle_rows", "power_rows", "weather_rows"]

_MUCH_ETHANOL_FRAC = 0.3  # of the mass; our choice
_DAYS_KPA = (90.0, 93.0, 96.0, 99.0, 102.0)
_HUMIDITY_FRAC = 0.5
_CORRECTED = (0.93, 1.07)  # beyond it the two newer standards do not correct; from memory
_ANY_DAY = ("DIN 70020", "STD")
_ALCOHOL = "; ethanol gives no vapour that burns below 13 °C: cranked colder, it wants still more fuel, in small steps"
"""Its flash point, 55 °F: `fuel-properties`."""


def cold_rows(engine: Engine) -> StartTable:
    """Warm-up, cranking, after the start and idle speed against coolant temperature.

    What a text prints for cranking is grams of air a gram of petrol: as lambda it holds for any fuel.
    """
    rows, petrol = warm_up_rows(), fuel_called("petrol").air_fuel
    at = [row.coolant_c for row in rows]
    cold, hot = engine.at("after_start_cold_frac"), engine.at("after_start_hot_frac")

    def line(coolant: float) -> tuple[float | None, ...]:
        warm = float(np.interp(coolant, at, [row.factor for row in rows]))
        crank = float(np.interp(coolant, at, [row.crank_air_fuel for row in rows]))
        after = float(np.interp(coolant, (0.0, 80.0), (cold, hot)))
        idle_rpm = float(np.interp(coolant, (0.0, 70.0), (engine.at("idle_cold_rpm"), engine.at("idle_rpm"))))
        return (coolant, round(warm, 3), round(crank / petrol, 3), round(after, 3), round(idle_rpm, -1))

    return StartTable(
        name="cold",
        says="fuel factor, lambda while cranking, share added after the start, idle speed",
        columns=("coolant_c", "warm_up", "crank_lambda", "after_start_frac", "idle_rpm"),
        rows=tuple(line(coolant) for coolant in engine.lists["coolant"]),
        unit="-",
        formula=f"straight between rows; after-start falls to a third in {engine.at('after_start_s'):g} s",
        source="common-practice; text-cranking-mixture (2:1 to 12:1)",
        standing=f"{CAREFUL}{_ALCOHOL if engine.fuel.ethanol_frac > _MUCH_ETHANOL_FRAC else ''}",
    )


def idle_rows(engine: Engine) -> StartTable:
    """Opening of the idle valve."""
    warm, cold = engine.at("idle_open_warm_frac"), engine.at("idle_open_cold_frac")
    rows = tuple((t, round(float(np.interp(t, (0.0, 80.0), (cold, warm))), 3)) for t in engine.lists["coolant"])
    return StartTable(
        name="idle_valve",
        says="opening of the idle valve before any control",
        columns=("coolant_c", "open_frac"),
        rows=rows,
        unit="-",
        formula="straight from cold to warm",
        source="common-practice",
        standing="the valve and the throttle stop decide: set it at warm idle with the control off",
    )


def weather_rows(engine: Engine) -> StartTable:
    """Air of another day."""
    airs = (-20.0, 0.0, 20.0, 40.0, 60.0)
    baro, air = engine.at("baro_kpa"), engine.at("air_c")
    return StartTable(
        name="weather",
        says="air in the cylinder against the day the table was made; columns: air temperature",
        columns=("baro_kpa", *(f"{t:g}" for t in airs)),
        rows=tuple(
            (kpa, *(round(density_factor(kpa, t, at_kpa=baro, at_c=air), 4) for t in airs))
            for kpa in (70.0, 80.0, 90.0, 100.0, 105.0)
        ),
        unit="-",
        formula="(p/p0) (T0/T)",
        source="gas law",
        standing="for throttle-angle fuelling; with manifold pressure in the formula already, only T0/T",
    )


def power_rows(engine: Engine, *, is_blown: bool) -> StartTable:
    """What a measured power is multiplied by, at the engine's own `air_c`, on the day of its `baro_kpa` and on others.

    Args:
        is_blown: boost is held whatever the day is, and no correction holds.
    """
    air = engine.at("air_c")

    def line(kpa: float) -> tuple[float | None, ...]:
        factors = [(code, round(power_factor(code, kpa, air, _HUMIDITY_FRAC), 4)) for code in CORRECTIONS]
        low, high = _CORRECTED
        return (kpa, *(one if code in _ANY_DAY or low <= one <= high else None for code, one in factors))

    return StartTable(
        name="power",
        says=(
            f"what a measured power is multiplied by, at {air:g} °C, the engine's air_c, and half humidity; blank: too "
            "far off to be corrected"
        ),
        columns=("baro_kpa", *CORRECTIONS),
        rows=tuple(line(kpa) for kpa in sorted({*_DAYS_KPA, engine.at("baro_kpa")})),
        unit="-",
        formula="p and T of the day over those of the standard; air beside the inlet, not in the room",
        source="the formulas as they are quoted, none of the standards was read",
        standing=(
            "not for this engine: its boost is held, and a factor would add power that is not there"
            if is_blown
            else "agree on one before the day and print it beside every power: they lie up to 4 % apart"
        ),
    )


def blends_rows() -> StartTable:
    """Blends of ethanol and petrol."""
    plain = blended(0.0)

    def line(percent: float) -> tuple[float | None, ...]:
        mixed = blended(percent / 100.0)
        more = plain.air_fuel * plain.density_kg_per_l / (mixed.air_fuel * mixed.density_kg_per_l)
        return (percent, round(mixed.air_fuel, 3), round(mixed.density_kg_per_l, 4), round(more, 4))

    return StartTable(
        name="blends",
        says="ethanol by volume: air-fuel ratio, density, injected volume against petrol",
        columns=("ethanol_percent", "air_fuel", "kg_per_l", "volume_factor"),
        rows=tuple(line(percent) for percent in (0.0, 5.0, 10.0, 20.0, 50.0, 70.0, 85.0, 100.0)),
        unit="-",
        formula="by mass; volumes by density",
        source="from-memory; worked-out",
        standing="pump fuel spreads; measure with a fuel sensor or a water test",
    )


def fan_numbers(engine: Engine) -> tuple[list[StartNumber], list[str]]:
    """When the fans come on and go off, idle speed and spark; and what looks wrong with them."""
    on = engine.at("thermostat_full_c") + engine.at("fan_over_full_k")
    off = max(on - engine.at("fan_hysteresis_k"), engine.at("thermostat_c") + 1.0)
    second = on + engine.at("fan_second_k")
    source = "common-practice, manual-fan-points"

    def made(name: str, says: str, value: float, formula: str) -> StartNumber:
        return StartNumber(
            name=name, says=says, value=value, least=value - 3.0, most=value + 5.0, unit="°C",
            formula=formula, source=source, standing=CAREFUL,
        )  # fmt: skip

    numbers = [
        made("fan_on", "first fan on", on, "thermostat fully open + 3 K"),
        made("fan_off", "first fan off", off, "on - 4 K, above where the thermostat opens"),
        made("fan_second_on", "second fan on", second, "first on + 5 K"),
        made("fan_second_off", "second fan off", second - engine.at("fan_hysteresis_k"), "its on - 4 K"),
    ][: int(2 * engine.at("fans"))]
    warns = []
    latest, opens = engine.at("fan_latest_c"), engine.at("thermostat_c")
    if engine.has("fan_contact_c"):
        closes = engine.at("fan_contact_c")
        says = "the fan's own contact closes; the controller has no say in it"
        numbers = [made("fan_contact", says, closes, f"of the job; thermostat fully open + 3 K would be {on:g} °C")]
        if not opens < closes <= latest:
            warns.append(
                f"The fan's contact closes at {closes:g} °C; above {opens:g}, where the thermostat opens, and by "
                f"{latest:g} is meant: another contact"
            )
    elif engine.at("fans") > 1.0 and second > latest:
        warns.append(f"The second fan would come on at {second:g} °C; {latest:g} is the latest")
    elif engine.at("fans") == 1.0 and on > latest:
        warns.append(f"The fan would come on at {on:g} °C; {latest:g} is the latest")
    numbers += [figure_of(name, engine) for name in ("idle_rpm", "spark_idle_deg", "spark_crank_deg", "after_start_s")]
    return numbers, warns
