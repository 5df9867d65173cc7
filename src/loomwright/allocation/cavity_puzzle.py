"""How are the ways of connectors and what passes through them told to the engine that puts items into slots?

A crossing is an item, a way a slot. A unit is a crossing by itself, or those twisted together, which must lie side by
side. A way must carry the crossing's amps and take its thickest wire. Goals in order:

1. built: fewest crossings left out;
2. made up: fewest of those moved whose crimp is on already;
3. plug: fewest moved to another plug;
4. apart: fewest places where a way that may stand at battery volts lies beside a sensor's;
5. spares: as few as can be of the larger ways taken by what a smaller one would carry;
6. kept: fewest moved at all.

Two ways lie side by side where their rows and columns differ by one step. That a live way lies beside a sensor's is
allowed at a price: for each pair of neighbours there is a unit `gap` that is either kept or given up.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise

from loomwright.allocation.cavity_ground import Crossing, Plug, Way, takes_wire
from loomwright.allocation.engine import Alternative, Choice, Goal, Limit, Pair, Puzzle, Seat, Unit
from loomwright.job.rows import Crimp

__all__ = ["CAVITY_GOALS", "GAP", "bare_puzzle", "beside", "cavity_puzzle", "why_not_here"]

CAVITY_GOALS: Mapping[str, str] = {
    "built": "everything has a way",
    "made up": "fewest of those moved that are made up",
    "plug": "fewest moved to another plug",
    "apart": "live ways away from those of sensors",
    "spares": "larger ways left free",
    "kept": "fewest moved at all",
}
"""What is asked for, in order -> in words."""

GAP = "gap "
"""What the name of a unit begins with that stands for two neighbouring ways."""

_KEPT, _GIVEN_UP = "kept", "given up"


def cavity_puzzle(crossings: Mapping[str, Crossing], plugs: Mapping[str, Plug], crimps: tuple[Crimp, ...]) -> Puzzle:
    """The puzzle of plugs that can take each other's crossings."""
    bare = bare_puzzle(crossings, plugs, crimps)
    ways = _ways(plugs)
    near = [
        (one, other)
        for one in ways.values()
        for other in ways.values()
        if one.name != other.name and _is_beside(one, other)
    ]
    gaps, limits, given_up = [], [], {}
    seats = dict(bare.seats)
    for one, other in near:
        live = [name for name, each in crossings.items() if each.is_live and one.name in bare.seats[name]]
        quiet = [name for name, each in crossings.items() if each.is_sensor and other.name in bare.seats[name]]
        if not live or not quiet:
            continue
        name = f"{GAP}{one.name} {other.name}"
        gaps.append(Unit(name=name, alternatives=(Alternative(name=_KEPT), Alternative(name=_GIVEN_UP, items=(name,)))))
        seats[name] = {name: (name,)}
        takes: dict[Seat, int] = {(each, one.name): 1 for each in live}
        takes |= {(each, other.name): 1 for each in quiet}
        takes[name, name] = -1
        limits.append(Limit(name=f"{one.name} beside {other.name}", most=1, takes=takes))
        given_up[name, _GIVEN_UP] = 1
    return Puzzle(
        units=(*bare.units, *gaps),
        seats=seats,
        goals=tuple(_goals(bare, crossings, ways, given_up, {unit.name for unit in gaps})),
        limits=tuple(limits),
        pairs=bare.pairs,
    )


def bare_puzzle(crossings: Mapping[str, Crossing], plugs: Mapping[str, Plug], crimps: tuple[Crimp, ...]) -> Puzzle:
    """What must hold, and nothing that is only wished: what a proof that something does not fit rests on."""
    ways = _ways(plugs)
    seats = {
        name: {
            way.name: (way.name,)
            for way in ([ways[name]] if name in ways and ways[name].is_kept else ways.values())
            if not why_not_here(each, way, plugs[way.plug], crimps)
        }
        for name, each in crossings.items()
    }
    units, pairs = [], []
    for group in _groups(crossings):
        units.append(Unit(name=" + ".join(group), alternatives=(Alternative(name="", items=group),)))
        for one, other in pairwise(group):
            partner = {
                slot: tuple(each for each in seats[other] if each in ways and _is_beside(ways[slot], ways[each]))
                for slot in seats[one]
            }
            pairs.append(Pair(name=f"{one} and {other}, twisted", items=(one, other), partner=partner))
    goal = Goal(name="built", left_out={unit.name: len(unit.alternatives[0].items) for unit in units})
    return Puzzle(units=tuple(units), seats=seats, goals=(goal,), pairs=tuple(pairs))


def why_not_here(crossing: Crossing, way: Way, plug: Plug, crimps: tuple[Crimp, ...]) -> str:
    """Why a crossing may not sit in a way, in words; empty where it may."""
    if way.is_kept and way.name != crossing.name:
        return f"{way.name} is kept for what sits in it"
    if crossing.amps is not None and way.most_a is not None and crossing.amps > way.most_a:
        return f"it carries {crossing.amps:.3g} A, the contact {way.most_a:g} A"
    takes, says = takes_wire(plug, way, crossing.size_mm2, crimps)
    return "" if takes else f"its wire is {crossing.size_mm2:g} mm2: {says}"


def beside(way: str, plugs: Mapping[str, Plug]) -> tuple[str, ...]:
    """The ways that lie beside one."""
    ways = _ways(plugs)
    return tuple(name for name, each in ways.items() if name != way and _is_beside(ways[way], each))


def _ways(plugs: Mapping[str, Plug]) -> dict[str, Way]:
    return {way.name: way for plug in plugs.values() for way in plug.ways}


def _is_beside(one: Way, other: Way) -> bool:
    return one.plug == other.plug and abs(one.row - other.row) + abs(one.column - other.column) == 1


def _groups(crossings: Mapping[str, Crossing]) -> Iterator[tuple[str, ...]]:
    """Crossings by themselves, and those of one plug that share a twist."""
    told: set[str] = set()
    for name, crossing in crossings.items():
        if name in told:
            continue
        group: tuple[str, ...] = (name,)
        if crossing.twists:
            same = (each.name for each in crossings.values() if each.plug == crossing.plug and each.name not in told)
            group = tuple(each for each in same if set(crossings[each].twists) & set(crossing.twists))
        told.update(group)
        yield group


def _goals(
    bare: Puzzle,
    crossings: Mapping[str, Crossing],
    ways: Mapping[str, Way],
    given_up: Mapping[Choice, int],
    gaps: set[str],
) -> Iterator[Goal]:
    seats = [(name, slot) for name in crossings for slot in bare.seats[name]]
    moved = {(name, slot): 1 for name, slot in seats if slot != name}
    yield Goal(name="built", left_out={**bare.goals[0].left_out, **dict.fromkeys(gaps, 1000)})
    yield Goal(name="made up", seats={seat: 1 for seat in moved if crossings[seat[0]].is_built})
    yield Goal(name="plug", seats={seat: 1 for seat in moved if ways[seat[1]].plug != crossings[seat[0]].plug})
    yield Goal(name="apart", choices=given_up)
    yield Goal(name="spares", seats={(name, slot): 1 for name, slot in seats if _is_wasted(name, slot, bare, ways)})
    yield Goal(name="kept", seats=moved)


def _is_wasted(name: str, slot: str, bare: Puzzle, ways: Mapping[str, Way]) -> bool:
    """Whether a larger way would be taken by what a smaller one carries too."""
    return ways[slot].is_large and any(not ways[each].is_large for each in bare.seats[name])
