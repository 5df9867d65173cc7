"""What stops when a thing is out?

States are solved as the car is, and again with the thing out, every relay and controller settling anew. A part is on
the list where a load of it worked before and no longer does: it drew at least half its rated current, a lamp as much as
makes it full. Two lamps in a row are therefore out, though they draw two thirds. What only that thing feeds is there,
what has a second way is not, and a main relay takes along all that hangs on it. A gauge has no rated current: it stops
where no current that moves a pointer is left in it. An ammeter is no such gauge, since it reads what is left.

A fuse is out by being open. A relay is out with all its terminals, so that its break contact opens too. An earth is off
by its bolt: its wires stay joined to each other. A connector is off with all its cavities. Of states that are alike in
every relay and load that is on, and in the current through the thing to some two percent, only the first is solved
again.

Source: half the rated current, `works_frac`, a lamp `glow_full_frac`, in `constants.csv`, common practice.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loomwright.findings import id_order
from loomwright.job.job import Job
from loomwright.network.arrays import type_f, type_i
from loomwright.network.compiled import Compiled, compile_network, with_figures
from loomwright.network.records import Element, Guard, Law
from loomwright.network.solve import Batch, solve_many
from loomwright.tables.constants import constant
from loomwright.tables.kinds import Kind

__all__ = [
    "Loads",
    "gauges_of",
    "loads_of",
    "stops_with_fuse",
    "stops_without_part",
    "stops_without_plug",
    "with_wires_off",
    "working",
]

_NOTHING_A = 1e-6
"""What carries less than this carries nothing. [A]"""

_READS_A = 0.01
"""What carries less than this moves no pointer: a winding takes tens of milliamperes, the input of a gauge with
electronics one. Our choice. [A]"""

_AMMETER = "ammeter"

_STEPS_A_DECADE = 100
"""Currents in the same step, 2.3 percent wide, are alike: our choice. [-]"""

_OPEN_SIEMENS = 1e-12
_NEVER_LEADS_V = 1e9
"""Forward volts of a diode that is out: it carries exactly nothing. [V]"""

_NEVER = Guard(((0, frozenset()),))

type_bool = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loads:
    """The loads of a network that have a rated current, and gauges asked for. names, parts: of each.

    places: its elements. [-]   works_a: from which it works. [A]
    """

    names: tuple[str, ...]
    parts: tuple[str, ...]
    places: tuple[tuple[int, ...], ...]
    works_a: type_f


def gauges_of(job: Job, kinds: Mapping[str, Kind]) -> tuple[str, ...]:
    """The gauges of a job that stand still without current, by id."""
    return tuple(
        sorted(
            (
                part.id
                for part in job.parts
                if part.fitted != "removed" and part.kind != _AMMETER and part.kind in kinds
                if kinds[part.kind].duty == "gauge"
            ),
            key=id_order,
        )
    )


def loads_of(compiled: Compiled, gauges: Collection[str] = ()) -> Loads:
    """The loads of a network.

    Args:
        gauges: parts that count as one load each, by `gauges_of`.
    """
    elements = compiled.network.elements
    names = dict.fromkeys(one.name for one in elements if one.load and one.rated_a)
    first = [next(k for k in compiled.elements_of[name] if elements[k].load and elements[k].rated_a) for name in names]
    rated_a = np.array([elements[k].rated_a for k in first], float)
    lamps = np.array([elements[k].type == "lamp" for k in first], bool)
    works_a = rated_a * np.where(lamps, constant("glow_full_frac"), constant("works_frac"))
    parts = tuple(elements[k].part for k in first)
    read = {name: own for name in gauges if (own := tuple(_own(compiled, name))) and name not in parts}
    return Loads(
        names=(*names, *read),
        parts=(*parts, *read),
        places=(*(compiled.elements_of[name] for name in names), *read.values()),
        works_a=np.append(works_a, np.full(len(read), _READS_A)),
    )


def working(loads: Loads, amps: type_f) -> type_bool:
    """Which loads work: draw at least half their rated current, a lamp what makes it full; one row a state.

    Args:
        amps: by element, one row a state. [A]
    """
    if not loads.names:
        return np.zeros((len(amps), 0), bool)
    begins = np.cumsum([0, *map(len, loads.places[:-1])])
    drawn = np.abs(np.add.reduceat(amps[:, [k for places in loads.places for k in places]], begins, axis=1))
    return np.asarray(drawn >= loads.works_a)


def stops_with_fuse(compiled: Compiled, part: str, before: Batch, gauges: Collection[str] = ()) -> tuple[str, ...]:
    """The parts that stop in one of the states once a fuse is open.

    Args:
        before: the states, solved as the car is.
        gauges: by `gauges_of`.
    """
    devices = compiled.network.devices
    held = [k for k, device in enumerate(devices) if device.what == "fuse" and device.name.split(".")[0] == part]
    loads = loads_of(compiled, gauges)
    rows = _carrying(compiled, loads, _own(compiled, part), before)
    if not held or not len(rows):
        return ()
    stuck = compiled.arrays.stuck.copy()
    stuck[held] = 1
    without = replace(compiled, arrays=compiled.arrays._replace(stuck=stuck))
    after = solve_many(without, before.values[rows])
    return _lost(loads, working(loads, before.amps[rows]), working(loads, after.amps))


def stops_without_part(compiled: Compiled, part: str, before: Batch, gauges: Collection[str] = ()) -> tuple[str, ...]:
    """The other parts that stop in one of the states once a part is taken out whole.

    Args:
        before: the states, solved with the part in.
        gauges: by `gauges_of`.
    """
    loads = loads_of(compiled, gauges)
    rows = _carrying(compiled, loads, _own(compiled, part), before)
    if not len(rows):
        return ()
    after = solve_many(_without(compiled, part), before.values[rows])
    stopped = _lost(loads, working(loads, before.amps[rows]), working(loads, after.amps))
    return tuple(name for name in stopped if name != part)


def _without(compiled: Compiled, part: str) -> Compiled:
    """The car with a part taken out. Its elements stay in their places: nothing after them changes its number."""
    network = compiled.network
    own = [k for k, one in enumerate(network.elements) if one.part == part]
    if all(_opens_by_figures(network.elements[k]) for k in own):  # far less work than compiling it anew
        figures = compiled.arrays.figures.copy()
        for k in own:
            row, element = int(compiled.arrays.row[k]), network.elements[k]
            open_figure = _NEVER_LEADS_V if element.law == Law.DIODE else _OPEN_SIEMENS
            figures[row : row + len(element.figures), 0] = open_figure
        return with_figures(compiled, figures)
    elements = tuple(replace(one, guards=(_NEVER,)) if one.part == part else one for one in network.elements)
    return compile_network(replace(network, elements=elements))


def _opens_by_figures(element: Element) -> bool:
    """It is a resistance without a source of its own, or a diode: its first figure can be one that carries nothing."""
    return element.law == Law.DIODE or (element.law == Law.LINEAR and all(row[1] == 0.0 for row in element.figures))


def stops_without_plug(
    compiled: Compiled, off: Compiled, wires: Collection[str], before: Batch, gauges: Collection[str] = ()
) -> tuple[str, ...]:
    """The parts that stop in one of the states once a connector is off.

    Args:
        off: the same car with the connector off.
        wires: those in its cavities.
        before: the states, solved with the connector on.
        gauges: by `gauges_of`.
    """
    loads, there = loads_of(compiled, gauges), loads_of(off, gauges)
    own = [k for k, element in enumerate(compiled.network.elements) if element.is_wire and element.name in wires]
    rows = _carrying(compiled, loads, own, before)
    if not len(rows):
        return ()
    works = working(loads, before.amps[rows])
    left = dict(zip(there.names, working(there, solve_many(off, before.values[rows]).amps).T, strict=True))
    gone = np.zeros(len(rows), bool)
    after = np.stack([left.get(name, gone) for name in loads.names], axis=1) if loads.names else works
    return _lost(loads, works, after)


def with_wires_off(compiled: Compiled, wires: Collection[str]) -> Compiled:
    """The car with some wires open; nothing is built or compiled anew."""
    figures = compiled.arrays.figures.copy()
    for k, element in enumerate(compiled.network.elements):
        if element.is_wire and element.name in wires:
            row = int(compiled.arrays.row[k])
            figures[row : row + len(element.figures), 0] = _OPEN_SIEMENS
    return with_figures(compiled, figures)


def _own(compiled: Compiled, part: str) -> list[int]:
    return [k for k, element in enumerate(compiled.network.elements) if element.part == part]


def _carrying(compiled: Compiled, loads: Loads, own: Sequence[int], before: Batch) -> type_i:
    """The states in which some elements carry current, those that are alike left out but for the first.

    Where they carry none, nothing changes by their being out.
    """
    carried = np.abs(before.amps[:, own])
    rows = np.flatnonzero((carried > _NOTHING_A).any(axis=1))
    if not len(rows):
        return rows
    on = working(loads, before.amps)
    first: dict[bytes, int] = {}
    for row in rows.tolist():
        size = np.maximum(carried[row], _NOTHING_A)
        steps = np.round(np.log10(size) * _STEPS_A_DECADE).astype(np.int64)
        first.setdefault(on[row].tobytes() + before.devices[row].tobytes() + steps.tobytes(), row)
    return np.array(sorted(first.values()), np.int64)


def _lost(loads: Loads, before: type_bool, after: type_bool) -> tuple[str, ...]:
    lost: Sequence[int] = np.flatnonzero((before & ~after).any(axis=0)).tolist()
    return tuple(sorted({loads.parts[k] for k in lost}, key=id_order))
