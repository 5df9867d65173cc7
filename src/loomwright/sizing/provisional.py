"""What is taken for a size or a length that nobody typed and nobody decided yet?

So that volts can be worked out at all: a length by the wire's route, else a metre; a size of the thinnest its class may
have, or of the thinnest that carries what the loads at its ends draw, whichever is thicker. Each wire of a starting
circuit is taken as thick as carries what the starter's solenoid draws while it goes in, wherever on the way to it the
wire lies: behind a long thin lead it would never go in, and what it asks of that lead would be seen in no state. A
blank fuse is taken as whole. All of it is noted, and none of it is judged: whether a size will do is asked of sizes
that somebody chose.

In: a job with its decisions filled in. Out: the job that is solved, and the notes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from loomwright.job.job import Job
from loomwright.job.points import Kinds, split_point
from loomwright.job.rows import Part, Wire
from loomwright.job.vehicle import vehicle_of
from loomwright.refusals import OutOfReach
from loomwright.routes.records import Routes
from loomwright.sizing.open_cells import class_of
from loomwright.tables.ampacity import continuous_a
from loomwright.tables.conductors import sizes_mm2
from loomwright.tables.constants import constant
from loomwright.tables.kinds import design_a, elements_of, resolve_settings
from loomwright.tables.limits import insulation_class_c, least_size_mm2

__all__ = ["Provisional", "has_blanks", "provisional", "provisional_mm2"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Provisional:
    """The job that is solved, its blanks taken provisionally, and a note a blank. notes: one sentence each."""

    job: Job
    notes: tuple[str, ...]


def has_blanks(job: Job) -> bool:
    """Whether anything has to be taken provisionally."""
    return any(wire.size_mm2 is None or wire.length_mm is None for wire in job.wires if wire.fitted != "removed")


def provisional(job: Job, kinds: Kinds, routes: Routes) -> Provisional:
    """The job with what is blank taken provisionally.

    Args:
        job: with its decisions filled in.
        kinds: the library's and the job's own.
        routes: of the same job.
    """
    sizes = provisional_mm2(job, kinds)
    notes: list[str] = []
    wires = tuple(_taken(wire, routes, sizes, notes) for wire in job.wires)
    return Provisional(job=replace(job, wires=wires), notes=tuple(notes))


def provisional_mm2(job: Job, kinds: Kinds) -> Mapping[str, float]:
    """The size taken for each wire whose size is blank. [mm2]"""
    circuits = {circuit.id: circuit for circuit in job.circuits}
    parts = {part.id: part for part in job.parts if part.fitted != "removed"}
    vehicle = vehicle_of(job)
    drawn_a: dict[str, float] = {}
    going_in_a = max((_going_in_a(part, kinds, vehicle.system_v) for part in parts.values()), default=0.0)
    found: dict[str, float] = {}
    for wire in job.wires:
        if wire.size_mm2 is None and wire.fitted != "removed":
            ends = [split_point(end)[0] for end in (wire.from_, wire.to) if end]
            for name in ends:
                if name not in drawn_a:
                    drawn_a[name] = _draws_a(parts.get(name), kinds, vehicle.system_v)
            circuit_class = class_of(wire, circuits)
            least_mm2 = least_size_mm2(circuit_class)
            amps = max((drawn_a[name] for name in ends), default=0.0)
            amps = max(amps, going_in_a if circuit_class == "starting" else 0.0)
            found[wire.id] = _thinnest(least_mm2, amps, wire, vehicle.design_ambient_c)
    return found


def _taken(wire: Wire, routes: Routes, sizes: Mapping[str, float], notes: list[str]) -> Wire:
    if wire.fitted == "removed" or not wire.from_ or not wire.to:
        return wire
    length_mm, size_mm2 = wire.length_mm, wire.size_mm2
    if length_mm is not None and (size_mm2 is not None or wire.ohm_per_m is not None):
        return wire
    if length_mm is None:
        route = routes.wires.get(wire.id)
        length_mm = route.length_mm if route is not None else constant("provisional_length_mm")
        by = "by its route" if route is not None else "taken"
        notes.append(f"{wire.id}: length not given, {length_mm / 1000.0:g} m {by} provisionally")
    if size_mm2 is None and wire.ohm_per_m is None:
        size_mm2 = sizes[wire.id]
        notes.append(f"{wire.id}: size not given, {size_mm2:g} mm2 taken provisionally")
    return replace(wire, length_mm=length_mm, size_mm2=size_mm2)


def _draws_a(part: Part | None, kinds: Kinds, system_v: float) -> float:
    """What a load draws by its own figures; nothing for what is no load. [A]"""
    kind = kinds.get(part.kind) if part is not None else None
    if part is None or kind is None:
        return 0.0
    settings = resolve_settings(kind, part.settings, part.rated_v or system_v)
    amps = (design_a(element, system_v) for element in elements_of(kind, settings) if element.load)
    return sum(figure for figure in amps if figure is not None)


def _going_in_a(part: Part, kinds: Kinds, system_v: float) -> float:
    """What both windings of a starter's solenoid draw while it goes in; nothing for what is no starter. [A]"""
    kind = kinds.get(part.kind)
    if kind is None:
        return 0.0
    elements = elements_of(kind, resolve_settings(kind, part.settings, part.rated_v or system_v))
    if not any(element.type == "starter_motor" for element in elements):
        return 0.0
    windings = (design_a(element, system_v) for element in elements if element.type in ("coil", "resistor"))
    return sum(amps for amps in windings if amps is not None)


def _thinnest(least_mm2: float, amps: float, wire: Wire, ambient_c: float) -> float:
    """The thinnest size of the standard row from a least one on that carries a current. [mm2]"""
    insulation_c = insulation_class_c(wire.insulation) or constant("insulation_c")
    sizes = [size for size in sizes_mm2("road") if size >= least_mm2]
    return next((size for size in sizes if _carries(size, insulation_c, ambient_c, amps)), sizes[-1])


def _carries(size_mm2: float, insulation_c: float, ambient_c: float, amps: float) -> bool:
    try:
        return continuous_a(size_mm2, insulation_c, ambient_c) >= amps
    except OutOfReach:
        return False
