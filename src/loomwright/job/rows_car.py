"""The sheets that say what the car is: the vehicle, places, runs, parts, circuits, switch contacts, metals."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.job.columns import column
from loomwright.job.row import Row

__all__ = ["Bond", "Circuit", "Metal", "Part", "Place", "Run", "SwitchContact", "VehicleProperty"]

FITTED = "new|kept|donor|removed"
_SPAN_MM = 100_000.0
_ZONES = "engine_bay|cabin|underfloor|boot|outside|wheel_arch"


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleProperty(Row):
    """One property of the vehicle."""

    name: str = column(
        "text",
        "title, system_voltage, earth, earth_found, design_ambient_c, cranking_ambient_c, bolted, notes; for lengths "
        "of wires end_allowance_mm, within_place_mm, earth_stud_mm, length_step_mm",
        key=True,
    )
    value: str = column("text", "the value of that property")


@dataclass(frozen=True, slots=True, kw_only=True)
class Place(Row):
    """A place on the car: x rearward, y to the right, z up. [mm]

    ambient_c: hottest air there with the engine hot. [degC]
    """

    id: str = column("id", "short name of the place", key=True)
    name: str = column("text", "the place in words")
    x_mm: float | None = column("number", "distance rearward of the origin", least=-_SPAN_MM, most=_SPAN_MM)
    y_mm: float | None = column("number", "distance to the right of the middle", least=-_SPAN_MM, most=_SPAN_MM)
    z_mm: float | None = column("number", "height", least=-_SPAN_MM, most=_SPAN_MM)
    zone: str = column("text", "part of the car it lies in", allowed=_ZONES)
    ambient_c: float | None = column("number", "hottest air there with the engine hot", least=-60.0, most=300.0)
    wet: bool | None = column("yes_no", "yes where water reaches it")
    notes: str = column("text", "anything worth knowing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Run(Row):
    """A stretch the loom can follow between two places."""

    id: str = column("id", "short name of the run", key=True)
    from_: str = column("ref", "place it starts at", refers="places", required=True)
    to: str = column("ref", "place it ends at", refers="places", required=True)
    length_mm: float | None = column("number", "length along the loom; blank: straight line", least=1.0, most=_SPAN_MM)
    covering: str = column("text", "sleeve, tape or conduit over it")
    hole_mm: float | None = column("number", "clear width of the tightest hole", least=1.0, most=1000.0)
    surface_c: float | None = column("number", "hottest surface it passes", least=-60.0, most=1200.0)
    noise: str = column("text", "what disturbs signals along it")
    hazards: tuple[str, ...] = column("words", "what can harm the loom there", allowed="hot|sharp|moving|wet|fuel")
    notes: str = column("text", "anything worth knowing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Part(Row):
    """A thing with terminals. settings: name -> value as text, checked against the kind."""

    id: str = column("id", "short name, as printed on the label", key=True)
    kind: str = column("id", "what it is; see the list of kinds", required=True)
    name: str = column("text", "the part in words")
    place: str = column("ref", "place it sits at", refers="places")
    circuit: str = column("ref", "circuit it belongs to", refers="circuits")
    role: str = column("word", "what it is for, where a rule looks at that", table="roles")
    settings: Mapping[str, str] = column("settings", "name=value; name=value, as its kind allows")
    fitted: str = column("word", "new, kept from the car, from a donor, or removed", allowed=FITTED, blank="new")
    rated_v: float | None = column("number", "volts it is made for; blank: the system's", least=0.1, most=100.0)
    notes: str = column("text", "anything worth knowing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit(Row):
    """One circuit. feed: the contact it belongs to (15, 30, main_relay) or a part's terminal."""

    id: str = column("id", "short name of the circuit", key=True)
    name: str = column("text", "the circuit in words")
    class_: str = column("word", "sets the limits: starting, lighting, sensor ...", table="classes")
    feed: str = column("text", "contact that feeds it (30, 15, 58, main_relay ...) or a part's terminal")
    drop_limit_v: float | None = column(
        "number", "most volts lost there and back; blank: by class", least=0.001, most=50.0
    )
    road_safety: bool | None = column("yes_no", "yes where it must never fail on the road; kept, no answer rests on it")
    notes: str = column("text", "anything worth knowing")


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchContact(Row):
    """One position of one gang of a switch. joins: groups of terminals that meet there; empty = all open."""

    part: str = column("ref", "the switch", refers="parts", key=True)
    gang: str = column("text", "which of its switches, where there are several", blank="")
    position: str = column("id", "name of the position", key=True)
    joins: tuple[tuple[str, ...], ...] = column("joins", "terminals joined there: 30+58, or 30+58 56+57; blank: none")
    rating_a: float | None = column("number", "what the contact may carry", least=0.001, most=2000.0)
    momentary: bool | None = column("yes_no", "yes where it springs back")
    order: int | None = column("count", "its place among the positions; blank: as listed", least=0, most=1000)
    variable: str = column("text", "state variable of this gang; blank: the part, or part.gang")
    verified: bool | None = column("yes_no", "yes once a continuity test has shown it")
    notes: str = column("text", "anything worth knowing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Metal(Row):
    """A piece of metal that carries current. spread_mohm: from end to end. [mohm]"""

    id: str = column("id", "short name of the metal; body engine gearbox axle are there without a row", key=True)
    name: str = column("text", "the metal in words")
    spread_mohm: float | None = column(
        "number", "resistance across it; kept, no answer rests on it", least=0.0, most=1e6
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Bond(Row):
    """A joint between two metals. mohm: its resistance. [mohm]"""

    from_: str = column("ref", "one metal", refers="metals", required=True)
    to: str = column("ref", "the other metal", refers="metals", required=True)
    mohm: float | None = column("number", "resistance of the joint", least=0.001, most=1e6)
