"""Which wires disturb others, which are disturbed, and where do the two lie side by side for too long?

    RTE-9  an unscreened sensor or data wire lies in the same runs as a noisy one for more than `noise_shared_mm`

Noisy are circuits whose class gives noise, sensitive those whose class takes it (`tables/classes.csv`). A screen keeps
noise out; twisted with its return a wire picks up little, so it is not told, but led off noise all the same. Told once
for two circuits, with the length that their wires share and the way round where there is one.

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
    """What a noisy and a sensitive circuit share: runs in order, and the wires of each in them."""

    runs: list[str] = field(default_factory=list)
    noisy: dict[str, None] = field(default_factory=dict)
    sensitive: dict[str, None] = field(default_factory=dict)


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
                    found = shared.setdefault((one.circuit, other.circuit), _Shared())
                    if run not in found.runs:
                        found.runs.append(run)
                    found.noisy[one.id] = None
                    found.sensitive[other.id] = None
    if not shared:
        return
    measured = run_map(job)
    for (gives_to, takes_from), found in sorted(shared.items(), key=lambda one: [id_order(name) for name in one[0]]):
        shared_mm = sum(measured.stretches[run].hundredths for run in found.runs) / HUNDREDTHS
        if shared_mm > constant("noise_shared_mm"):
            yield _told(measured, routes, found, gives_to, takes_from, shared_mm)


def _told(
    measured: RunMap, routes: Routes, found: _Shared, gives_to: str, takes_from: str, shared_mm: float
) -> Finding:
    noisy, sensitive = list(found.noisy), list(found.sensitive)
    names = [sensitive[0], noisy[0]]
    return Finding(
        rule="RTE-9",
        severity="note",
        at=tuple(names),
        touches=tuple(dict.fromkeys((*found.runs, *sensitive[1:_MOST_PLACES], *noisy[1:_MOST_PLACES]))),
        label=f"{takes_from} ({_listed(sensitive)}) beside {gives_to} ({_listed(noisy)})",
        wrong=f"a signal lies in one bundle with what disturbs it, in {' '.join(found.runs)}",
        found=shared_mm,
        allowed=constant("noise_shared_mm"),
        unit="mm",
        source="common-practice",
        mend=_mend(measured, routes, found),
    )


def _listed(names: list[str]) -> str:
    more = len(names) - _MOST_PLACES
    return " ".join(names[:_MOST_PLACES]) + (f" and {more} more" if more > 0 else "")


def _mend(measured: RunMap, routes: Routes, found: _Shared) -> str:
    """The way round of the first sensitive wire, where the runs have one; else a screen."""
    screen = "screen it, joined to earth at one end, or twist it with its return"
    wire = next(iter(found.sensitive))
    route = routes.wires[wire]
    left = {name: one for name, one in measured.stretches.items() if name not in found.runs}
    at = {place: tuple(one for one in row if one.run in left) for place, row in measured.at.items()}
    ends = (route.places[0], route.places[-1])
    way = shortest_ways(replace(measured, stretches=left, at=at), [ends]).get(ends)
    if way is None:
        return f"There is no way round for {wire} along the runs there are: {screen}"
    more = with_unit(max(way.along_mm - route.along_mm, 0.0), "mm", side="up", digits=4)
    return f"Lead {wire} by {' '.join(way.runs)} (via), {more} longer; or {screen}"
