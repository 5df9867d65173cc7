"""Which lengths are decided for cells that are blank, and does a kept one still stand?

A blank length is decided by the wire's route, unless the wire is cut already: what was decided for it then is frozen.
Each decision has its sum in a sentence, says which of its figures are typical, and carries a digest of all it rests
on: the runs and places it passes, the places of its two ends, what it is twisted with, and the figures it is added up
with. A kept decision is stale once working it out anew gives another digest. Runs that it does not follow do not count,
unless a shorter way has come of them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from loomwright.job.cells_read import all_looked_at
from loomwright.job.decided import cut_wires, digest_of, with_decided, with_decisions, without_decisions
from loomwright.job.figures import text_of_figure
from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.job.rows import Cable, Decision, Reason, VehicleProperty, Wire
from loomwright.quantities.printing import with_unit
from loomwright.routes.end_places import Ends, ends_of
from loomwright.routes.lengths import LengthFigures, core_mm, length_figures
from loomwright.routes.records import Routes, Unrouted, WireRoute
from loomwright.routes.run_map import HUNDREDTHS, RunMap, run_map
from loomwright.routes.together import shared_words

__all__ = ["DECIDED_BY", "length_decisions", "length_says", "stale_lengths", "with_lengths"]

DECIDED_BY = "route"
"""The limit that rules a length."""

_METHOD = "routes.wire_routes"
_CELL = ("wires", "length_mm")
_DIGITS = 7
_PERCENT = 100.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Ground:
    """What the reasons of a job's lengths are told from."""

    figures: LengthFigures
    runs: RunMap
    ends: Mapping[str, Ends | Unrouted]
    wires: Mapping[str, Wire]
    cables: Mapping[str, Cable]
    classes: Mapping[str, str]
    shared: Mapping[str, tuple[str, str]]


def length_decisions(job: Job, kinds: Kinds, routes: Routes) -> tuple[tuple[Decision, ...], tuple[Reason, ...]]:
    """The lengths of wires whose cell is blank and that are not cut yet, and why each is so long.

    Args:
        job: as the sheets have it.
        kinds: the library's and the job's own.
        routes: from `wire_routes` of the same job.
    Example:
        >>> from loomwright.job.rows import Part, Place, Run
        >>> from loomwright.routes.wire_routes import wire_routes
        >>> from loomwright.tables.kinds import load_kinds
        >>> job = Job(
        ...     places=(Place(id="box"), Place(id="nose")),
        ...     runs=(Run(id="R1", from_="box", to="nose", length_mm=815.0),),
        ...     parts=(Part(id="F1", kind="fuse", place="box"), Part(id="L1", kind="lamp", place="nose")),
        ...     wires=(Wire(id="W1", from_="F1.2", to="L1.1"),),
        ... )
        >>> decisions, reasons = length_decisions(job, load_kinds(), wire_routes(job, load_kinds()))
        >>> decisions[0].value, reasons[0].says
        ('940', 'R1 815 mm + 2 × 60 mm at the ends (typical) = 935 mm, up to the next 10 mm')
    """
    ground = _ground(job, kinds)
    blank = _blank(job, routes)
    decisions = tuple(
        Decision(
            sheet=_CELL[0],
            row=route.wire,
            column=_CELL[1],
            value=text_of_figure(route.length_mm),
            decided_by=DECIDED_BY,
            digest=_digest(ground, route),
        )
        for route in blank
    )
    return decisions, tuple(reason for route in blank for reason in _reasons(ground, route))


def _blank(job: Job, routes: Routes) -> list[WireRoute]:
    """The ways of wires whose length cell is blank, those that are cut left out."""
    frozen = cut_wires(job)
    return [one for one in routes.wires.values() if one.stands in ("blank", "decided") and one.wire not in frozen]


def length_says(job: Job, kinds: Kinds, routes: Routes, wires: Collection[str]) -> dict[str, str]:
    """The sum of some wires' lengths, each in a sentence; those without a way are left out."""
    ground = _ground(job, kinds)
    return {name: _sum(ground, routes.wires[name]) for name in wires if name in routes.wires}


def stale_lengths(job: Job, kinds: Kinds, routes: Routes, filled: Job | None = None) -> tuple[str, ...]:
    """Wires whose kept length rests on other rows than there are now, in order; those that are cut are not asked.

    Args:
        filled: the job with what is decided filled in, where it is known already.
    """
    wires = all_looked_at(job.wires, ("id", "length_mm"))
    settled = cut_wires(job) | {row.id for row in wires if row.length_mm is not None}
    decisions = all_looked_at(job.decisions, ("sheet", "row", "column", "digest"))
    asked = [one for one in decisions if (one.sheet, one.column) == _CELL and one.row not in settled]
    if not asked:
        return ()
    ground = _ground(job, kinds, filled)
    now = {route.wire: _digest(ground, route) for route in _blank(job, routes)}
    return tuple(one.row for one in asked if now.get(one.row) != one.digest)


def with_lengths(job: Job, kinds: Kinds, routes: Routes, wires: Collection[str] | None = None) -> Job:
    """The job keeping its lengths as they are worked out now; what is cut already stays as it was decided.

    Kept lengths of wires that are gone, that somebody has typed, or that no way is found for any more, are dropped.

    Args:
        wires: only these; None: all.
    """
    decisions, reasons = length_decisions(job, kinds, routes)
    frozen = cut_wires(job)
    old = [one.row for one in job.decisions if (one.sheet, one.column) == _CELL and one.row not in frozen]
    gone = [name for name in old if wires is None or name in wires]
    job = without_decisions(job, [(_CELL[0], name, _CELL[1]) for name in gone])
    return with_decisions(
        job,
        [one for one in decisions if wires is None or one.row in wires],
        [one for one in reasons if wires is None or one.row in wires],
    )


def _ground(job: Job, kinds: Kinds, filled: Job | None = None) -> _Ground:
    shared: dict[str, tuple[str, str]] = {}
    for key, wires in shared_words(job).items():
        for wire in wires:
            shared.setdefault(wire.id, key)
    return _Ground(
        figures=length_figures(job),
        runs=run_map(job),
        ends=ends_of(job, kinds),
        wires={row.id: row for row in (with_decided(job) if filled is None else filled).wires},
        cables={row.id: row for row in job.cables},
        classes={row.id: row.class_ for row in job.circuits},
        shared=shared,
    )


def _reasons(ground: _Ground, route: WireRoute) -> Iterator[Reason]:
    value = text_of_figure(route.length_mm)
    constants = ["end_allowance_mm", "length_step_mm"]
    constants += [{"place": "within_place_mm", "bolt": "earth_stud_mm"}[route.near]] if route.near else []
    typical = [name for name in constants if name in ground.figures.typical]
    yield Reason(
        sheet=_CELL[0],
        row=route.wire,
        column=_CELL[1],
        limit=DECIDED_BY,
        asks=value,
        says=_sum(ground, route),
        rests_on=_rests_on(ground, route),
        method=_METHOD,
        table=f"constants: {' '.join(typical)}" if typical else "vehicle",
        source="common-practice" if set(typical) - {"length_step_mm"} else "",
    )
    if route.follows:
        column, word = ground.shared.get(route.wire, ("twist", ""))
        says = f"lies beside {route.follows} all the way: both have {word} in the column {column}"
        yield Reason(
            sheet=_CELL[0],
            row=route.wire,
            column=_CELL[1],
            limit="together",
            says=says,
            rests_on=(route.follows,),
            method=_METHOD,
        )
    if route.twisted_mm:
        cable = ground.cables[ground.wires[route.wire].cable]
        thick_mm, _ = core_mm(ground.wires[route.wire], ground.classes)
        more = with_unit(_PERCENT * route.twisted_mm / route.along_mm, "", side="up", digits=2)
        says = (
            f"a core {_mm(thick_mm or 0.0)} thick that goes round once in {_mm(cable.lay_mm or 0.0)} "
            f"takes {more} % more than its cable"
        )
        yield Reason(
            sheet=_CELL[0],
            row=route.wire,
            column=_CELL[1],
            limit="twist",
            says=says,
            rests_on=(cable.id,),
            method=_METHOD,
            table="conductors_road: thin_wall_mm",
            source="from-memory",
        )


def _sum(ground: _Ground, route: WireRoute) -> str:
    """What the length of a wire is added up from."""
    figures, typical = ground.figures, ground.figures.typical
    pieces = [_run_words(ground.runs, name) for name in route.runs]
    if route.near == "place":
        pieces.append(f"{_mm(route.near_mm)} within {route.places[0]}{_typical('within_place_mm', typical)}")
    if route.near == "bolt":
        pieces.append(f"{_mm(route.near_mm)} to a bolt near {route.places[0]}{_typical('earth_stud_mm', typical)}")
    if route.twisted_mm:
        pieces.append(f"{_mm(route.twisted_mm)} for the twist")
    pieces.append(f"2 × {_mm(figures.end_allowance_mm)} at the ends{_typical('end_allowance_mm', typical)}")
    whole_mm = route.along_mm + route.near_mm + route.twisted_mm + route.ends_mm
    return f"{' + '.join(pieces)} = {_mm(whole_mm)}, up to the next {_mm(figures.length_step_mm)}"


def _run_words(runs: RunMap, name: str) -> str:
    straight = " (straight line)" if name in runs.straight else ""
    return f"{name} {_mm(runs.stretches[name].hundredths / HUNDREDTHS)}{straight}"


def _typical(name: str, typical: Collection[str]) -> str:
    return " (typical)" if name in typical else ""


def _mm(length_mm: float) -> str:
    return with_unit(round(length_mm, 1), "mm", digits=_DIGITS)


def _rests_on(ground: _Ground, route: WireRoute) -> tuple[str, ...]:
    ends = ground.ends[route.wire]
    parts = ends.parts if isinstance(ends, Ends) else ()
    return tuple(dict.fromkeys((*route.runs, *route.places, *parts)))


def _digest(ground: _Ground, route: WireRoute) -> str:
    """Of all a length rests on, bare of what does not count for it."""
    figures, wire, ends = ground.figures, ground.wires[route.wire], ground.ends[route.wire]
    hundredths = (f"{name}={ground.runs.stretches[name].hundredths}" for name in route.runs)
    added = (figures.end_allowance_mm, figures.length_step_mm, route.near_mm, round(route.twisted_mm, 2))
    basis = (
        (wire.id, wire.from_, wire.to, *wire.via),
        (ends.first, ends.last, *ends.parts) if isinstance(ends, Ends) else (),
        route.places,
        tuple(hundredths),
        (route.follows, wire.cable),
        tuple(text_of_figure(figure) for figure in added),
    )
    text = "; ".join(" ".join(words) for words in basis)
    # one row that holds all of it: the digest is the same one that tells of every other decision
    return digest_of(Job(vehicle=(VehicleProperty(name="length", value=text),)), ("vehicle",))
