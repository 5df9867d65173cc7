"""Which wires disturb others, which are disturbed, and where do the two lie side by side for too long?

    RTE-9  an unscreened sensor or data wire lies in the same runs as a noisy one for more than `noise_shared_mm`

Noisy are circuits whose class gives noise, sensitive those whose class takes it (`tables/classes.csv`). A screen keeps
noise out; twisted with its return a wire picks up little, so it is not told, but led off noise all the same. Told once
for a sensitive circuit, with every noisy one it lies beside for too long, the longest length shared, and the way round
where there is one. What a row of the sheet `waived` names is left out by itself: the others are told all the same.

Limits: how far apart two wires lie in one bundle, and what current flows, is not looked at.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from loomwright.findings import Finding, id_order
from loomwright.job.cells_read import all_looked_at
from loomwright.job.job import Job
from loomwright.job.rows import Wire
from loomwright.quantities.printing import with_unit
from loomwright.routes.records import Routes
from loomwright.routes.run_map import HUNDREDTHS, RunMap, run_map
from loomwright.routes.ways import shortest_ways
from loomwright.tables.constants import constant
from loomwright.tables.limits import noise_of

__all__ = ["is_disturbed", "is_noisy", "noise_findings"]

_MOST_PLACES = 4
_LOOKS_AT = ("id", "circuit", "fitted", "screen", "twist")


@dataclass(slots=True, kw_only=True)
class _Shared:
    """What a noisy circuit shares with a sensitive one: runs in order, and the wires of each in them."""

    gives: str
    runs: list[str] = field(default_factory=list)
    noisy: dict[str, None] = field(default_factory=dict)
    sensitive: dict[str, None] = field(default_factory=dict)
    shared_mm: float = 0.0


def is_noisy(wire: Wire, classes: Mapping[str, str]) -> bool:
    """Whether a wire disturbs others: its circuit's class gives noise, and no screen keeps it in.

    Args:
        classes: circuit -> its class.
    """
    return wire.fitted != "removed" and noise_of(classes.get(wire.circuit, "")) == "gives" and not wire.screen


def is_disturbed(wire: Wire, classes: Mapping[str, str]) -> bool:
    """Whether noise disturbs a wire: its circuit's class takes it, and no screen keeps it out.

    Args:
        classes: circuit -> its class.
    """
    return noise_of(classes.get(wire.circuit, "")) == "takes" and not wire.screen


def noise_findings(job: Job, wires: Mapping[str, Wire], routes: Routes) -> Iterator[Finding]:
    """RTE-9.

    Args:
        wires: those that are not removed, by id.
        routes: which runs each follows.
    """
    classes = {circuit.id: circuit.class_ for circuit in job.circuits}
    seen = dict(zip(wires, all_looked_at(wires.values(), _LOOKS_AT), strict=True))
    shared: dict[tuple[str, str], _Shared] = {}
    for run, inside in routes.runs.items():
        here = [seen[name] for name in dict.fromkeys(inside) if name in seen]
        gives = [wire for wire in here if is_noisy(wire, classes)]
        takes = [wire for wire in here if is_disturbed(wire, classes) and not wire.twist]
        for one in gives:
            for other in takes:
                if "new" in (one.fitted, other.fitted):
                    found = shared.setdefault((other.circuit, one.circuit), _Shared(gives=one.circuit))
                    if run not in found.runs:
                        found.runs.append(run)
                    found.noisy[one.id] = None
                    found.sensitive[other.id] = None
    if not shared:
        return
    measured = run_map(job)
    left_out = {row.point for row in job.waived if row.rule == "RTE-9"}
    beside: dict[str, list[_Shared]] = {}
    for (takes_from, _), found in sorted(shared.items(), key=lambda one: [id_order(name) for name in one[0]]):
        found.shared_mm = sum(measured.stretches[run].hundredths for run in found.runs) / HUNDREDTHS
        is_long = found.shared_mm > constant("noise_shared_mm")
        if is_long and not left_out & {*found.runs, *found.noisy, *found.sensitive}:
            beside.setdefault(takes_from, []).append(found)
    for takes_from, those in beside.items():
        yield _told(measured, routes, takes_from, sorted(those, key=lambda one: -one.shared_mm))


def _told(measured: RunMap, routes: Routes, takes_from: str, those: list[_Shared]) -> Finding:
    """One finding of a sensitive circuit. those: what it lies beside, the longest shared first."""
    longest = those[0]
    runs = list(dict.fromkeys(run for one in those for run in one.runs))
    sensitive = list(dict.fromkeys(wire for one in those for wire in one.sensitive))
    noisy = list(dict.fromkeys(wire for one in those for wire in one.noisy))
    at = (next(iter(longest.sensitive)), noisy[0])
    most = f", the longest beside {longest.gives}" if len(those) > 1 else ""
    return Finding(
        rule="RTE-9",
        severity="note",
        at=at,
        touches=tuple(name for name in (*runs, *sensitive, *noisy) if name not in at),
        label=f"{takes_from} ({_listed(sensitive)}) beside "
        + ", ".join(f"{one.gives} ({_listed(list(one.noisy))})" for one in those),
        wrong=f"a signal lies in one bundle with what disturbs it, in {' '.join(runs)}{most}",
        found=longest.shared_mm,
        allowed=constant("noise_shared_mm"),
        unit="mm",
        source="common-practice",
        mend=_mend(measured, routes, at[0], runs),
    )


def _listed(names: list[str]) -> str:
    more = len(names) - _MOST_PLACES
    return " ".join(names[:_MOST_PLACES]) + (f" and {more} more" if more > 0 else "")


def _mend(measured: RunMap, routes: Routes, wire: str, runs: list[str]) -> str:
    """The way round of a sensitive wire past these runs, where there is one; else a screen."""
    screen = "screen it, joined to earth at one end, or twist it with its return"
    route = routes.wires[wire]
    left = {name: one for name, one in measured.stretches.items() if name not in runs}
    at = {place: tuple(one for one in row if one.run in left) for place, row in measured.at.items()}
    ends = (route.places[0], route.places[-1])
    way = shortest_ways(replace(measured, stretches=left, at=at), [ends]).get(ends)
    if way is None:
        return f"There is no way round for {wire} along the runs there are: {screen}"
    more = with_unit(max(way.along_mm - route.along_mm, 0.0), "mm", side="up", digits=4)
    return f"Lead {wire} by {' '.join(way.runs)} (via), {more} longer; or {screen}"
