"""What does one way of building a job weigh, lose, warm and cost, so that several can be held side by side?

In: a job with its routes and sizes. Out: `Weighed`, one row of the table in which places of a part, or whole jobs, are
compared: copper, metres, wires, the volts lost on the way to the load that loses most of what it may, the warmest wire,
what goes through each hole, materials and hours, and what could not be worked out.

`moved` gives the job with parts at another place: wires that end at them are routed and sized anew, unless they are cut
already or lie in the car; all others keep what stands in them, so that what differs is the place.

Source: worked out from `routes`, `sizing` and the quote's lines.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace

from loomwright.job.decided import cut_wires
from loomwright.job.job import Job
from loomwright.job.rows import Wire
from loomwright.routes.bundles import bundles
from loomwright.routes.records import Routes
from loomwright.sizing.sized import Sized
from loomwright.tables.coverings import hole_needed_mm

__all__ = ["Hole", "LoadLoss", "Warmest", "Weighed", "ending_at", "movable", "moved", "weighed"]

_EQUAL = 1.0 + 1e-9
_KILO = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadLoss:
    """Volts lost on the way to a load and back, in the worst state. lost_v: [V]   allowed_v: of its class. [V]"""

    load: str
    lost_v: float
    allowed_v: float

    @property
    def used_frac(self) -> float:
        """Share of what it may lose. [0..1]"""
        return self.lost_v / self.allowed_v

    @property
    def is_too_much(self) -> bool:
        """Whether it loses more than it may."""
        return self.lost_v > self.allowed_v * _EQUAL


@dataclass(frozen=True, slots=True, kw_only=True)
class Warmest:
    """The wire nearest its class. copper_c: in the worst state. [C]   class_c: what its insulation stands. [C]"""

    wire: str
    copper_c: float
    class_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """The tightest hole of a run. conductors: through it. [-]   hole_mm: clear. [mm]

    needed_mm: for the covered bundle; None where its thickness is not known. [mm]
    """

    run: str
    conductors: int
    hole_mm: float
    needed_mm: float | None

    @property
    def is_too_small(self) -> bool:
        """Whether the bundle does not go through; False where nobody knows."""
        return self.needed_mm is not None and self.needed_mm > self.hole_mm * _EQUAL


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """One way of building a job.

    name: of the place or the job.   copper_g: of new wires whose size and length are known. [g]   wire_m: theirs. [m]
    wires, parts: new ones.   loss: the load that loses most of what it may; None where no limit was asked.
    losses: every load asked about, the worst first.   warmest: None likewise.   holes: runs with a hole.
    conductors: run -> how many lie in it.   material_price: of what has a price. [price]   unpriced: lines without.
    work_minutes: usual. [min]   air_c: of the place, where a part was moved. [C]   wet: that place.
    sizes_mm2: wire -> size, of those sized anew.   unsettled: why something could not be decided, with the mend.
    """

    name: str
    copper_g: float
    wire_m: float
    wires: int
    parts: int
    loss: LoadLoss | None
    losses: tuple[LoadLoss, ...]
    warmest: Warmest | None
    holes: tuple[Hole, ...]
    conductors: Mapping[str, int]
    material_price: float
    unpriced: int
    work_minutes: float
    air_c: float | None
    wet: bool
    sizes_mm2: Mapping[str, float]
    unsettled: tuple[str, ...]

    @property
    def objections(self) -> tuple[str, ...]:
        """What speaks against it, in sentences; empty where nothing does."""
        found = [f"{one.load} loses {one.lost_v:.2f} V, it may lose {one.allowed_v:.2f} V" for one in self.losses
                 if one.is_too_much]  # fmt: skip
        if self.warmest is not None and self.warmest.copper_c > self.warmest.class_c * _EQUAL:
            found.append(f"{self.warmest.wire} gets hotter than its class of {self.warmest.class_c:g} °C")
        found += [
            f"the hole of {hole.run} has {hole.hole_mm:g} mm, {hole.conductors} wires need {hole.needed_mm:.0f} mm"
            for hole in self.holes
            if hole.is_too_small and hole.needed_mm is not None
        ]
        if self.wet:
            found.append("water reaches the place: a sealed part, or a dry place")
        return (*found, *self.unsettled)


def weighed(
    name: str,
    job: Job,
    routes: Routes,
    sized: Sized,
    *,
    material_price: float,
    unpriced: int,
    work_minutes: float,
    place: str = "",
) -> Weighed:
    """One row of the table.

    Args:
        name: of the place or the job.
        job: with what was decided filled in.
        routes: of that job.
        sized: of that job, asked about the wires that matter.
        material_price: of what the quote buys. [price]
        unpriced: lines of it without a price.
        work_minutes: usual, of the quote. [min]
        place: where a part was moved to; empty where none was.
    """
    loads = {part.id for part in job.parts}
    worst: dict[str, LoadLoss] = {}
    for wire in sized.wires.values():
        for ask in wire.asks:
            if ask.limit == "volts" and ask.at in loads and ask.found is not None and ask.allowed:
                loss = LoadLoss(load=ask.at, lost_v=ask.found, allowed_v=ask.allowed)
                if ask.at not in worst or loss.used_frac > worst[ask.at].used_frac:
                    worst[ask.at] = loss
    losses = tuple(sorted(worst.values(), key=lambda one: (-one.used_frac, one.load)))
    new = [wire for wire in job.wires if wire.fitted == "new"]
    lengths_mm = [_length_mm(wire, routes) for wire in new]
    at = next((row for row in job.places if row.id == place), None)
    return Weighed(
        name=name,
        copper_g=sized.copper_g,
        wire_m=sum(length for length in lengths_mm if length is not None) / _KILO,
        wires=len(new),
        parts=sum(part.fitted == "new" for part in job.parts),
        loss=losses[0] if losses else None,
        losses=losses,
        warmest=_warmest(sized),
        holes=_holes(job, routes),
        conductors={run: len(wires) for run, wires in routes.runs.items()},
        material_price=material_price,
        unpriced=unpriced,
        work_minutes=work_minutes,
        air_c=at.ambient_c if at is not None else None,
        wet=bool(at.wet) if at is not None else False,
        sizes_mm2=sized.sizes_mm2(),
        unsettled=tuple(_unsettled(job, routes, sized)),
    )


def moved(job: Job, parts: Collection[str], place: str) -> Job:
    """The job with parts at another place, and the wires that end at them open for a new length and size.

    Args:
        job: nothing in it left blank that shall stay as it is.
        parts: those that are moved.
        place: where to.
    """
    open_ = frozenset(ending_at(job, parts))
    return replace(
        job,
        parts=tuple(replace(part, place=place) if part.id in parts else part for part in job.parts),
        wires=tuple(
            replace(wire, length_mm=None, size_mm2=None) if wire.id in open_ else wire for wire in job.wires
        ),
    )  # fmt: skip


def ending_at(job: Job, parts: Collection[str]) -> tuple[str, ...]:
    """New wires that end at one of some parts and are not cut yet."""
    cut = cut_wires(job)
    return tuple(
        wire.id
        for wire in job.wires
        if wire.fitted == "new" and wire.id not in cut and wire.built_length_mm is None and _ends_at(wire, parts)
    )


def movable(job: Job, names: Iterable[str]) -> tuple[str, ...]:
    """The parts that some words mean: parts, and every part that sits at a place."""
    wanted = set(names)
    return tuple(part.id for part in job.parts if part.id in wanted or (part.place and part.place in wanted))


def _ends_at(wire: Wire, parts: Collection[str]) -> bool:
    return any(end.split(".")[0] in parts for end in (wire.from_, wire.to) if end)


def _length_mm(wire: Wire, routes: Routes) -> float | None:
    if wire.built_length_mm is not None:
        return wire.built_length_mm
    if wire.length_mm is not None:
        return wire.length_mm
    return routes.wires[wire.id].length_mm if wire.id in routes.wires else None


def _warmest(sized: Sized) -> Warmest | None:
    known = [
        Warmest(wire=one.wire, copper_c=one.conductor_c, class_c=one.insulation_c)
        for one in sized.wires.values()
        if one.conductor_c is not None and one.insulation_c is not None
    ]
    return min(known, key=lambda one: (one.class_c - one.copper_c, one.wire), default=None)


def _holes(job: Job, routes: Routes) -> tuple[Hole, ...]:
    clear_mm = {run.id: run.hole_mm for run in job.runs if run.hole_mm is not None}
    found = []
    for name, bundle in bundles(job, routes).items():
        if name in clear_mm:
            thick_mm = bundle.bundle_mm
            needed_mm = 0.0 if not bundle.conductors else None
            if thick_mm is not None:
                needed_mm = hole_needed_mm(thick_mm, bundle.covering)
            found.append(Hole(run=name, conductors=len(bundle.conductors), hole_mm=clear_mm[name], needed_mm=needed_mm))
    return tuple(found)


def _unsettled(job: Job, routes: Routes, sized: Sized) -> Iterable[str]:
    lengths = {wire.id: wire.length_mm for wire in job.wires}
    for name, one in routes.unrouted.items():
        if lengths.get(name) is None and one.cause != "free":
            yield f"{name} has no route: {one.why}. {one.mend}"
    for cell in sized.unsettled:
        yield f"{cell.cell}: {cell.why}. {cell.mend}"
