"""What harms wires where they lie?

    RTE-6  wires in a run that passes a surface hotter than their insulation stands: it melts, and two of them meet
    RTE-7  a splice in a wet place that is not sealed: it turns green, and its ohms rise

RTE-6 asks each run with a `surface_c`: bare, taped or in an open wrap, the surface may be no hotter than the lowest
insulation class in the run; inside a sleeve or tube (`covering` says what) it may be `covered_surface_k` hotter, as far
as the sleeve itself stands it: one that has melted keeps nothing off. RTE-7 asks each splice whose place is `wet`,
unless its setting says `sealed=yes`.

Limits: how far away the surface is nobody says; a temperature measured at the covering is the better figure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from loomwright.findings import Finding
from loomwright.job.cells_read import all_looked_at
from loomwright.job.job import Job
from loomwright.job.rows import Wire
from loomwright.routes.records import Routes
from loomwright.tables.constants import constant
from loomwright.tables.coverings import covering_named, is_sleeved
from loomwright.tables.limits import insulation_class_c

__all__ = ["harm_findings"]

_MOST_PLACES = 4


def harm_findings(job: Job, wires: Mapping[str, Wire], routes: Routes) -> Iterator[Finding]:
    """RTE-6 and RTE-7.

    Args:
        wires: those that are not removed, by id.
        routes: which runs each follows.
    """
    yield from _hot_runs(job, wires, routes)
    yield from _wet_splices(job)


def _hot_runs(job: Job, wires: Mapping[str, Wire], routes: Routes) -> Iterator[Finding]:
    for run in job.runs:
        if run.surface_c is None:
            continue
        inside = [name for name, way in routes.wires.items() if run.id in way.runs and name in wires]
        classes = {name: insulation_class_c(wires[name].insulation) for name in inside}
        known = {name: class_c for name, class_c in classes.items() if class_c is not None}
        melts = sorted(
            (limit_c, name)
            for name, limit_c in ((name, _stands_c(class_c, run.covering)) for name, class_c in known.items())
            if run.surface_c > limit_c
        )
        if melts:
            yield _melts(run.id, run.covering, run.surface_c, melts)


def _stands_c(class_c: float, covering: str) -> float:
    """How hot a surface a wire may pass in a covering. [C]"""
    if not is_sleeved(covering):
        return class_c
    inside_c = class_c + constant("covered_surface_k")
    kind = covering_named(covering)
    return inside_c if kind is None else max(class_c, min(inside_c, kind.hottest_c))


def _melts(run: str, covering: str, surface_c: float, melts: list[tuple[float, str]]) -> Finding:
    names = [name for _, name in melts]
    others = f" and {len(names) - 1} more beside it" if len(names) > 1 else ""
    return Finding(
        rule="RTE-6",
        severity="warning",
        at=(run, *names)[:_MOST_PLACES],
        touches=tuple(names[_MOST_PLACES - 1 :]),
        label=f"{run} (run{', ' + covering if covering else ', no covering'})",
        wrong=f"it passes a surface that melts the insulation of {names[0]}{others}: what melts together is joined",
        found=surface_c,
        allowed=melts[0][0],
        unit="°C",
        source="common-practice",
        mend="Lead it another way, or put a heat sleeve over it and a gap or a shield between",
    )


def _wet_splices(job: Job) -> Iterator[Finding]:
    wet = {place.id for place in job.places if place.wet}
    seen = all_looked_at(job.parts, ("kind", "fitted", "place"))
    for part, row in zip(job.parts, seen, strict=True):
        if row.kind != "splice" or row.fitted == "removed" or row.place not in wet:
            continue
        if part.settings.get("sealed", "no") != "yes":
            yield Finding(
                rule="RTE-7",
                severity="warning",
                at=(part.id,),
                touches=(part.place,),
                label=f"{part.id} (splice{', ' + part.name if part.name else ''})",
                wrong=f"it lies at {part.place}, which is wet, and nothing says that it is sealed",
                mend="Seal it with glue-lined sleeve and write sealed=yes in its settings, or move it to a dry place",
            )
