"""Which runs can be followed, and how long is each?

A run is as long as its row says; where that is blank, as the straight line between its two places, which is never too
long. Where a place has no coordinates nobody knows, and nothing is led along the run. Lengths are counted in whole
hundredths of a millimetre, so that two ways of equal length are equal whichever way round they are added up.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from math import dist

import networkx as nx

from loomwright.findings import id_order
from loomwright.job.job import Job
from loomwright.job.rows import Place, Run
from loomwright.tables.constants import constant
from loomwright.tables.coverings import is_sleeved

__all__ = ["HUNDREDTHS", "RunMap", "Stretch", "harm_frac", "run_map"]

HUNDREDTHS = 100
"""Hundredths in a millimetre. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """One run that can be followed, either way. hundredths: its length in hundredths of a millimetre. [-]

    rank: its place in the order of ids, which settles ties. [-]   weighed: what it counts as, not less. [-]
    """

    run: str
    one: str
    other: str
    hundredths: int
    rank: int
    weighed: int

    def beyond(self, place: str) -> str:
        """The place at its other end."""
        return self.other if place == self.one else self.one


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RunMap:
    """The runs of a job as a map.

    stretches: run -> the run as it can be followed, in order of id.   at: place -> the runs that end there.
    straight: runs taken as a straight line.   unmeasured: runs that cannot be followed.
    """

    stretches: Mapping[str, Stretch]
    at: Mapping[str, tuple[Stretch, ...]]
    straight: tuple[str, ...]
    unmeasured: tuple[str, ...]

    def piece(self, place: str) -> frozenset[str]:
        """The places that can be reached from one along the runs, itself among them.

        Example:
            >>> runs = (Run(id="R1", from_="a", to="b", length_mm=1.0), Run(id="R2", from_="c", to="d", length_mm=1.0))
            >>> sorted(run_map(Job(runs=runs)).piece("a"))
            ['a', 'b']
        """
        graph = nx.Graph((stretch.one, stretch.other) for stretch in self.stretches.values())
        return frozenset(nx.node_connected_component(graph, place)) if place in graph else frozenset((place,))


def run_map(job: Job, *, quiet: bool = False, noisy: Collection[str] = ()) -> RunMap:
    """The map of a job's runs.

    Args:
        quiet: for wires that noise disturbs.
        noisy: runs that noisy wires lie in.

    Example:
        >>> a = Place(id="a", x_mm=0.0, y_mm=0.0, z_mm=0.0)
        >>> b = Place(id="b", x_mm=300.0, y_mm=400.0, z_mm=0.0)
        >>> runs = (Run(id="R1", from_="a", to="b"), Run(id="R2", from_="b", to="c"))
        >>> found = run_map(Job(places=(a, b, Place(id="c")), runs=runs))
        >>> found.stretches["R1"].hundredths, found.straight, found.unmeasured
        (50000, ('R1',), ('R2',))
    """
    places = {place.id: place for place in job.places}
    stretches: dict[str, Stretch] = {}
    at: dict[str, list[Stretch]] = {}
    straight: list[str] = []
    unmeasured: list[str] = []
    for rank, run in enumerate(sorted(job.runs, key=lambda row: (id_order(row.id), row.id))):
        length_mm = run.length_mm if run.length_mm is not None else _straight_mm(run, places)
        if length_mm is None:
            unmeasured.append(run.id)
            continue
        if run.length_mm is None:
            straight.append(run.id)
        hundredths = round(length_mm * HUNDREDTHS)
        found = Stretch(
            run=run.id,
            one=run.from_,
            other=run.to,
            hundredths=hundredths,
            rank=rank,
            weighed=round(hundredths * (1.0 + harm_frac(run, quiet=quiet, is_noisy=run.id in noisy))),
        )
        stretches[run.id] = found
        for place in dict.fromkeys((found.one, found.other)):
            at.setdefault(place, []).append(found)
    return RunMap(
        stretches=stretches,
        at={place: tuple(found) for place, found in at.items()},
        straight=tuple(straight),
        unmeasured=tuple(unmeasured),
    )


def harm_frac(run: Run, *, quiet: bool = False, is_noisy: bool = False) -> float:
    """How much longer a run counts than it is, for what can harm a wire there. [0..1]

    Args:
        quiet: for wires that noise disturbs.
        is_noisy: noisy wires lie in it.
    Example:
        >>> harm_frac(Run(id="R1", from_="a", to="b", hazards=("hot", "wet")))
        1.5
        >>> harm_frac(Run(id="R1", from_="a", to="b", hazards=("hot",), covering="conduit", noise="coils"), quiet=True)
        0.5
    """
    harms = () if is_sleeved(run.covering) else run.hazards
    noisy = constant("route_noise_frac") if quiet and (is_noisy or run.noise.strip()) else 0.0
    return noisy + sum(constant(f"route_{word}_frac") for word in dict.fromkeys(harms))


def _straight_mm(run: Run, places: Mapping[str, Place]) -> float | None:
    """The straight line between a run's two places; None where one of them has no coordinates. [mm]"""
    ends = [_coordinates_mm(places.get(name)) for name in (run.from_, run.to)]
    if ends[0] is None or ends[1] is None:
        return None
    return dist(ends[0], ends[1])


def _coordinates_mm(place: Place | None) -> tuple[float, float, float] | None:
    if place is None or place.x_mm is None or place.y_mm is None or place.z_mm is None:
        return None
    return place.x_mm, place.y_mm, place.z_mm
