"""In which order do tests take the least walking and the fewest turns of the key?

Tests made at one place in one state are one stop. Between stops: the straight line between the two places at walking
pace, so many seconds for each switch that has to be moved and for another instrument. The stops are put in order as a
routing task (OR-tools: cheapest arc first, then local search, always with the same outcome), begun anywhere and ended
anywhere. The order of the ids is kept where it is no worse, so ordering never costs anything.

Source: one metre a second, 5 s for a switch, 10 s for another instrument: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import dist

from loomwright.job.rows import Place
from loomwright.proving.plan import PlannedTest

__all__ = ["Walk", "ordered", "walk_of"]

_PACE_MM_PER_S = 1000.0
_TURN_S, _SWAP_S = 5.0, 10.0
_UNKNOWN_MM = 1500.0
"""Between two places of which one has no position: typical [mm]."""
_TENTHS = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """What an order takes. walk_mm: in straight lines. turns: of keys and switches. seconds_s: all together."""

    walk_mm: float
    turns: int
    seconds_s: float


@dataclass(frozen=True, slots=True)
class _Stop:
    place: str
    when: str
    put: str
    measure: str


def ordered(
    tests: Sequence[PlannedTest], places: Mapping[str, Place], begun: PlannedTest | None = None
) -> tuple[PlannedTest, ...]:
    """Tests of one stage in the order that takes least, never worse than the order they come in.

    Args:
        places: by id.
        begun: the test that is made before them, if any.
    """
    stops: dict[_Stop, list[PlannedTest]] = {}
    for test in tests:
        stops.setdefault(_stop(test), []).append(test)
    if len(stops) <= 1:
        return tuple(tests)
    order = _routed(list(stops), places, None if begun is None else _stop(begun))
    found = tuple(test for stop in order for test in stops[stop])
    lead = () if begun is None else (begun,)
    as_given = walk_of((*lead, *tests), places)
    return found if walk_of((*lead, *found), places).seconds_s < as_given.seconds_s else tuple(tests)


def walk_of(tests: Sequence[PlannedTest], places: Mapping[str, Place]) -> Walk:
    """What it takes to make tests in this order."""
    stops = [_stop(test) for test in tests]
    return Walk(
        walk_mm=sum(_way_mm(one, other, places) for one, other in pairwise(stops)),
        turns=sum(_turns(one, other) for one, other in pairwise(stops)),
        seconds_s=sum(_seconds_s(one, other, places) for one, other in pairwise(stops)),
    )


def _stop(test: PlannedTest) -> _Stop:
    return _Stop(test.place, test.when, test.put, test.measure)


def _seconds_s(one: _Stop, other: _Stop, places: Mapping[str, Place]) -> float:
    swap_s = 0.0 if one.measure == other.measure else _SWAP_S
    return _way_mm(one, other, places) / _PACE_MM_PER_S + _TURN_S * _turns(one, other) + swap_s


def _way_mm(one: _Stop, other: _Stop, places: Mapping[str, Place]) -> float:
    if one.place == other.place:
        return 0.0
    here, there = (_spot(places.get(stop.place)) for stop in (one, other))
    return _UNKNOWN_MM if here is None or there is None else dist(here, there)


def _spot(place: Place | None) -> tuple[float, float, float] | None:
    if place is None or place.x_mm is None or place.y_mm is None:
        return None
    return place.x_mm, place.y_mm, place.z_mm or 0.0


def _turns(one: _Stop, other: _Stop) -> int:
    first, second = (dict(_terms(stop)) for stop in (one, other))
    return sum(first.get(name) != second.get(name) for name in {*first, *second})


def _terms(stop: _Stop) -> list[tuple[str, str]]:
    pairs = [term.partition("=") for term in stop.when.split(", ") if term]
    return [(name, value) for name, _, value in pairs] + ([("put", stop.put)] if stop.put else [])


def _routed(stops: Sequence[_Stop], places: Mapping[str, Place], begun: _Stop | None) -> list[_Stop]:
    """The stops in a good order: node 0 stands for where one begins, at no cost to end there."""
    from ortools.constraint_solver import pywrapcp, routing_enums_pb2  # type: ignore[import-untyped]

    tenths = [[0] + [0 if begun is None else _tenths(begun, stop, places) for stop in stops]]
    tenths += [[0] + [_tenths(one, other, places) for other in stops] for one in stops]
    manager = pywrapcp.RoutingIndexManager(len(tenths), 1, 0)
    routing = pywrapcp.RoutingModel(manager)
    routing.SetArcCostEvaluatorOfAllVehicles(routing.RegisterTransitMatrix(tenths))
    asked = pywrapcp.DefaultRoutingSearchParameters()
    asked.first_solution_strategy = routing_enums_pb2.FirstSolutionStrategy.PATH_CHEAPEST_ARC
    found = routing.SolveWithParameters(asked)
    if found is None:
        return list(stops)
    order, at = [], found.Value(routing.NextVar(routing.Start(0)))
    while not routing.IsEnd(at):
        order.append(stops[manager.IndexToNode(at) - 1])
        at = found.Value(routing.NextVar(at))
    return order


def _tenths(one: _Stop, other: _Stop, places: Mapping[str, Place]) -> int:
    return round(_seconds_s(one, other, places) * _TENTHS)
