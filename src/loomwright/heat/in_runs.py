"""How warm is every wire of a car, alone and where it lies among others, with currents of one moment?

In: a job, its routes, amps of each wire. Out: for each wire its temperature by itself in the hottest place it passes,
and in each of its runs among what else lies there; the run that makes it warmest; for each run its bundle.

The air of a run is the hotter of that at its two ends. A wire that goes out and back lies in the run twice. Screens and
jackets are left out, and so are wires without a size or with one no diameter is known for: they are named.

Limits: `one_wire`, `crowd`. A bundle is as thick as `routes.bundles` estimates; the warmest wires lie inmost.
Source: worked out; typical figures in `constants.csv`.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loomwright.heat.crowd import crowd_heat
from loomwright.heat.one_wire import WireBodies, bodies_of, settled_c
from loomwright.heat.still_air import Around
from loomwright.heat.warming import warming_of
from loomwright.job.air import air_at_places_c
from loomwright.job.job import Job
from loomwright.job.rows import Wire
from loomwright.job.vehicle import vehicle_of
from loomwright.refusals import OutOfReach
from loomwright.routes.bundles import Bundle, bundles
from loomwright.routes.end_places import Ends, ends_of
from loomwright.routes.records import Routes
from loomwright.tables.kinds import Kind
from loomwright.tables.limits import insulation_class_c

__all__ = ["InRun", "RunHeat", "Warm", "WireHeat", "warm"]


@dataclass(frozen=True, slots=True, kw_only=True)
class InRun:
    """One wire in one run. run: its id.   copper_c: among the others; `inf` where it never settles. [C]"""

    run: str
    copper_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WireHeat:
    """One wire.

    amps: through it.   ambient_c: of the hottest place it passes. [C]   at: that place; empty: the vehicle's.
    alone_c: by itself there; `inf` where it never settles. [C]   after_c: after the time asked for. [C]
    peak_c: by itself, the most it reaches where its current comes and goes. [C]
    runs: it among others.   class_c: what its insulation stands; None where nobody knows. [C]
    """

    wire: str
    size_mm2: float
    amps: float
    ambient_c: float
    at: str
    alone_c: float
    after_c: float | None
    runs: tuple[InRun, ...]
    class_c: float | None
    peak_c: float | None = None

    @property
    def copper_c(self) -> float:
        """The warmest it gets. [C]"""
        return max([self.alone_c, *(one.copper_c for one in self.runs)])

    @property
    def where(self) -> str:
        """The run in which it is the warmest; empty where it is so by itself."""
        best = max(self.runs, key=lambda one: one.copper_c, default=None)
        return best.run if best is not None and best.copper_c > self.alone_c else ""

    @property
    def is_too_hot(self) -> bool:
        """Whether it passes its class; False where that is not known."""
        return self.class_c is not None and self.copper_c > self.class_c + 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class RunHeat:
    """One run. ambient_c: of its air. [C]   bundle_mm: about. [mm]   surface_c: of the bundle. [C]

    warmest: the wire that is; empty where nothing flows.   copper_c: of its copper. [C]
    left_out: wires that no diameter is known for.
    """

    run: str
    wires: int
    ambient_c: float
    bundle_mm: float | None
    surface_c: float
    warmest: str
    copper_c: float
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Warm:
    """Every wire and run that could be worked out. left_out: wires without, and why."""

    wires: Mapping[str, WireHeat]
    runs: Mapping[str, RunHeat]
    left_out: Mapping[str, str]


def warm(
    job: Job,
    kinds: Mapping[str, Kind],
    routes: Routes,
    amps: Mapping[str, float],
    *,
    after_s: float | None = None,
    on_off_s: tuple[float, float] | None = None,
    only: Collection[str] = (),
    pressure_kpa: float | None = None,
) -> Warm:
    """The temperatures of all wires at one moment.

    Args:
        job: with what was decided filled in.
        kinds: the library's and the job's own.
        routes: of the same job.
        amps: wire -> what flows, either way; a wire that is not named carries nothing.
        after_s: how long the currents have flowed in wires that were cold; for ever where left out. [s]
        on_off_s: how long the currents come on and are off, over and over; of all wires, or those in `only`. [s]
        only: wires whose peak is asked for; all that carry something where empty.
        pressure_kpa: of the air; at the sea where left out. [kPa]
    Raises:
        OutOfReach: a time on that is none, or one off below nothing.
    """
    design_ambient_c = vehicle_of(job).design_ambient_c
    wires = {wire.id: wire for wire in job.wires if wire.fitted != "removed"}
    left_out = {name: why for name, wire in wires.items() if (why := _unknown(wire))}
    known = [name for name in wires if name not in left_out]
    bodies = _bodies([wires[name] for name in known])
    index = {name: number for number, name in enumerate(known)}
    flows = np.array([abs(amps.get(name, 0.0)) for name in known])
    air = air_at_places_c(job)
    sea = Around(ambient_c=design_ambient_c)
    air_of = replace(sea, pressure_kpa=sea.pressure_kpa if pressure_kpa is None else pressure_kpa)
    hottest = _hottest(job, kinds, routes, known, air, design_ambient_c)
    alone = _alone_c(flows, bodies, air_of, [hottest[name][0] for name in known])
    in_runs: dict[str, list[InRun]] = {name: [] for name in known}
    runs = {}
    ends = {run.id: (run.from_, run.to) for run in job.runs}
    for name, bundle in bundles(job, routes).items():
        if not bundle.conductors:
            continue
        at_c = max(air.get(place, design_ambient_c) for place in ends[name])
        runs[name] = _run(bundle, index, flows, bodies, replace(air_of, ambient_c=at_c), in_runs)
    found = {}
    for name in known:
        at_c, at = hottest[name]
        one = np.array([index[name]])
        flow = float(flows[index[name]])
        after_c = peak_c = None
        if after_s is not None or on_off_s is not None:
            wire = warming_of(_some(bodies, one), replace(air_of, ambient_c=at_c))
            after_c = None if after_s is None else wire.curve(flow, time_s=after_s).end_c
            if on_off_s is not None and (name in only if only else flow > 0.0):
                peak_c = wire.peak_c(flow, on_s=on_off_s[0], off_s=on_off_s[1])
        found[name] = WireHeat(
            wire=name,
            size_mm2=wires[name].size_mm2 or 0.0,
            amps=flow,
            ambient_c=at_c,
            at=at,
            alone_c=float(alone[index[name]]),
            after_c=after_c,
            runs=tuple(in_runs[name]),
            class_c=insulation_class_c(wires[name].insulation),
            peak_c=peak_c,
        )
    return Warm(wires=found, runs=runs, left_out=left_out)


def _alone_c(
    flows: np.typing.NDArray[np.float64], bodies: WireBodies, around: Around, ambient_c: Sequence[float]
) -> np.typing.NDArray[np.float64]:
    """How warm each wire gets by itself, each in the air named for it. [C]"""
    alone = np.empty(len(flows))
    for at_c in set(ambient_c):
        mine = np.flatnonzero(np.array(ambient_c) == at_c)
        alone[mine] = settled_c(flows[mine], _some(bodies, mine), replace(around, ambient_c=at_c))
    return alone


def _run(
    bundle: Bundle,
    index: Mapping[str, int],
    flows: np.typing.NDArray[np.float64],
    bodies: WireBodies,
    around: Around,
    in_runs: Mapping[str, list[InRun]],
) -> RunHeat:
    inside = [name for name in bundle.conductors if name in index]
    left_out = tuple(dict.fromkeys(name for name in bundle.conductors if name not in index))
    ambient_c = around.ambient_c
    surface_c, warmest, copper_c = ambient_c, "", ambient_c
    if inside and bundle.bundle_mm is not None:
        rows = np.array([index[name] for name in inside])
        some = _some(bodies, rows)
        thick_mm = max(bundle.bundle_mm, float(np.max(some.outside_mm)))
        heat = crowd_heat(flows[rows], some, around, bundle_mm=thick_mm)
        surface_c = heat.surface_c
        if float(np.max(flows[rows])) > 0.0:
            warmest, copper_c = inside[heat.warmest], float(heat.copper_c[heat.warmest])
        for name, at_c in zip(inside, heat.copper_c, strict=True):
            in_runs[name].append(InRun(run=bundle.run, copper_c=float(at_c)))
    return RunHeat(
        run=bundle.run,
        wires=len(bundle.conductors),
        ambient_c=ambient_c,
        bundle_mm=bundle.bundle_mm,
        surface_c=surface_c,
        warmest=warmest,
        copper_c=copper_c,
        left_out=left_out,
    )


def _hottest(
    job: Job,
    kinds: Mapping[str, Kind],
    routes: Routes,
    wires: Sequence[str],
    air: Mapping[str, float],
    design_ambient_c: float,
) -> dict[str, tuple[float, str]]:
    """The hottest air on the way of each wire, and where."""
    ends = ends_of(job, kinds)
    found = {}
    for name in wires:
        end = ends[name]
        passed = routes.wires[name].places if name in routes.wires else ()
        places = [*passed, *((end.first, end.last) if isinstance(end, Ends) else ())]
        known = [(air[place], place) for place in dict.fromkeys(places) if place in air]
        best = max(known, key=lambda one: one[0], default=(design_ambient_c, ""))
        found[name] = best if best[0] >= design_ambient_c else (design_ambient_c, "")
    return found


def _unknown(wire: Wire) -> str:
    """Why a wire's heat cannot be worked out; empty where it can."""
    if wire.size_mm2 is None:
        return "it has no size: size --keep decides one"
    if wire.ohm_per_m is not None:
        return "it is no plain copper wire: its resistance was measured"
    try:
        bodies_of([wire.size_mm2])
    except OutOfReach as refusal:
        return f"no diameter is known for {wire.size_mm2:g} mm2 ({refusal.allowed})"
    return ""


def _bodies(wires: Sequence[Wire]) -> WireBodies:
    return bodies_of([wire.size_mm2 for wire in wires if wire.size_mm2 is not None])


def _some(bodies: WireBodies, rows: np.typing.NDArray[np.int64]) -> WireBodies:
    return WireBodies(
        r20_ohm_per_m=bodies.r20_ohm_per_m[rows],
        copper_mm2=bodies.copper_mm2[rows],
        conductor_mm=bodies.conductor_mm[rows],
        outside_mm=bodies.outside_mm[rows],
    )
