"""What do the runs say of the wires that a person should know?

    RTE-1  a wire whose length is blank, and no route is found for it
    RTE-2  a length that cannot reach: shorter than its route along the runs
    RTE-3  a `via` that cannot be followed
    RTE-4  wires of one twist, screen or cable that part on the way
    RTE-5  a run that nothing can be routed along, since nobody knows how long it is
    RTE-6  a run that passes a surface too hot for its wires; RTE-7 an open splice in the wet (`harm_findings`)
    RTE-9  a signal in one bundle with what disturbs it (`noise`); RTE-10 a splice where none may lie (`splice_ground`)

Read off the sheets; no state is asked. Method and limits: docs/method/routes.md. RTE-8, a hole too small for its
bundle, packs the wires: `loom.hole_findings`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from loomwright.findings import Finding
from loomwright.job.cells_read import all_looked_at
from loomwright.job.decided import with_decided
from loomwright.job.job import Job
from loomwright.job.points import split_point
from loomwright.job.rows import Wire
from loomwright.routes.harm_findings import harm_findings
from loomwright.routes.noise import noise_findings
from loomwright.routes.records import Routes, Unrouted, WireRoute
from loomwright.routes.splice_ground import splice_findings
from loomwright.routes.together import WORDS, parted
from loomwright.tables.constants import constant

__all__ = ["route_findings"]

_MOST_PLACES = 4
_VIA = ("via", "runs")


def route_findings(job: Job, routes: Routes, filled: Job | None = None) -> tuple[Finding, ...]:
    """RTE-1 to RTE-7, RTE-9 and RTE-10.

    Args:
        job: as the sheets have it.
        routes: from `wire_routes` of the same job.
        filled: the job with what is decided filled in, where it is known already.
    """
    filled = with_decided(job) if filled is None else filled
    seen = all_looked_at(filled.wires, ("id", "fitted", "length_mm"))
    wires = {row.id: wire for wire, row in zip(filled.wires, seen, strict=True) if row.fitted != "removed"}
    typed = frozenset(wire.id for wire in all_looked_at(job.wires, ("id", "length_mm")) if wire.length_mm is not None)
    return (
        *_no_way(wires, routes),
        *_too_short(wires, routes, typed),
        *_no_via(wires, routes),
        *_parted(job, routes),
        *_unmeasured(job, routes),
        *harm_findings(job, wires, routes),
        *noise_findings(job, wires, routes),
        *splice_findings(filled),
    )


def _no_way(wires: Mapping[str, Wire], routes: Routes) -> Iterator[Finding]:
    """RTE-1, wires that lack the same thing together; a free end is NET-1's, and a `via` RTE-3's."""
    by_cause: dict[tuple[str, str], list[Unrouted]] = {}
    for name, found in routes.unrouted.items():
        if wires[name].length_mm is None and found.cause != "free" and not _is_via(wires[name], found):
            by_cause.setdefault((found.why, found.mend), []).append(found)
    for (why, mend), many in by_cause.items():
        names = [one.wire for one in many]
        head = _label(wires[names[0]]) if len(names) == 1 else f"{len(names)} wires ({_listed(names)})"
        yield Finding(
            rule="RTE-1",
            severity="warning",
            at=tuple(names[:_MOST_PLACES]),
            touches=tuple(dict.fromkeys((*names[_MOST_PLACES:], *(name for one in many for name in one.touches)))),
            label=head,
            wrong=f"no length is given and no route is found: {why}",
            mend=mend,
        )


def _too_short(wires: Mapping[str, Wire], routes: Routes, typed: frozenset[str]) -> Iterator[Finding]:
    """RTE-2, held against the runs alone: an end takes more, and a twist too."""
    slack = 1.0 - constant("length_tolerance_frac")
    for name, route in routes.wires.items():
        wire = wires[name]
        if wire.length_mm is None or wire.length_mm >= slack * route.along_mm:
            continue
        kept = wire.fitted == "kept"
        yield Finding(
            rule="RTE-2",
            severity="note" if kept else "warning",
            at=(name,),
            touches=tuple(dict.fromkeys((*route.runs, *_parts(wire)))),
            label=_label(wire),
            wrong=f"it is shorter than its route, {' '.join(route.runs)}",
            found=wire.length_mm,
            allowed=route.along_mm,
            unit="mm",
            mend=_mend(wire, route, kept=kept, decided=name not in typed),
        )


def _mend(wire: Wire, route: WireRoute, *, kept: bool, decided: bool) -> str:
    if kept:
        return "It lies in the car, so it takes another route: add the run it follows, or measure it again"
    if wire.built_length_mm is not None:
        return "Cut it anew, or put its parts at the places they really sit at"
    if decided:
        return "What was decided rests on other rows than there are now: have it worked out anew with route --keep"
    other = "name in via what it really follows" if wire.via else "add the run it really follows"
    return f"By that route it takes {route.length_mm:.0f} mm: type that or clear the cell, or {other}"


def _no_via(wires: Mapping[str, Wire], routes: Routes) -> Iterator[Finding]:
    """RTE-3."""
    for name, found in routes.unrouted.items():
        if _is_via(wires[name], found):
            yield Finding(
                rule="RTE-3",
                severity="warning",
                at=(name,),
                touches=tuple(dict.fromkeys((*found.touches, *_parts(wires[name])))),
                label=_label(wires[name]),
                wrong=f"its via ({' '.join(wires[name].via)}) cannot be followed: {found.why}",
                mend=found.mend,
            )


def _parted(job: Job, routes: Routes) -> Iterator[Finding]:
    """RTE-4."""
    for one in parted(job, routes):
        names = (*one.alone, *(name for name in one.wires if name not in one.alone))
        yield Finding(
            rule="RTE-4",
            severity="note",
            at=names[:_MOST_PLACES],
            touches=(*names[_MOST_PLACES:], *((one.word,) if one.column == "cable" else ())),
            label=f"{one.word} ({WORDS[one.column]} of {_listed(one.wires)})",
            wrong=f"{_listed(one.alone)} {'goes' if len(one.alone) == 1 else 'go'} another way: {one.says}",
            mend=f"Give those that lie side by side one word in the column {one.column}, and the others another",
        )


def _unmeasured(job: Job, routes: Routes) -> Iterator[Finding]:
    """RTE-5."""
    ends = {run.id: (run.from_, run.to) for run in job.runs}
    for run in routes.unmeasured:
        a, b = ends[run]
        yield Finding(
            rule="RTE-5",
            severity="note",
            at=(run,),
            touches=tuple(dict.fromkeys((a, b))),
            label=f"{run} (run, {a} to {b})",
            wrong="nothing is routed along it: it has no length, and not both its places have coordinates",
            mend="Write its length, or x_mm, y_mm and z_mm of both places",
        )


def _is_via(wire: Wire, found: Unrouted) -> bool:
    return bool(wire.via) and found.cause in _VIA


def _parts(wire: Wire) -> tuple[str, ...]:
    return tuple(split_point(end)[0] for end in (wire.from_, wire.to) if end)


def _label(wire: Wire) -> str:
    return f"{wire.id} (wire, {wire.from_ or 'free'} to {wire.to or 'free'})"


def _listed(names: Sequence[str]) -> str:
    more = len(names) - _MOST_PLACES
    return " ".join(names[:_MOST_PLACES]) + (f" and {more} more" if more > 0 else "")
