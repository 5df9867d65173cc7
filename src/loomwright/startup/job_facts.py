"""What follows from several sheets of a job for its first start: facts, figures, and the state in which it cranks?

In: the job. Out: names of facts for `only` and `never` of an item with the parts they speak of; figures that set an
item's limits; what must be closed besides the key before the starter turns.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping

from loomwright.job.job import Job
from loomwright.job.rows import Part

__all__ = [
    "COILS",
    "FANS",
    "crank_state",
    "fact_parts",
    "facts_of",
    "facts_said",
    "fan_contact_c",
    "figures_of",
    "fitted_parts",
]

COILS = ("coil_plain", "coil_twin", "coil_with_igniter")
"""Kinds of ignition coils."""
FANS = ("fan", "fan_2speed", "fan_pwm")
"""Kinds of fans before the radiator."""
_TRIGGERS = ("sensor_vr", "sensor_hall")
_FAN_ON = re.compile(r"coolant_c\s*>=?\s*(\d+(?:\.\d+)?)")
_PUMP = "fuel_pump"
_OIL_TOLD_BY = ("pressure_switch", "pressure_switch_2wire", "sender_pressure")
_WARM_CONTACTS = ("temperature_switch", "temperature_switch_2wire")


def fitted_parts(job: Job) -> list[Part]:
    """The parts that are not taken out."""
    return [part for part in job.parts if part.fitted != "removed"]


def facts_of(job: Job) -> frozenset[str]:
    """What follows from several sheets: see `steps.FACTS`."""
    parts = fitted_parts(job)
    told = {row.name: row.value for row in job.vehicle}
    coils = sum(part.kind in ("coil_plain", "coil_with_igniter") for part in parts)
    injectors = sum(part.kind == "injector" for part in parts)
    drivers = sum(need.ability == "ignition" and need.part in {part.id for part in parts} for need in job.needs)
    pairs = any(part.kind == "coil_twin" for part in parts) or 1 < 2 * coils == injectors or 1 < 2 * drivers == coils
    facts = {
        "wasted_spark": told["coils"] == "one a pair" if "coils" in told else pairs,
        "distributor": told.get("coils") == "one for all",
        "returnless": told.get("regulator") == "fixed",
        "oil_tell_tale": any(_tells_oil(part) for part in parts),
        "throttle_track": any(_is_throttle_track(part) for part in parts),
        "trigger": any(part.kind in _TRIGGERS for part in parts),
    }
    return frozenset(name for name, holds in facts.items() if holds)


def fact_parts(job: Job, fact: str) -> tuple[str, ...]:
    """The parts a fact speaks of; none where it speaks of none.

    Args:
        fact: one of `steps.FACTS`.
    """
    # a wheel on the gearbox's output shaft does not turn with the starter
    behind = {place.id for place in job.places if place.zone == "underfloor"}
    speaks: Mapping[str, Callable[[Part], bool]] = {
        "wasted_spark": lambda part: part.kind in COILS,
        "distributor": lambda part: part.kind in COILS,
        "oil_tell_tale": _tells_oil,
        "throttle_track": _is_throttle_track,
        "trigger": lambda part: part.kind in _TRIGGERS and part.place not in behind,
    }
    return tuple(part.id for part in fitted_parts(job) if fact in speaks and speaks[fact](part))


def figures_of(job: Job) -> Mapping[str, float]:
    """Figures that the job itself gives for the limits of items: name -> value.

    `fuel_kpa` and `idle_rpm` of the sheet `vehicle` [kPa, rpm]; `prime_s`: how long the pump is driven with the engine
    stopped [s]; `fan_on_c`: where the first fan's own contact or its drive switches it on [C].
    """
    found: dict[str, float] = {}
    for row in job.vehicle:
        if row.name in ("fuel_kpa", "idle_rpm") and row.value:
            found[row.name] = float(row.value.replace(",", "."))
    points = {need.id: need.part for need in job.needs}
    pumps = {part.circuit for part in fitted_parts(job) if part.kind == _PUMP or part.role == _PUMP}
    relays = {part.id for part in fitted_parts(job) if part.kind == "relay" and (part.circuit in pumps)}
    for drive in job.drives:
        aims = points.get(drive.output, "")
        if drive.for_s and (aims in relays or "pump" in drive.output):
            found["prime_s"] = drive.for_s
    on = [float(text) for condition in (*_contacts(job), *_fan_drives(job)) for text in _FAN_ON.findall(condition)]
    if on:
        found["fan_on_c"] = min(on)
    return found


def fan_contact_c(job: Job) -> float | None:
    """Where a fan's own contact closes; None where the controller switches the fan, or nobody says. [C]"""
    return min((float(text) for one in _contacts(job) for text in _FAN_ON.findall(one)), default=None)


def crank_state(job: Job, state: Mapping[str, str]) -> Mapping[str, str]:
    """A state in which the starter is asked to turn, with the pedal or lever that must be held for it.

    Args:
        state: as it stands in an item; one without `key=start` is given back as it is.
    """
    if state.get("key") != "start":
        return state
    held = {
        str(part.settings.get("variable") or part.id): "on"
        for part in fitted_parts(job)
        if part.kind == "switch" and part.role == "start_inhibit"
    }
    return {**held, **state}


def facts_said(job: Job, facts: frozenset[str]) -> Iterator[str]:
    """What made the list what it is, in words.

    Args:
        facts: of the job.
    """
    kinds = {part.kind for part in fitted_parts(job)}
    yield from (
        says
        for holds, says in (
            ("wasted_spark" in facts, "coils fire pairs: the light flashes every turn"),
            ("distributor" in facts, "one coil and a distributor: rotor and leads must agree with the trigger"),
            ("ballast" in kinds, "the coil has a ballast: its by-pass is proved while cranking"),
            ("returnless" in facts, "no return: rail pressure does not follow the manifold"),
            ("oil_tell_tale" not in facts, "no oil switch: a mechanical gauge is needed"),
            ("throttle_electric" in kinds, "electric throttle: both tracks are proved first"),
            ("isolator" in kinds, "an isolator: it is tried stopped and running"),
            ("selector_switch" in kinds, "automatic gearbox: it must not crank in gear"),
        )
        if holds
    )


def _tells_oil(part: Part) -> bool:
    is_oil = (part.circuit or "").startswith("oil")
    return part.role == "oil_lamp" or (is_oil and part.kind in _OIL_TOLD_BY)


def _is_throttle_track(part: Part) -> bool:
    words = f"{part.circuit or ''} {part.name or ''}".lower()
    return part.kind == "sensor_0_5v" and ("throttle" in words or part.id.upper().startswith("TPS"))


def _fan_circuits(job: Job) -> set[str | None]:
    return {part.circuit for part in fitted_parts(job) if part.kind in FANS or part.role == "cooling_fan"}


def _contacts(job: Job) -> Iterator[str]:
    """When a contact in a fan's circuit closes."""
    for part in fitted_parts(job):
        if part.kind in _WARM_CONTACTS and part.circuit in _fan_circuits(job):
            yield str(part.settings.get("closes_when", ""))


def _fan_drives(job: Job) -> Iterator[str]:
    """When the controller drives something in a fan's circuit."""
    aims = {need.id: need.part for need in job.needs}
    circuits = {part.id: part.circuit for part in fitted_parts(job)}
    for drive in job.drives:
        if circuits.get(aims.get(drive.output) or "") in _fan_circuits(job):
            yield drive.when.text
