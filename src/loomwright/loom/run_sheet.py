"""What lies in each run, how thick is it with its covering, does it go through its hole, how tight may it bend?

In: a job and its routes. Out: for every run a `RunSheet`: its conductors, the bundle as tight as they pack
(`heat.packing`) and as it comes out by hand, the covering and what that adds, what the hole must have, the bend its
thickest wire allows, and where wires leave it or join it (breakouts).

    by hand = 1.2 root(sum d^2), packed at least     `routes.bundles`; judged, since nobody packs a loom so tight

Limits: jackets of cables and screens are left out; a twisted pair is two wires. A connector has to go through too.
Source: `tables.coverings`: common practice; bends: AC 43.13-1B 11-96, from memory.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from loomwright.heat.packing import packed
from loomwright.job.decided import with_decided
from loomwright.job.job import Job
from loomwright.loom.end_crimps import EndCrimp, end_crimps
from loomwright.routes.bundles import Bundle, bundles
from loomwright.routes.lengths import core_mm
from loomwright.routes.records import Routes
from loomwright.tables.coverings import bend_radius_mm, covered_mm, covering_named, hole_needed_mm

__all__ = ["Breakout", "RunSheet", "bare_sheet", "run_sheets"]

_EQUAL = 1.0 + 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Breakout:
    """A place at which wires of a run end or turn off. wires: those that do not go on in the same next run."""

    place: str
    wires: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSheet:
    """One run. conductors: one that goes out and back stands twice.

    packed_mm: as tight as they pack; None where a diameter is not known. [mm]   by_hand_mm: as it comes out. [mm]
    covering: as the sheet has it.   covering_kind: the row it is; empty where none fits.
    covered_mm: by hand, with its covering. [mm]   hole_mm: of the sheet. [mm]   needed_mm: the least hole. [mm]
    bend_mm: tightest radius.   bend_held_mm: at a breakout, held. [mm]   breakouts: at its two places.
    unknown: wires no diameter is known for.   crimps: at the ends that its wires have at its two places.
    """

    run: str
    conductors: tuple[str, ...]
    packed_mm: float | None
    by_hand_mm: float | None
    covering: str
    covering_kind: str
    covered_mm: float | None
    hole_mm: float | None
    needed_mm: float | None
    bend_mm: float | None
    bend_held_mm: float | None
    breakouts: tuple[Breakout, ...]
    unknown: tuple[str, ...]
    crimps: tuple[EndCrimp, ...] = ()

    @property
    def is_hole_too_small(self) -> bool:
        """Whether the bundle does not go through; False where nobody knows."""
        return self.hole_mm is not None and self.needed_mm is not None and self.needed_mm > self.hole_mm * _EQUAL


def run_sheets(job: Job, routes: Routes, only: Collection[str] | None = None) -> dict[str, RunSheet]:
    """Every run of a job, in order of id, with the crimps at its wires' ends.

    Args:
        job: as the sheets have it; kept decisions give sizes where the sheets give none.
        routes: of the same job.
        only: these runs; None: all.
    """
    filled = with_decided(job)
    crimps = end_crimps(filled)
    classes = {circuit.id: circuit.class_ for circuit in job.circuits}
    thick = {wire.id: core_mm(wire, classes)[0] for wire in filled.wires}
    found = bundles(job, routes, filled)
    sheets = (bare_sheet(job, routes, one, thick) for name, one in found.items() if only is None or name in only)
    return {one.run: replace(one, crimps=tuple(_ending(crimps, routes, one.run))) for one in sheets}


def bare_sheet(job: Job, routes: Routes, bundle: Bundle, thick: Mapping[str, float | None]) -> RunSheet:
    """One run without the crimps at its wires' ends.

    Args:
        bundle: what lies in it.
        thick: wire -> its outside diameter, where it is known. [mm]
    """
    each_mm = [thick[wire] for wire in bundle.conductors]
    hole_mm = next(run.hole_mm for run in job.runs if run.id == bundle.run)
    known = [value for value in each_mm if value is not None]
    whole = bool(known) and len(known) == len(each_mm)
    kind = covering_named(bundle.covering)
    tight = packed(known, roughly=True).bundle_mm if whole else None
    by_hand = bundle.bundle_mm if tight is None or bundle.bundle_mm is None else max(tight, bundle.bundle_mm)
    return RunSheet(
        run=bundle.run,
        conductors=bundle.conductors,
        packed_mm=tight,
        by_hand_mm=by_hand,
        covering=bundle.covering,
        covering_kind=kind.id if kind is not None else "",
        covered_mm=None if by_hand is None else covered_mm(by_hand, bundle.covering),
        hole_mm=hole_mm,
        needed_mm=None if by_hand is None else hole_needed_mm(by_hand, bundle.covering),
        bend_mm=bend_radius_mm(max(known)) if whole else None,
        bend_held_mm=bend_radius_mm(max(known), supported=True) if whole else None,
        breakouts=tuple(_breakouts(job, routes, bundle)),
        unknown=bundle.unknown,
    )


def _ending(crimps: Sequence[EndCrimp], routes: Routes, run: str) -> Iterator[EndCrimp]:
    """The crimps at ends that lie at one of a run's places, of wires that reach it by the run."""
    for one in crimps:
        route = routes.wires.get(one.wire)
        if route is not None and route.runs and route.runs[0 if one.end == "from" else -1] == run:
            yield one


def _breakouts(job: Job, routes: Routes, bundle: Bundle) -> list[Breakout]:
    """At each end of a run the wires that do not go on with most of the others."""
    run = next(row for row in job.runs if row.id == bundle.run)
    found = []
    for place in dict.fromkeys((run.from_, run.to)):
        onward: dict[str, list[str]] = {}
        for wire in dict.fromkeys(bundle.conductors):
            onward.setdefault(_next_run(routes, wire, bundle.run, place), []).append(wire)
        most = max(onward, key=lambda name: (bool(name), len(onward[name])), default="")
        leaving = [wire for name, wires in onward.items() if name != most or not name for wire in wires]
        if leaving:
            found.append(Breakout(place=place, wires=tuple(leaving)))
    return found


def _next_run(routes: Routes, wire: str, run: str, place: str) -> str:
    """The run a wire goes on in beyond a place; empty where it ends there."""
    route = routes.wires[wire]
    for number, name in enumerate(route.runs):
        if name != run:
            continue
        if route.places[number + 1] == place:
            return route.runs[number + 1] if number + 1 < len(route.runs) else ""
        if route.places[number] == place:
            return route.runs[number - 1] if number else ""
    return ""
