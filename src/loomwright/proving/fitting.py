"""What was read, as the network knows it, and what each fault would have shown instead.

A reading is two nodes or one wire, a state of the car, and what was off meanwhile. How well a predicted figure goes
with what was read is a matter of the meter's error and of how far the car's figures stray, with a share of readings
that are simply wrong. Volts against the battery's post carry the battery's own straying; volts between two points,
such as a drop along a wire, do not.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import log

import numpy as np
from numpy.typing import NDArray

from loomwright.job.conditions import Condition
from loomwright.job.rows import Reading
from loomwright.network.arrays import type_i
from loomwright.network.solve import Batch, values_of
from loomwright.proving.fault_bench import bench_of
from loomwright.proving.fault_table import FaultTable, before_all
from loomwright.proving.put_off import LAMP, put_off
from loomwright.proving.suspects import Suspect
from loomwright.refusals import BadDocument, OutOfReach, Problem
from loomwright.states.asking.scene import Scene
from loomwright.tables.constants import constant

__all__ = [
    "WRONG_FRAC",
    "Probe",
    "ReadAs",
    "fits",
    "least_error",
    "predicted",
    "probes_of",
    "spread",
    "strays",
    "strays_of",
]

Tell = Callable[[int, int], None]
Figures = NDArray[np.float64]
Clamped = tuple[int, bool, float]
"""A wire in the clamp: its element, whether at its second end, and which way round."""
ReadAs = tuple[tuple[str, ...], tuple[int, ...], tuple[int, int], tuple[Clamped, ...]]
"""What was off, the state, the two nodes and what the clamp was round."""
WRONG_FRAC = 0.004
"""The share of readings that are simply wrong: typical [0..1]."""
_SPAN_V, _SPAN_A = 15.0, 50.0
_STRAY_FRAC = 0.03
_STRAY_V, _STRAY_A = 0.08, 0.05
_DROP_V, _DROP_FRAC = 0.03, 0.08
"""A drop between two points: the meter's, and what wires and loads stray; typical [V, 0..1]."""
_LAMP_V, _LAMP_FRAC = 0.0004, 0.25
"""The same in the millivolt range, the battery through a lamp: the lamp's ohms are those it has hot [V, 0..1]."""
_OUT_OF_QUESTION = 14.0
"""A fault with two readings against it, this much less likely than the best, is not solved for the others: e to the
power of [-]."""
_SPREADS = {
    "volts": (_STRAY_V, _STRAY_FRAC),
    "drop": (_DROP_V, _DROP_FRAC),
    "clamp": (_STRAY_A, 2 * _STRAY_FRAC),
    f"volts {LAMP}": (_STRAY_V, _LAMP_FRAC),
    f"drop {LAMP}": (_LAMP_V, _LAMP_FRAC),
    f"clamp {LAMP}": (_STRAY_A, _LAMP_FRAC),
}
_GLOWS = ((8.4, "full"), (2.0, "dim"))
"""Volts at which a lamp is at least so bright: 70 %, and where it begins to glow; typical [V]."""
_OTHER_GLOW = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Probe:
    """One reading. a, b: the nodes it lies between. [-]   values: of its state, as indices. [-]

    clamped: the wires a clamp is round: the element, whether at its second end, and which way round; none where it is
    no clamp.   off: what was off meanwhile.
    """

    reading: Reading
    a: int
    b: int
    state: Mapping[str, str]
    values: type_i
    clamped: tuple[Clamped, ...] = ()
    off: tuple[str, ...] = ()

    @property
    def read_as(self) -> ReadAs:
        """What two readings have in common that show the same."""
        return tuple(sorted(self.off)), tuple(int(k) for k in self.values), (self.a, self.b), self.clamped

    @property
    def manner(self) -> str:
        """How it was read: `volts` against the post, `drop` between two points, `clamp`; each with `lamp` where the
        battery is through one.
        """
        plain = "clamp" if self.clamped else "drop" if self.reading.to else "volts"
        return f"{plain} {LAMP}" if LAMP in self.off else plain


def probes_of(scene: Scene, readings: Sequence[Reading]) -> list[Probe]:
    """The readings as the network knows them.

    Raises:
        BadDocument: a reading at no point of the job, without a figure, or in a state that is none; all are listed.
    """
    problems: list[Problem] = []
    found = []
    for number, reading in enumerate(readings, start=2):
        try:
            found.append(_probe(scene, reading))
        except OutOfReach as fault:
            problems.append(
                Problem(
                    sheet="readings",
                    row=number,
                    column=fault.name,
                    found=str(fault.found),
                    allowed=fault.allowed,
                    mend="Name the point as the sheets do, and the car as it stood",
                )
            )
    if problems:
        raise BadDocument(tuple(problems))
    return found


def _probe(scene: Scene, reading: Reading) -> Probe:
    if reading.measure not in ("volts", "clamp", "lamp"):
        raise OutOfReach("measure", reading.measure, "volts, clamp, lamp: a fault is sought with the car live")
    if reading.value is None:
        raise OutOfReach("value", "", "what was read")
    clamped: tuple[Clamped, ...] = ()
    if reading.measure == "clamp":
        a = b = 0
        clamped = _clamped(scene, reading)
    else:
        a, b = _node(scene, reading.point), _node(scene, reading.to) if reading.to else _post(scene)
    state = _state(reading.when)
    values = values_of(scene.compiled, state)
    put_off(scene, reading.off)
    return Probe(reading=reading, a=a, b=b, state=state, values=values, clamped=clamped, off=reading.off)


def _clamped(scene: Scene, reading: Reading) -> tuple[Clamped, ...]:
    """The wire a clamp is round, at its first end or the one that is named; or all wires of a terminal."""
    known, point = scene.compiled.elements_of, scene.point(reading.point)
    wire = scene.wires.get(reading.point)
    if wire is not None and wire.id in known:
        ends = [scene.point(wire.from_), scene.point(wire.to)]
        if reading.to and scene.point(reading.to) not in ends:
            raise OutOfReach("to", reading.to, f"the end of {wire.id} the clamp was at: {' or '.join(ends)}")
        return ((known[wire.id][0], bool(reading.to) and scene.point(reading.to) != ends[0], 1.0),)
    wires = [one for one in scene.wires_at.get(point, ()) if one.id in known]
    if not wires:
        raise OutOfReach(
            "point", reading.point, "the wire the clamp was round, or the terminal whose wires were all in it"
        )
    return tuple((known[one.id][0], *((True, 1.0) if scene.point(one.to) == point else (False, -1.0))) for one in wires)


def _node(scene: Scene, point: str) -> int:
    name = scene.point(point)
    if name not in scene.compiled.node_of:
        raise OutOfReach("point", point, "a point of the job: part.terminal, or a metal")
    return scene.compiled.node_of[name]


def _post(scene: Scene) -> int:
    return scene.compiled.arrays.nodes


def _state(when: Condition) -> dict[str, str]:
    """The state a reading was taken in: each variable at the one value its condition names."""
    found: dict[str, str] = {}
    for term in when.terms:
        if len(term.values) != 1 or term.op != "=":
            raise OutOfReach("when", when.text, "one value for each variable: key=run, light=head")
        found[term.variable] = term.values[0]
    return found


def _shown(probe: Probe, batch: Batch, state: int, lost: Sequence[tuple[int, Figures]]) -> float:
    """What the instrument shows: volts, amps, or how far the lamp glows. [V, A]"""
    if probe.clamped:
        more = dict(lost)
        return float(
            sum(
                sign * (batch.amps[state, k] + (more[k][state] if second and k in more else 0.0))
                for k, second, sign in probe.clamped
            )
        )
    return float(batch.v[state, probe.a] - batch.v[state, probe.b])


def predicted(
    scene: Scene,
    probes: Sequence[Probe],
    table: FaultTable,
    tell: Tell | None = None,
    kept: dict[ReadAs, Figures] | None = None,
) -> Figures:
    """What each instrument shows with each fault: from the table, or solved where the table has it not. [V]

    Args:
        tell: called with faults done and to do, where a reading has a state of its own; may raise Stopped.
        kept: what was solved for earlier readings of the same faults, added to.
    """
    found = np.zeros((len(table.suspects), len(probes)))
    every = np.arange(len(table.suspects))
    apart: dict[tuple[str, ...], list[int]] = {}
    known: list[int] = []
    for k, probe in enumerate(probes):
        state = table.state_at(probe.state)
        if state < 0 or probe.off:
            apart.setdefault(tuple(sorted(probe.off)), []).append(k)
            continue
        known.append(k)
        if probe.clamped:
            sides = table.amps_of(every, state), table.second_amps_of(every, state)
            for element, second, sign in probe.clamped:
                found[:, k] += sign * sides[second][:, np.flatnonzero(table.wires == element)].sum(axis=1)
        else:
            found[:, k] = np.subtract(*table.volts_of(every, state, np.array([probe.a, probe.b])).T)
    columns = {} if kept is None else kept
    for some in apart.values():
        alive = _alive(probes, found, known)
        names = [probes[k].read_as for k in some]
        for name in names:
            columns.setdefault(name, np.full(len(table.suspects), np.nan))
        wanted = alive[np.isnan([columns[name][alive] for name in names]).any(axis=0)]
        if len(wanted):
            _solve_apart(scene, [probes[k] for k in some], table.suspects, wanted, columns, tell)
        for k, name in zip(some, names, strict=True):
            # those that are out of the question already are taken to change nothing here
            found[:, k] = np.where(np.isnan(columns[name]), columns[name][alive[0]], columns[name])
        known += some
    return found


def _solve_apart(
    scene: Scene,
    probes: Sequence[Probe],
    suspects: Sequence[Suspect],
    wanted: type_i,
    columns: dict[ReadAs, Figures],
    tell: Tell | None,
) -> None:
    """What some faults show at readings with the same things off; put into the columns."""
    some = [suspects[int(row)] for row in wanted]
    # one meter of the table's at every point, so that a loose end reads nothing
    meters = [(node, _post(scene), constant("meter_volts_ohm")) for node in range(_post(scene))]
    bench = bench_of(scene, some, meters, along=True)
    states, which = np.unique(np.array([probe.values for probe in probes]), axis=0, return_inverse=True)
    before, put = before_all(scene, states), put_off(scene, probes[0].off)
    come = None if (before == states).all() else before
    at = [int(row) for row in which.reshape(-1)]
    for row, suspect, batch in zip(wanted, some, bench.solved(some, states, come, tell, put), strict=True):
        lost = bench.lost_a(suspect, batch)
        for probe, state in zip(probes, at, strict=True):
            columns[probe.read_as][row] = _shown(probe, batch, state, lost)


def _alive(probes: Sequence[Probe], shown: Figures, known: Sequence[int]) -> type_i:
    """The faults that are not out of the question by some readings; the sound car first. [-]"""
    told = np.zeros(len(shown))
    for k in known:
        told += fits(probes[k], shown[:, k])
    told[0] = told.max()
    return np.flatnonzero(told >= told.max() - _OUT_OF_QUESTION)


def fits(probe: Probe, shown: Figures) -> Figures:
    """How well predicted figures go with what was read: the logarithm of how likely that reading was. [-]

    Args:
        shown: what the instrument would show, with each fault. [V]
    """
    if probe.reading.measure == "lamp":
        volts = np.abs(shown)
        glow = np.select([volts > least for least, _ in _GLOWS], [word for _, word in _GLOWS], "dark")
        right = np.where(glow == probe.reading.value, 1.0, _OTHER_GLOW)
        return np.asarray(np.log(WRONG_FRAC + (1.0 - WRONG_FRAC) * right))
    away, sigma = _away(probe, shown)
    density = np.exp(-0.5 * np.minimum(away**2, 200.0)) / (sigma * np.sqrt(2.0 * np.pi))
    span = _SPAN_A if probe.clamped else _SPAN_V
    return np.asarray(np.log(WRONG_FRAC / span + (1.0 - WRONG_FRAC) * density))


def strays(probe: Probe, shown: Figures) -> Figures:
    """By how many times its usual error a reading lies away from predicted figures; a lamp is right or five away. [-]

    Args:
        shown: what the instrument would show, with each fault. [V]
    """
    if probe.reading.measure == "lamp":
        return np.where(fits(probe, shown) > log(2.0 * _OTHER_GLOW), 0.0, 5.0)
    return np.abs(_away(probe, shown)[0])


def _away(probe: Probe, shown: Figures) -> tuple[Figures, Figures]:
    read = float(probe.reading.value) if isinstance(probe.reading.value, int | float) else 0.0
    sigma = spread(probe.manner, shown)
    if probe.clamped:
        return (abs(read) - np.abs(shown)) / sigma, sigma
    return (read - shown) / sigma, sigma


def spread(manner: str, shown: Figures) -> Figures:
    """The usual error of a reading, the meter's and the straying of the car together. [V, A]

    Args:
        manner: `Probe.manner`.
        shown: what the instrument would show. [V, A]
    """
    least, frac = _SPREADS[manner]
    return np.asarray(least + frac * np.abs(shown))


def least_error(manner: str) -> float:
    """The usual error of a reading that shows nothing. [V, A]

    Args:
        manner: `Probe.manner`.
    """
    return _SPREADS[manner][0]


def strays_of(manner: str, shown: Figures) -> Figures:
    """How many of its usual errors a figure lies from nothing, each error as large as it is there. [-]

    Args:
        manner: `Probe.manner`.
        shown: what the instrument would show. [V, A]
    """
    least, frac = _SPREADS[manner]
    return np.asarray(np.sign(shown) * np.log1p(frac / least * np.abs(shown)) / frac)
