"""What comes out of the loom at each peg, and how far?

Every wire end that the loom has at a place, by the plug or the part it goes to. An end reaches beyond its peg by half
of what its wire is longer than its runs: of what was really cut where it is built, else of what the wire list says.

    reach = (length - runs - twist) / 2

A wire that follows no run lies beside the peg. Limits: a built wire's two ends are taken to be equally long.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.findings import id_order
from loomwright.job.job import Job
from loomwright.job.points import split_point
from loomwright.job.rows import Wire
from loomwright.routes.records import Routes, WireRoute

__all__ = ["LooseEnd", "loose_ends"]

_FITTED = ("new", "donor")


@dataclass(frozen=True, slots=True, kw_only=True)
class LooseEnd:
    """The wires that go to one plug or part at a peg. to: the connector, or the part, or the metal.

    reach_mm: of the shortest beyond the peg; None: of none is it known. [mm]   short: wires that do not reach the peg.
    beside: wires that follow no run and lie at the peg.
    """

    place: str
    to: str
    wires: tuple[str, ...]
    reach_mm: float | None
    short: tuple[str, ...]
    beside: tuple[str, ...]


def loose_ends(job: Job, routes: Routes, plugs: Mapping[str, Mapping[str, str]]) -> tuple[LooseEnd, ...]:
    """What comes out at each place, in order of place and plug.

    Args:
        job: with what was decided filled in.
        routes: of the same job.
        plugs: part -> terminal -> the connector it sits in.
    """
    found: dict[tuple[str, str], list[tuple[Wire, WireRoute]]] = {}
    for wire in job.wires:
        route = routes.wires.get(wire.id)
        if route is None or wire.fitted not in _FITTED:
            continue
        for point, place in ((wire.from_, route.places[0]), (wire.to, route.places[-1])):
            part, terminal = split_point(point)
            to = plugs.get(part, {}).get(terminal, part) or "open end"
            rows = found.setdefault((place, to), [])
            if all(other.id != wire.id for other, _ in rows):
                rows.append((wire, route))
    ordered = sorted(found, key=lambda one: (one[0], id_order(one[1]), one[1]))
    return tuple(_record(place, to, found[place, to]) for place, to in ordered)


def _record(place: str, to: str, rows: list[tuple[Wire, WireRoute]]) -> LooseEnd:
    rows = sorted(rows, key=lambda one: id_order(one[0].id))
    reaches = {wire.id: _reach_mm(wire, route) for wire, route in rows if route.runs}
    return LooseEnd(
        place=place,
        to=to,
        wires=tuple(wire.id for wire, _ in rows),
        reach_mm=max(min(reaches.values()), 0.0) if reaches else None,
        short=tuple(name for name, reach_mm in reaches.items() if reach_mm < 0.0),
        beside=tuple(wire.id for wire, route in rows if not route.runs),
    )


def _reach_mm(wire: Wire, route: WireRoute) -> float:
    long_mm = wire.built_length_mm or wire.length_mm or route.length_mm
    return (long_mm - route.along_mm - route.twisted_mm) / 2
