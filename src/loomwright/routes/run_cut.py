"""What does a job look like with a place of its own within a run, so that a splice can lie there?

In: a job and a spot within a run. Out: the job with a new place there and the run in two: the piece from the far end
keeps the run's id, so that a `via` that names it still holds, and the short piece gets one of its own. Both have the
run's covering, hazards and noise; together they are as long. The place lies on the straight line between the run's
ends where both have figures, its air is that of the hotter end, and it is wet where the run is.

Limits: a run with a hole is not cut, since nobody knows in which piece the hole is: no splice may lie there anyway.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from loomwright.job.job import Job
from loomwright.job.rows import Place, Run
from loomwright.quantities.printing import for_print
from loomwright.routes.run_map import HUNDREDTHS, run_map

__all__ = ["place_within", "with_run_cut"]


def with_run_cut(job: Job, run: str, *, beyond: str, apart_mm: float) -> Job:
    """The job with a place within a run; the same job where nothing can be cut there.

    Args:
        run: of the job, without a hole.
        beyond: the place at its end that is near.
        apart_mm: how far from that end. [mm]
    Example:
        >>> runs = (Run(id="R1", from_="a", to="b", length_mm=900.0, covering="tape"),)
        >>> cut = with_run_cut(Job(places=(Place(id="a"), Place(id="b")), runs=runs), "R1", beyond="a", apart_mm=150.0)
        >>> [(one.id, one.from_, one.to, one.length_mm) for one in cut.runs], cut.places[-1].name
        ([('R1_to_a', 'a', 'R1_by_a', 150.0), ('R1', 'R1_by_a', 'b', 750.0)], '150 mm from a in R1')
    """
    whole = next((row for row in job.runs if row.id == run), None)
    stretch = run_map(job).stretches.get(run)
    if whole is None or stretch is None or whole.hole_mm is not None or beyond not in (whole.from_, whole.to):
        return job
    long_mm = stretch.hundredths / HUNDREDTHS
    if not 0.0 < apart_mm < long_mm or whole.from_ == whole.to:
        return job
    place = _within(job, whole, beyond, apart_mm, apart_mm / long_mm)
    near_id = _free(f"{run}_to_{beyond}", {row.id for row in job.runs})
    from_here = whole.from_ == beyond
    if from_here:
        near = replace(whole, id=near_id, to=place.id, length_mm=apart_mm)
        far = replace(whole, from_=place.id, length_mm=long_mm - apart_mm)
    else:
        near = replace(whole, id=near_id, from_=place.id, length_mm=apart_mm)
        far = replace(whole, to=place.id, length_mm=long_mm - apart_mm)
    pair = (near, far) if from_here else (far, near)
    return replace(
        job,
        places=(*job.places, place),
        runs=tuple(one for row in job.runs for one in (pair if row.id == run else (row,))),
    )


def place_within(job: Job, run: str, *, beyond: str, apart_mm: float) -> str:
    """The place that stands so far along a run from one of its ends; empty where there is none yet.

    Args:
        run: of the job.
        beyond: the place at its end that is near.
        apart_mm: how far from that end. [mm]
    """
    name = _called(run, beyond, apart_mm)
    return next((place.id for place in job.places if place.name == name), "")


def _within(job: Job, run: Run, beyond: str, apart_mm: float, share: float) -> Place:
    places = {place.id: place for place in job.places}
    near = places.get(beyond, Place(id=beyond))
    other = places.get(run.to if run.from_ == beyond else run.from_, near)
    at_mm = [_between(getattr(near, axis), getattr(other, axis), share) for axis in ("x_mm", "y_mm", "z_mm")]
    airs = [one.ambient_c for one in (near, other) if one.ambient_c is not None]
    return Place(
        id=_free(f"{run.id}_by_{beyond}", places),
        name=_called(run.id, beyond, apart_mm),
        x_mm=at_mm[0],
        y_mm=at_mm[1],
        z_mm=at_mm[2],
        zone=near.zone,
        ambient_c=max(airs, default=None),
        wet=True if "wet" in run.hazards else None,
    )


def _called(run: str, beyond: str, apart_mm: float) -> str:
    return f"{for_print(apart_mm)} mm from {beyond} in {run}"


def _between(near_mm: float | None, other_mm: float | None, share: float) -> float | None:
    if near_mm is None or other_mm is None:
        return None
    return round(near_mm + (other_mm - near_mm) * share, 1)


def _free(name: str, taken: Collection[str]) -> str:
    number, found = 1, name
    while found in taken:
        number, found = number + 1, f"{name}_{number + 1}"
    return found
