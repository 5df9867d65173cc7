"""What may the sheet `vehicle` say of the engine, its fuel regulator, its coils and the gearbox?

One list for everybody: the sheet is held against it when a job is read, the starting numbers and the gear-change lines
are worked out within it.

Source: spans are common practice, no source: what no road car has is not meant.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from loomwright.job.firing_order import FIRING_ALLOWED, read_firing_order
from loomwright.refusals import OutOfReach

__all__ = [
    "ENGINE_SPANS",
    "ENGINE_WHOLE",
    "ENGINE_WORDS",
    "FIRING_ORDER",
    "GEAR_SPANS",
    "GEAR_WORDS",
    "engine_allowed",
    "read_engine",
]

ENGINE_SPANS: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "displacement_cc": (50.0, 20_000.0),
        "cylinders": (1.0, 16.0),
        "injectors": (1.0, 32.0),
        "shots": (1.0, 16.0),
        "injector_cc_per_min": (10.0, 10_000.0),
        "injector_kpa": (50.0, 1000.0),
        "injector_ohm": (0.3, 40.0),
        "fuel_kpa": (50.0, 1000.0),
        "compression": (5.0, 20.0),
        "peak_torque_rpm": (1000.0, 12_000.0),
        "limit_rpm": (2000.0, 15_000.0),
        "most_kpa": (80.0, 400.0),
        "power_kw": (1.0, 2000.0),
        "baro_kpa": (50.0, 110.0),
        "air_c": (-40.0, 60.0),
        "coolant_c": (-40.0, 120.0),
        "coil_mh": (0.1, 50.0),
        "coil_ohm": (0.05, 10.0),
        "coil_a": (0.5, 30.0),
        "ballast_ohm": (0.0, 10.0),
        "idle_rpm": (300.0, 2500.0),
        "fans": (0.0, 4.0),
        "fan_contact_c": (60.0, 120.0),
        "thermostat_c": (40.0, 120.0),
        "thermostat_full_c": (40.0, 130.0),
    }
)
"""Figure of an engine -> the least and the most it may be, in the unit its name ends with. [-]"""
ENGINE_WHOLE = ("cylinders", "injectors", "shots")
"""Those that are counted."""
ENGINE_WORDS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "regulator": ("follows the manifold", "fixed"),
        "coils": ("one a cylinder", "one a pair", "one for all"),
        "idle_valve": ("yes", "no"),
    }
)
"""Word of an engine -> what it may be, the first where nobody says it."""
GEAR_WORDS = (
    *("title", "ratios", "reverse", "final_drive", "tyre", "mass_kg", "road_n", "kept_frac", "grip_frac", "least_rpm"),
    *("reverse_inhibit_kmh", "engine", "converter", "solenoids", "selector", "heat", "programmes", "lines"),
)
"""What may stand behind `gear.`"""
GEAR_SPANS: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"mass_kg": (400.0, 7500.0), "final_drive": (1.5, 8.0)}
)
"""Figure of a gearbox -> the least and the most it may be. [-]"""
FIRING_ORDER = "firing_order"
"""The order in which the cylinders fire: `job.firing_order`."""
_GEAR = "gear."


def engine_allowed(name: str) -> str:
    """What a property of engine or gearbox may be, in words; empty for one that is none, or that is read elsewhere.

    Example:
        >>> engine_allowed("cylinders"), engine_allowed("gear.final_drive"), engine_allowed("colour")
        ('1 to 16, a whole number', '1.5 to 8', '')
    """
    if name == FIRING_ORDER:
        return FIRING_ALLOWED
    if name in ENGINE_WORDS:
        return ", ".join(ENGINE_WORDS[name])
    span = _span(name)
    return f"{span[0]:g} to {span[1]:g}{', a whole number' * (name in ENGINE_WHOLE)}" if span else ""


def read_engine(name: str, text: str) -> float | str:
    """The value of a property of engine or gearbox.

    Raises:
        OutOfReach: it cannot be that; it says what it may be.
    Example:
        >>> read_engine("compression", "9,5"), read_engine("regulator", "fixed")
        (9.5, 'fixed')
    """
    if name == FIRING_ORDER:
        return "-".join(str(each) for each in read_firing_order(text))
    if name in ENGINE_WORDS:
        if text not in ENGINE_WORDS[name]:
            raise OutOfReach(name, text, engine_allowed(name))
        return text
    span = _span(name)
    try:
        figure = float(text.replace(",", "."))
    except ValueError:
        raise OutOfReach(name, text, engine_allowed(name)) from None
    if (span and not span[0] <= figure <= span[1]) or (name in ENGINE_WHOLE and figure % 1.0):
        raise OutOfReach(name, text, engine_allowed(name))
    return figure


def _span(name: str) -> tuple[float, float] | None:
    gear = name.removeprefix(_GEAR) if name.startswith(_GEAR) else ""
    return GEAR_SPANS.get(gear) if gear else ENGINE_SPANS.get(name)
