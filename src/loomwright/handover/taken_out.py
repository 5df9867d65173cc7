"""What stops, in one state, when one wire or one part of a circuit is out?

The network is given one more variable, `out`, whose values are the things; each thing's elements act unless it is the
one that is out. So all of them are solved in one go, every relay and controller settling anew. A part is told where a
load of it works with the thing in and does not without it; a gauge where no current that moves a pointer is left.

Source: half the rated current, `works_frac`, a lamp `glow_full_frac`, in `constants.csv`, common practice.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loomwright.findings import id_order
from loomwright.handover.outage import loads_of, working
from loomwright.handover.state_look import StateLook
from loomwright.job.job import Job
from loomwright.job.variables import Variable
from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.records import Element, Guard, Network
from loomwright.network.solve import solve_many

__all__ = ["MOST_THINGS", "TakenOut", "stops_without", "things_of", "with_things_out"]

MOST_THINGS = 60
"""Most things one network can take out by turns. [-]"""

_NONE = "-"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TakenOut:
    """A network whose things can be taken out one at a time. variable: the number of `out`. [-]"""

    compiled: Compiled
    things: tuple[str, ...]
    variable: int


def with_things_out(network: Network, things: Sequence[str]) -> tuple[TakenOut, ...]:
    """The network, ready to have each of some wires and parts taken out; several where they are many."""
    known = {element.name for element in network.elements if element.is_wire} | {
        element.part for element in network.elements
    }
    there = [thing for thing in dict.fromkeys(things) if thing and thing in known]
    return tuple(_one(network, tuple(there[k : k + MOST_THINGS])) for k in range(0, len(there), MOST_THINGS))


def things_of(job: Job, circuit: str) -> tuple[str, ...]:
    """The wires of a circuit, its parts, and the parts at the ends of its wires."""
    wires = [wire for wire in job.wires if wire.circuit == circuit and wire.fitted != "removed"]
    ends = [end.partition(".")[0] for wire in wires for end in (wire.from_, wire.to) if "." in end]
    own = [part.id for part in job.parts if circuit and part.circuit == circuit]
    return tuple(dict.fromkeys([*(wire.id for wire in wires), *own, *ends]))


def stops_without(
    taken: Iterable[TakenOut], look: StateLook, gauges: Collection[str] = ()
) -> Mapping[str, tuple[str, ...]]:
    """Thing -> the parts that stop when it is out, in one state; itself is not told.

    Args:
        gauges: by `outage.gauges_of`.
    """
    found: dict[str, tuple[str, ...]] = {}
    for one in taken:
        earlier = None if look.earlier is None else solve_many(one.compiled, _rows(one, look.earlier)).devices
        batch = solve_many(one.compiled, _rows(one, look.batch.values[0]), earlier)
        loads = loads_of(one.compiled, gauges)
        works = working(loads, batch.amps)
        for row, thing in enumerate(one.things, start=1):
            lost = np.flatnonzero(works[0] & ~works[row]).tolist()
            parts = {loads.parts[k] for k in lost} - {thing}
            found[thing] = tuple(sorted(parts, key=id_order))
    return found


def _rows(taken: TakenOut, values: type_i) -> type_i:
    """The state with nothing out, then with each thing out."""
    rows = np.zeros((len(taken.things) + 1, len(values) + 1), np.int64)
    rows[:, : len(values)] = values
    rows[:, taken.variable] = np.arange(len(taken.things) + 1)
    return rows


def _one(network: Network, things: tuple[str, ...]) -> TakenOut:
    number = len(network.variables)
    variable = Variable(name="out", values=(_NONE, *things), rest=_NONE)
    place = {thing: count for count, thing in enumerate(things, start=1)}
    every = frozenset(range(len(things) + 1))
    elements = tuple(_unless_out(element, place, number, every) for element in network.elements)
    changed = replace(network, variables=(*network.variables, variable), elements=elements)
    return TakenOut(compiled=compile_network(changed), things=things, variable=number)


def _unless_out(element: Element, place: Mapping[str, int], number: int, every: frozenset[int]) -> Element:
    count = place.get(element.name) if element.is_wire else place.get(element.part)
    if count is None:
        return element
    term = (number, every - {count})
    guards = element.guards or (Guard(()),)
    return replace(element, guards=tuple(Guard((*guard.holds, term)) for guard in guards))
