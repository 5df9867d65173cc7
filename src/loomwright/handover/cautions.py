"""Which cautions belong on the paper of this job?

Each is printed where the job has what can hurt: a car without a fuel pump says nothing about fuel. What is fitted is
read from the parts' kinds, roles and places, never guessed from a name. The order is the order in which a person meets
them: the stationary car, the battery, fuel, ignition, the first start, the road.

Source: common practice, no source. The makers' data, the local law and licensed practice come before all of them, and
the first line says so.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from loomwright.handover.records import Caution
from loomwright.job.job import Job
from loomwright.job.vehicle import vehicle_of
from loomwright.tables.kinds import Kind

__all__ = ["cautions_of"]

_ELECTRONICS = ("electronics",)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fitted:
    """What the job has, as cautions ask for it. zones: where its batteries sit. system_v: of the car. [V]"""

    kinds: frozenset[str]
    duties: frozenset[str]
    groups: frozenset[str]
    roles: frozenset[str]
    zones: frozenset[str]
    kept: bool
    system_v: float

    def has(self, *kinds: str) -> bool:
        """Whether a part of one of these kinds is fitted; a `*` at the end stands for any ending."""
        return any(
            kind.startswith(name[:-1]) if name.endswith("*") else kind == name for name in kinds for kind in self.kinds
        )


_Asked = Callable[[_Fitted], bool]


def _always(_: _Fitted) -> bool:
    return True


_CAUTIONS: tuple[tuple[str, str, _Asked], ...] = (
    (
        "Before anything",
        (
            "This paper knows the sheets, not the car. The makers' data, the local law on modified vehicles and "
            "licensed practice come first."
        ),
        _always,
    ),
    (
        "Under the car",
        "Stands under it, wheels chocked, gear out. A jack lifts, it does not hold.",
        _always,
    ),
    (
        "Stripping",
        (
            "Old lagging, gaskets and linings may hold asbestos. Leave the airbag circuits of a newer donor to those "
            "licensed for them."
        ),
        lambda car: car.kept,
    ),
    (
        "At the battery",
        "Rings and watches off, earth lead off first and on last. A spanner across its posts welds itself in place.",
        lambda car: car.has("battery"),
    ),
    (
        "At the battery",
        "Never lift a battery lead with the engine running: the alternator's peak kills electronics.",
        lambda car: car.has("alternator", "dynamo"),
    ),
    (
        "At the battery",
        "The battery sits in the boot: its fuse belongs at the battery, before the lead goes anywhere.",
        lambda car: "boot" in car.zones,
    ),
    (
        "At the battery",
        "The battery sits in the cabin: it needs a box and a vent to the outside.",
        lambda car: "cabin" in car.zones,
    ),
    (
        "At the battery",
        "Never jump it from a 24 V vehicle.",
        lambda car: car.has("battery") and car.system_v < 24.0,
    ),
    (
        "At the isolator",
        "Let the controller finish its hold before opening the isolator.",
        lambda car: car.has("isolator") and "controller" in car.duties,
    ),
    (
        "Welding, insulation tests",
        "Unplug the controller and all electronics before welding, and before an insulation test over 50 V.",
        lambda car: bool({"controller"} & car.duties) or bool(set(_ELECTRONICS) & car.groups),
    ),
    (
        "Meter and test lamp",
        (
            "No lamp, neither a test lamp nor one in series, into a plug of the controller. A meter only, on the back "
            "of the terminal."
        ),
        lambda car: "controller" in car.duties,
    ),
    (
        "Near the fans",
        "Fans can start by themselves, with the key off too.",
        lambda car: "cooling_fan" in car.roles or car.has("fan*"),
    ),
    (
        "Fuel",
        (
            "Relieve the fuel pressure before opening a line. No spark, no lamp with a hot bulb, a fire extinguisher "
            "in reach."
        ),
        lambda car: "fuel_pump" in car.roles or car.has("fuel_pump", "injector"),
    ),
    (
        "Ignition",
        "High voltage: never fire a coil without a gap for its spark, and keep hands off leads and coils meanwhile.",
        lambda car: car.has("coil_*", "igniter"),
    ),
    (
        "Throttle",
        "Fingers out of an electric throttle whenever the controller has power.",
        lambda car: car.has("throttle_electric"),
    ),
    (
        "Engine running",
        "Hot and turning parts: hair, sleeves and cables clear. Exhaust gas kills: doors open or extraction on.",
        _always,
    ),
    (
        "Key off while it turns",
        "Try whether the engine stops at key-off only at standstill: the steering may lock.",
        lambda car: car.has("key_switch"),
    ),
    (
        "First gear engagement",
        (
            "On chocks, a driver seated with a foot on the brake, nobody in front or behind. Stall tests: five seconds "
            "at most."
        ),
        lambda car: car.has("selector_switch"),
    ),
    (
        "Before it rolls",
        "Brake servo and brake lamps proved first.",
        lambda car: "brake_lamp" in car.roles,
    ),
    (
        "Before handover",
        "A bypassed start inhibit or crash switch carries a tag, and the car stays here until the tag is off.",
        lambda car: bool({"start_inhibit", "crash_switch"} & car.roles) or car.has("crash_switch"),
    ),
)
"""Step, what to do, and when it applies."""


def cautions_of(job: Job, kinds: Mapping[str, Kind]) -> tuple[Caution, ...]:
    """The cautions that apply to a job, in the order in which a person meets them."""
    fitted = _fitted(job, kinds)
    return tuple(Caution(step=step, says=says) for step, says, applies in _CAUTIONS if applies(fitted))


def _fitted(job: Job, kinds: Mapping[str, Kind]) -> _Fitted:
    parts = [part for part in job.parts if part.fitted != "removed"]
    found = [kinds[part.kind] for part in parts if part.kind in kinds]
    zone_of = {place.id: place.zone for place in job.places}
    return _Fitted(
        kinds=frozenset(part.kind for part in parts),
        duties=frozenset(kind.duty for kind in found),
        groups=frozenset(kind.group for kind in found),
        roles=frozenset(part.role for part in parts if part.role),
        zones=frozenset(zone_of.get(part.place, "") for part in parts if part.kind == "battery"),
        kept="kept" in {*(part.fitted for part in parts), *(wire.fitted for wire in job.wires)},
        system_v=vehicle_of(job).system_v,
    )
