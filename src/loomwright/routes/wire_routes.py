"""Which runs does each wire follow, and how long does that make it?

In: a job and the part kinds. Out: for every wire that is not removed, its way along the runs with the length that
makes, or why it has none.

    1. each end sits at a place                            `end_places`
    2. the way between them that counts least, through `via`   `ways`
    3. wires that lie side by side follow one way          `together`
    4. runs + near + twist + ends, up to the next step     `lengths`

A length is worked out for every wire, whatever stands in its cell: what stands there is held against it (RTE-2), and a
blank cell is decided by it. Method and limits: docs/method/routes.md.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from loomwright.findings import id_order
from loomwright.job.decided import with_decided
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.job.rows import Run, Wire
from loomwright.job.schema import column_of
from loomwright.routes.end_places import Ends, ends_of
from loomwright.routes.lengths import LengthFigures, core_mm, length_figures, rounded_mm, twist_mm
from loomwright.routes.noise import is_disturbed, is_noisy
from loomwright.routes.records import Near, Routes, Stands, Unrouted, WireRoute
from loomwright.routes.run_map import RunMap, run_map
from loomwright.routes.together import bundled
from loomwright.routes.ways import Asked, Way, ways_through

__all__ = ["MOST_MM", "wire_routes"]

_NAMED_MOST = 4

MOST_MM = column_of("wires", "length_mm").most or 0.0
"""The longest a wire may be by its column. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Figures:
    """What the lengths of a job are worked out with. core_mm: outside diameter of each core of a cable with a lay."""

    lengths: LengthFigures
    lay_mm: Mapping[str, float]
    core_mm: Mapping[str, float]
    decided: frozenset[str]


def wire_routes(job: Job, kinds: Kinds, filled: Job | None = None) -> Routes:
    """The way and the length of every wire of a job that is not removed.

    Args:
        job: as the sheets have it; kept decisions give sizes where the sheets give none.
        kinds: the library's and the job's own.
        filled: the job with what is decided filled in, where it is known already.
    Raises:
        OutOfReach: a length property of the vehicle that cannot be what it says; a job that was read has none.
    Source:
        allowances and distances within a place: common practice, no source; typical unless the sheet `vehicle` gives
        its own.
    Example:
        >>> from loomwright.job.rows import Part, Place
        >>> from loomwright.tables.kinds import load_kinds
        >>> job = Job(
        ...     places=(Place(id="box"), Place(id="nose")),
        ...     runs=(Run(id="R1", from_="box", to="nose", length_mm=815.0),),
        ...     parts=(Part(id="F1", kind="fuse", place="box"), Part(id="L1", kind="lamp", place="nose")),
        ...     wires=(Wire(id="W1", from_="F1.2", to="L1.1"),),
        ... )
        >>> route = wire_routes(job, load_kinds()).wires["W1"]
        >>> route.runs, route.along_mm, route.ends_mm, route.length_mm
        (('R1',), 815.0, 120.0, 940.0)
    """
    runs, ends, figures = run_map(job), ends_of(job, kinds), _figures(job, filled)
    wires = sorted((wire for wire in job.wires if wire.fitted != "removed"), key=_order)
    asked = {wire.id: (found.first, wire.via, found.last) for wire in wires if isinstance(found := ends[wire.id], Ends)}
    ways = _ways(job, runs, asked)
    follows = _side_by_side(job, asked, ways)
    apart = _apart(runs, [question for name, question in asked.items() if name not in ways])
    led: dict[str, WireRoute] = {}
    unrouted: dict[str, Unrouted] = {}
    for wire in wires:
        found = ends[wire.id]
        if isinstance(found, Unrouted):
            unrouted[wire.id] = found
        elif wire.id not in ways:
            unrouted[wire.id] = _no_way(runs, wire.id, asked[wire.id], apart)
        else:
            route = _route(figures, wire, found, ways[wire.id], follows.get(wire.id, ""))
            if route.length_mm <= MOST_MM:
                led[wire.id] = route
            else:
                unrouted[wire.id] = _too_long(route)
    return Routes(
        wires=FixedMap(led),
        unrouted=FixedMap(unrouted),
        runs=FixedMap(_in_runs(job, led.values())),
        straight=runs.straight,
        unmeasured=runs.unmeasured,
    )


def _ways(job: Job, runs: RunMap, asked: Mapping[str, Asked]) -> dict[str, Way]:
    """The way of each wire; those that noise disturbs, last, are kept off noise where the way round is not too long."""
    classes = {circuit.id: circuit.class_ for circuit in job.circuits}
    gives = {wire.id for wire in job.wires if is_noisy(wire, classes)}
    quiet = {wire.id for wire in job.wires if is_disturbed(wire, classes)}

    def answered(wires: Collection[str], on: RunMap) -> dict[str, Way]:
        answers = ways_through(on, dict.fromkeys(question for name, question in asked.items() if name in wires))
        return {name: answers[question] for name, question in asked.items() if name in wires and question in answers}

    found = answered(asked.keys() - quiet, runs)
    noisy = frozenset(run for name in gives & found.keys() for run in found[name].runs)
    disturbs = noisy or any(run.noise.strip() for run in job.runs)
    found |= answered(asked.keys() & quiet, run_map(job, quiet=True, noisy=noisy) if quiet and disturbs else runs)
    return {name: found[name] for name in asked if name in found}


def _side_by_side(job: Job, asked: Mapping[str, Asked], ways: dict[str, Way]) -> dict[str, str]:
    """Gives wires that belong together the way of the first of them; who follows whom."""
    follows: dict[str, str] = {}
    for group in bundled(job):
        by_ends: dict[tuple[str, str], list[Wire]] = {}
        for wire in group:
            if wire.id in asked:
                first, _, last = asked[wire.id]
                by_ends.setdefault((min(first, last), max(first, last)), []).append(wire)
        for wires in by_ends.values():
            able = [wire for wire in wires if wire.id in ways]
            # the sort is stable: the first by id of those with a via, else the first by id
            lead = min(able, key=lambda wire: not wire.via, default=None)
            for wire in wires:
                if lead is None or wire is lead:
                    continue
                same = asked[wire.id][0] == asked[lead.id][0]
                ways[wire.id] = ways[lead.id] if same else ways[lead.id].back()
                follows[wire.id] = lead.id
    return follows


def _figures(job: Job, filled: Job | None) -> _Figures:
    lay_mm = {cable.id: cable.lay_mm for cable in job.cables if cable.lay_mm is not None}
    classes = {circuit.id: circuit.class_ for circuit in job.circuits}
    filled = with_decided(job) if filled is None else filled
    thick_mm = {wire.id: core_mm(wire, classes)[0] for wire in filled.wires if wire.cable in lay_mm}
    return _Figures(
        lengths=length_figures(job),
        lay_mm=lay_mm,
        core_mm={name: value for name, value in thick_mm.items() if value is not None},
        decided=frozenset(one.row for one in job.decisions if (one.sheet, one.column) == ("wires", "length_mm")),
    )


def _route(figures: _Figures, wire: Wire, ends: Ends, way: Way, follows: str) -> WireRoute:
    """The route of a wire whose way is known."""
    lengths, along_mm = figures.lengths, way.along_mm
    near: Near = ends.near or ("" if way.runs else "place")
    near_mm = {"": 0.0, "place": lengths.within_place_mm, "bolt": lengths.earth_stud_mm}[near]
    core_mm, lay_mm = figures.core_mm.get(wire.id), figures.lay_mm.get(wire.cable)
    twisted_mm = 0.0
    if core_mm is not None and lay_mm is not None:
        twisted_mm = twist_mm(along_mm=along_mm, core_mm=core_mm, lay_mm=lay_mm)
    ends_mm = 2 * lengths.end_allowance_mm
    whole_mm = along_mm + near_mm + twisted_mm + ends_mm
    return WireRoute(
        wire=wire.id,
        places=way.places,
        runs=way.runs,
        along_mm=along_mm,
        near_mm=near_mm,
        twisted_mm=twisted_mm,
        ends_mm=ends_mm,
        length_mm=rounded_mm(whole_mm, step_mm=lengths.length_step_mm),
        near=near,
        stands=_stands(wire, figures.decided),
        follows=follows,
    )


def _stands(wire: Wire, decided: frozenset[str]) -> Stands:
    if wire.built_length_mm is not None:
        return "built"
    if wire.length_mm is not None:
        return "typed"
    return "decided" if wire.id in decided else "blank"


def _apart(runs: RunMap, broken: Iterable[Asked]) -> dict[Asked, str]:
    """For questions that runs could answer but for their `via`: the first of it that is out of reach."""
    tried = {each: [(each[0], each[1][:count], each[2]) for count in range(len(each[1]) + 1)] for each in broken}
    answers = ways_through(runs, dict.fromkeys(one for row in tried.values() for one in row))
    return {
        each: each[1][next(count for count, one in enumerate(row) if one not in answers) - 1]
        for each, row in tried.items()
        if row[0] in answers
    }


def _no_way(runs: RunMap, wire: str, asked: Asked, apart: Mapping[Asked, str]) -> Unrouted:
    """Why two places, or what lies between them, are not joined by runs."""
    first, via, last = asked
    unmeasured = [name for name in via if name in runs.unmeasured]
    if unmeasured:
        return Unrouted(
            wire=wire,
            cause="via",
            why=f"{unmeasured[0]} in its via has no length, and its places have no coordinates",
            mend=f"Write the length of {unmeasured[0]} in the sheet runs",
            touches=(unmeasured[0],),
        )
    if asked in apart:
        name = apart[asked]
        return Unrouted(
            wire=wire,
            cause="via",
            why=f"no runs lead from {first} by way of {name} in its via to {last}",
            mend=f"Take {name} out of its via, or add the runs that lead there",
            touches=tuple(dict.fromkeys((name, first, last))),
        )
    if not runs.at and not runs.unmeasured:
        mend = "Write the places and the runs between them, or type its length"
        return Unrouted(wire=wire, cause="runs", why="there are no runs to follow", mend=mend)
    bare = next((place for place in (first, last) if place not in runs.at), "")
    why = f"no run that can be followed leads to {bare}" if bare else _in_pieces(runs, first, last)
    mend = f"Add the run that leads to {bare}" if bare else "Add the run that is missing between them"
    if runs.unmeasured:
        why += f" ({' '.join(runs.unmeasured)}: no length, and places without coordinates)"
        mend = f"Write the lengths of runs that have none, or {mend[0].lower()}{mend[1:]}"
    mend += ", or type the wire's length"
    return Unrouted(wire=wire, cause="runs", why=why, mend=mend, touches=(first, last, *runs.unmeasured))


def _too_long(route: WireRoute) -> Unrouted:
    return Unrouted(
        wire=route.wire,
        cause="long",
        why=f"its route makes {route.length_mm / 1000.0:.0f} m, and a wire has {MOST_MM / 1000.0:.0f} m at most",
        mend="Look at the lengths of the runs it follows: " + " ".join(dict.fromkeys(route.runs)),
        touches=tuple(dict.fromkeys(route.runs)),
    )


def _in_runs(job: Job, led: Iterable[WireRoute]) -> dict[str, tuple[str, ...]]:
    """The wires in each run, every run of the job in order of id."""
    inside: dict[str, list[str]] = {run.id: [] for run in sorted(job.runs, key=_order)}
    for route in led:
        for run in route.runs:
            inside[run].append(route.wire)
    return {run: tuple(wires) for run, wires in inside.items()}


def _order(row: Wire | Run) -> tuple[object, ...]:
    return id_order(row.id), row.id


def _in_pieces(runs: RunMap, first: str, last: str) -> str:
    """That runs stand in pieces which do not meet, the larger first: of all wires between two the same is said."""
    pieces = sorted((runs.piece(first), runs.piece(last)), key=lambda piece: (-len(piece), sorted(piece)))
    names = [" ".join(sorted(piece)[:_NAMED_MOST]) for piece in pieces]
    more = [f" and {len(piece) - _NAMED_MOST} more" if len(piece) > _NAMED_MOST else "" for piece in pieces]
    return f"the runs are in pieces that do not meet: {names[0]}{more[0]}, and {names[1]}{more[1]}"
