"""Which cautions belong on the paper of this job, which of them can kill, and at which test does each matter?

Each is printed where the job has what can hurt: a car without a fuel pump says nothing about fuel. What is fitted is
read from the parts' kinds, roles and places, never guessed from a name. The order is the order in which a person meets
them: the stationary car, the battery, fuel, ignition, the first start, the road. Those that can kill stand on the cover
too; those that matter at a test stand there again.

Source: common practice, no source. The makers' data, the local law and licensed practice come before all of them, and
the first line says so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from loomwright.handover.records import Caution
from loomwright.job.job import Job
from loomwright.job.vehicle import vehicle_of
from loomwright.tables.kinds import Kind

__all__ = ["cautions_at", "cautions_of", "cautions_on_arrival"]

_ELECTRONICS = ("electronics",)
_ON_ARRIVAL = ("Before anything", "Under the car", "Stripping", "At the battery", "Fuel", "Engine running")
_PLACED = "The battery sits"
"""How cautions begin that speak of where the battery is, which is written down later."""


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


def _always(_: _Fitted) -> bool:
    return True


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    """One caution and when it applies. at: tests where it stands again: dead, live, cranking, outputs, fan ..."""

    step: str
    says: str
    applies: Callable[[_Fitted], bool] = _always
    kills: bool = False
    at: tuple[str, ...] = ()


_CAUTIONS = (
    _Line(
        step="Before anything",
        says=(
            "This paper knows the sheets, not the car. The makers' data, the local law on modified "
            "vehicles and licensed practice come first."
        ),
        kills=True,
    ),
    _Line(
        step="Under the car",
        says="Stands under it, wheels chocked, gear out. A jack lifts, it does not hold.",
        kills=True,
    ),
    _Line(
        step="Stripping",
        says=(
            "Old lagging, gaskets and linings may hold asbestos. Leave the airbag circuits of a newer "
            "donor to those licensed for them."
        ),
        applies=lambda car: car.kept,
        kills=True,
    ),
    _Line(
        step="At the battery",
        says=(
            "Rings and watches off, earth lead off first and on last. A spanner across its posts welds itself in place."
        ),
        applies=lambda car: car.has("battery"),
        kills=True,
        at=("dead",),
    ),
    _Line(
        step="At the battery",
        says=("Never lift a battery lead with the engine running: the alternator's peak kills electronics."),
        applies=lambda car: car.has("alternator", "dynamo"),
        at=("live",),
    ),
    _Line(
        step="At the battery",
        says=("The battery sits in the boot: its fuse belongs at the battery, before the lead goes anywhere."),
        applies=lambda car: "boot" in car.zones,
    ),
    _Line(
        step="At the battery",
        says="The battery sits in the cabin: it needs a box and a vent to the outside.",
        applies=lambda car: "cabin" in car.zones,
        kills=True,
    ),
    _Line(
        step="At the battery",
        says="Never jump it from a 24 V vehicle.",
        applies=lambda car: car.has("battery") and car.system_v < 24.0,
    ),
    _Line(
        step="At the isolator",
        says="Let the controller finish its hold before opening the isolator.",
        applies=lambda car: car.has("isolator") and "controller" in car.duties,
    ),
    _Line(
        step="Welding, insulation tests",
        says=("Unplug the controller and all electronics before welding, and before an insulation test over 50 V."),
        applies=lambda car: bool({"controller"} & car.duties) or bool(set(_ELECTRONICS) & car.groups),
        at=("dead",),
    ),
    _Line(
        step="Meter and test lamp",
        says=(
            "No lamp, neither a test lamp nor one in series, into a plug of the controller. A meter "
            "only, on the back of the terminal."
        ),
        applies=lambda car: "controller" in car.duties,
        at=("dead", "live"),
    ),
    _Line(
        step="Near the fans",
        says="Fans can start by themselves, with the key off too.",
        applies=lambda car: "cooling_fan" in car.roles or car.has("fan*"),
        at=("live", "fan"),
    ),
    _Line(
        step="Fuel",
        says=(
            "Relieve the fuel pressure before opening a line. No spark, no lamp with a hot bulb, a "
            "fire extinguisher in reach."
        ),
        applies=lambda car: "fuel_pump" in car.roles or car.has("fuel_pump", "injector"),
        kills=True,
        at=("live", "fuel"),
    ),
    _Line(
        step="Ignition",
        says=(
            "High voltage: never fire a coil without a gap for its spark, and keep hands off leads and coils meanwhile."
        ),
        applies=lambda car: car.has("coil_*", "igniter"),
        kills=True,
        at=("cranking", "ignition"),
    ),
    _Line(
        step="Throttle",
        says="Fingers out of an electric throttle whenever the controller has power.",
        applies=lambda car: car.has("throttle_electric"),
        at=("live", "throttle"),
    ),
    _Line(
        step="Engine running",
        says=("Hot and turning parts: hair, sleeves and cables clear. Exhaust gas kills: doors open or extraction on."),
        kills=True,
        at=("cranking",),
    ),
    _Line(
        step="Key off while it turns",
        says="Try whether the engine stops at key-off only at standstill: the steering may lock.",
        applies=lambda car: car.has("key_switch"),
    ),
    _Line(
        step="First gear engagement",
        says=(
            "On chocks, a driver seated with a foot on the brake, nobody in front or behind. Stall "
            "tests: five seconds at most."
        ),
        applies=lambda car: car.has("selector_switch"),
        kills=True,
    ),
    _Line(
        step="Before it rolls",
        says="Brake servo and brake lamps proved first.",
        applies=lambda car: "brake_lamp" in car.roles or car.has("lamp_tail"),  # twin filament: the brake lamp is in it
        kills=True,
    ),
    _Line(
        step="Before handover",
        says=("A bypassed start inhibit or crash switch carries a tag, and the car stays here until the tag is off."),
        applies=lambda car: bool({"start_inhibit", "crash_switch"} & car.roles) or car.has("crash_switch"),
    ),
)


def cautions_of(job: Job, kinds: Mapping[str, Kind]) -> tuple[Caution, ...]:
    """The cautions that apply to a job, in the order in which a person meets them."""
    fitted = _fitted(job, kinds)
    return tuple(
        Caution(step=line.step, says=line.says, kills=line.kills, at=line.at)
        for line in _CAUTIONS
        if line.applies(fitted)
    )


def cautions_on_arrival() -> tuple[Caution, ...]:
    """What can hurt while a vehicle is taken in; all of it, since nobody knows yet what is fitted."""
    return tuple(
        Caution(step=line.step, says=line.says, kills=line.kills, at=line.at)
        for line in _CAUTIONS
        if line.step in _ON_ARRIVAL and not line.says.startswith(_PLACED)
    )


def cautions_at(cautions: Iterable[Caution], *tests: str) -> tuple[Caution, ...]:
    """Those of the cautions that matter at one of these tests."""
    return tuple(caution for caution in cautions if set(caution.at) & set(tests))


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
