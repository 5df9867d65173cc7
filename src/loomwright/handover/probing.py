"""What do many probes read, each tried by itself, without building the car anew for each?

The network gets every probe at once, each with a guard of its own, and two more variables say which one acts: a state
a probe, all solved in one go. The same elements, so the same readings as one probe alone.

An ohmmeter pushes its current both ways round, since a diode in the way reads differently. The battery is off, every
controller is unplugged, everything else is plugged in and at rest. Ten megohms from the body to the battery's earthed
post, which stands for 0 V, keep a car whose earth lead is off readable, and ten from the second probe what is joined to
no metal at all; what reads over a megohm is open.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil, sqrt

import numpy as np

from loomwright.job.job import Job
from loomwright.job.variables import Variable
from loomwright.network.arrays import type_i
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.records import Changes, Element, Guard, Network, Short
from loomwright.network.solve import Batch, rest_values, solve_many
from loomwright.refusals import OutOfReach
from loomwright.tables.constants import constant
from loomwright.tables.kinds import Kind

__all__ = ["Ohms", "Probed", "ohmmeters_in", "ohms_between", "ohms_read", "probed"]

_NAMES = ("probe row", "probe column")
_MOST_PROBES = 3600
"""A guard tells at most 63 values of a variable apart; 60 times 60 keeps clear of that. [-]"""
_AT_ONCE = 300
"""Pairs in one network: every probe is looked at in the state of every other. [-]"""
_BRIDGE_OHM = 1e7
_OPEN_OHM = 1e6
"""What reads more than this is open: our choice. [ohm]"""
_NOTHING_FRAC = 1e-6
"""Below this share of the meter's current nothing flows. [0..1]"""
_SHARE_FRAC = 0.2
"""A part that carries this share of the meter's current is named. [0..1]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Probed:
    """A network with its probes, and the states in which each of them acts. states: the first is without any."""

    compiled: Compiled
    states: type_i


@dataclass(frozen=True, slots=True, kw_only=True)
class Ohms:
    """What an ohmmeter reads between two points, red on the first and red on the second; None = open. [ohm]

    through: the parts that carry its current.
    """

    forward_ohm: float | None
    backward_ohm: float | None
    through: tuple[str, ...]


def probed(network: Network, probes: Sequence[Element], values: type_i | None = None) -> Probed:
    """A network with probes that act one at a time.

    Args:
        probes: elements; their own guards are replaced.
        values: the state they are tried in, as indices of the network's own variables; at rest where left out. [-]
    Raises:
        OutOfReach: more probes than the two variables can tell apart.
    """
    if len(probes) > _MOST_PROBES:
        raise OutOfReach("probes", len(probes), f"{_MOST_PROBES} at once")
    side = _side(len(probes))
    first = len(network.variables)
    choice = tuple(Variable(name=name, values=tuple(map(str, range(side))), rest="0") for name in _NAMES)
    guarded = [replace(probe, guards=(_in_turn(k, first, side),)) for k, probe in enumerate(probes, start=1)]
    whole = replace(network, elements=(*network.elements, *guarded), variables=(*network.variables, *choice))
    compiled = compile_network(whole)
    rest = rest_values(compiled)
    if values is not None:
        rest[:first] = values
    states = np.repeat(rest[None, :], len(probes) + 1, axis=0)
    places = np.arange(len(probes) + 1)
    states[:, first], states[:, first + 1] = places // side, places % side
    return Probed(compiled=compiled, states=states)


def ohms_between(
    job: Job, kinds: Mapping[str, Kind], compiled: Compiled, pairs: Sequence[tuple[str, str]]
) -> tuple[Ohms, ...]:
    """What an ohmmeter reads between pairs of points with the battery off and every controller unplugged. [ohm]

    Args:
        compiled: the job's network, for its variables and its names.
        pairs: the points of each reading.
    """
    found: list[Ohms] = []
    for first in range(0, len(pairs), _AT_ONCE):
        found.extend(_ohms(job, kinds, compiled, pairs[first : first + _AT_ONCE]))
    return tuple(found)


def _ohms(job: Job, kinds: Mapping[str, Kind], compiled: Compiled, pairs: Sequence[tuple[str, str]]) -> list[Ohms]:
    test_a = constant("meter_ohms_a")
    turned = [pair for a, b in pairs for pair in ((a, b), (b, a))]
    found = ohmmeters_in(job, kinds, compiled, turned, [b for _, b in pairs for _ in range(2)])
    batch = solve_many(found.compiled, found.states)
    readings = [ohms_read(found.compiled, batch, k) for k in range(1, len(turned) + 1)]
    return [
        Ohms(
            forward_ohm=readings[k],
            backward_ohm=readings[k + 1],
            through=_through(found.compiled, batch, (k + 1, k + 2), test_a),
        )
        for k in range(0, len(turned), 2)
    ]


def ohmmeters_in(
    job: Job,
    kinds: Mapping[str, Kind],
    compiled: Compiled,
    pairs: Sequence[tuple[str, str]],
    second: Sequence[str] | None = None,
) -> Probed:
    """The dead car with an ohmmeter between each pair, red on the first, each in a state of its own.

    Args:
        compiled: the job's network, for its variables and its names.
        pairs: the points of each reading.
        second: one a pair, the point that may be joined to no metal; the second of each pair where left out.
    """
    earthed = compiled.network.nodes[compiled.network.reference]
    test_a, ceiling_v = constant("meter_ohms_a"), constant("meter_ohms_v")
    controllers = [part.id for part in job.parts if part.kind in kinds and kinds[part.kind].duty == "controller"]
    seconds = [b for _, b in pairs] if second is None else second
    loose = [b for b in dict.fromkeys(seconds) if b not in ("body", earthed)]
    changes = Changes(
        unplugged=tuple(controllers),
        without_battery=True,
        shorts=tuple(Short(point, earthed, _BRIDGE_OHM) for point in ("body", *loose)),
        tested=tuple((a, b, test_a, ceiling_v) for a, b in pairs),
    )
    network = build_network(job, kinds, changes, compiled.network.variables)
    meters = [element for element in network.elements if element.type == "meter"]
    # many at once would read as one leak: each is there for its own readings alone
    first, side = len(network.variables), _side(len(meters))
    turns = {
        f"bridge.{number}": tuple(_in_turn(k, first, side) for k, b in enumerate(seconds, start=1) if b == point)
        for number, point in enumerate(loose, start=2)
    }
    bare = tuple(
        replace(element, guards=turns[element.name]) if element.name in turns else element
        for element in network.elements
        if element.type != "meter"
    )
    return probed(replace(network, elements=bare), meters)


def _in_turn(number: int, first: int, side: int) -> Guard:
    """Holds in the state of one probe."""
    return Guard(((first, frozenset({number // side})), (first + 1, frozenset({number % side}))))


def _side(count: int) -> int:
    """Values of each of the two variables, enough for so many probes and for none."""
    return max(2, ceil(sqrt(count + 1)))


def _meter(compiled: Compiled, number: int) -> int:
    return compiled.elements_of[f"ohmmeter.{number}"][0]


def ohms_read(compiled: Compiled, batch: Batch, row: int) -> float | None:
    """What one of the ohmmeters reads, None where it is open. [ohm]

    Args:
        row: which, the first is 1. [-]
    """
    test_a = constant("meter_ohms_a")
    k = _meter(compiled, row)
    a, b = int(compiled.arrays.a[k]), int(compiled.arrays.b[k])
    amps = -float(batch.amps[row, k])
    if amps < test_a * _NOTHING_FRAC or batch.floating[row, a] or batch.floating[row, b]:
        return None
    ohm = (float(batch.v[row, a]) - float(batch.v[row, b])) / amps
    return None if ohm > _OPEN_OHM else ohm


def _through(compiled: Compiled, batch: Batch, rows: tuple[int, ...], test_a: float) -> tuple[str, ...]:
    carried = np.abs(batch.amps[list(rows)]).max(axis=0) >= _SHARE_FRAC * test_a
    parts = [compiled.network.elements[k].part for k in np.flatnonzero(carried)]
    return tuple(dict.fromkeys(part for part in parts if part))
