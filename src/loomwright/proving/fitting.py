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
from loomwright.refusals import BadDocument, OutOfReach, Problem
from loomwright.states.asking.scene import Scene
from loomwright.tables.constants import constant

__all__ = ["WRONG_FRAC", "Probe", "fits", "predicted", "probes_of", "spread", "strays", "strays_of"]

Tell = Callable[[int, int], None]
Figures = NDArray[np.float64]
WRONG_FRAC = 0.004
"""The share of readings that are simply wrong: typical [0..1]."""
_SPAN_V, _SPAN_A = 15.0, 50.0
_STRAY_FRAC = 0.03
_STRAY_V, _STRAY_A = 0.08, 0.05
_DROP_V, _DROP_FRAC = 0.03, 0.08
"""A drop between two points: the meter's, and what wires and loads stray; typical [V, 0..1]."""
_LAMP_V, _LAMP_FRAC = 0.0008, 0.25
"""The same in the millivolt range, the battery through a lamp: the lamp's ohms are those it has hot [V, 0..1]."""
_OUT_OF_QUESTION = 20.0
"""A fault this much less likely than the best by some readings is not solved for the others: e to the power of [-]."""
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

    element: the wire a clamp is round, -1 where there is none. [-]   off: what was off meanwhile.
    """

    reading: Reading
    a: int
    b: int
    element: int
    state: Mapping[str, str]
    values: type_i
    off: tuple[str, ...] = ()

    @property
    def manner(self) -> str:
        """How it was read: `volts` against the post, `drop` between two points, `clamp`; each with `lamp` where the
        battery is through one.
        """
        plain = "clamp" if self.element >= 0 else "drop" if self.reading.to else "volts"
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
    element = -1
    if reading.measure == "clamp":
        known = scene.compiled.elements_of
        if reading.point not in known:
            raise OutOfReach("point", reading.point, "the wire the clamp was round")
        element = known[reading.point][0]
        a = b = 0
    else:
        a, b = _node(scene, reading.point), _node(scene, reading.to) if reading.to else _post(scene)
    state = _state(reading.when)
    values = values_of(scene.compiled, state)
    put_off(scene, reading.off)
    return Probe(reading=reading, a=a, b=b, element=element, state=state, values=values, off=reading.off)


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


def _shown(probe: Probe, batch: Batch, state: int) -> float:
    """What the instrument shows: volts, amps, or how far the lamp glows. [V, A]"""
    if probe.element >= 0:
        return float(batch.amps[state, probe.element])
    return float(batch.v[state, probe.a] - batch.v[state, probe.b])


def predicted(scene: Scene, probes: Sequence[Probe], table: FaultTable, tell: Tell | None = None) -> Figures:
    """What each instrument shows with each fault: from the table, or solved where the table has it not. [V]

    Args:
        tell: called with faults done and to do, where a reading has a state of its own; may raise Stopped.
    """
    found = np.zeros((len(table.suspects), len(probes)))
    every = np.arange(len(table.suspects))
    apart: dict[tuple[str, ...], list[int]] = {}
    for k, probe in enumerate(probes):
        state = table.state_at(probe.state)
        if state < 0 or probe.off or (probe.element >= 0 and probe.element not in table.wires):
            apart.setdefault(tuple(sorted(probe.off)), []).append(k)
        elif probe.element >= 0:
            found[:, k] = table.amps_of(every, state)[:, np.flatnonzero(table.wires == probe.element)].sum(axis=1)
        else:
            found[:, k] = np.subtract(*table.volts_of(every, state, np.array([probe.a, probe.b])).T)
    if apart:
        own = {k for some in apart.values() for k in some}
        alive = _alive(probes, found, [k for k in range(len(probes)) if k not in own])
        some_suspects = [table.suspects[int(row)] for row in alive]
        # one meter of the table's at every point, so that a loose end reads nothing
        meters = [(node, _post(scene), constant("meter_volts_ohm")) for node in range(_post(scene))]
        bench = bench_of(scene, some_suspects, meters)
        for off, some in apart.items():
            states, which = np.unique(np.array([probes[k].values for k in some]), axis=0, return_inverse=True)
            before, put = before_all(scene, states), put_off(scene, off)
            come = None if (before == states).all() else before
            at = [int(row) for row in which.reshape(-1)]
            for n, batch in enumerate(bench.solved(some_suspects, states, come, tell, put)):
                for k, row in zip(some, at, strict=True):
                    shown = _shown(probes[k], batch, row)
                    if n == 0:  # those that are out of the question already are taken to change nothing here
                        found[:, k] = shown
                    found[alive[n], k] = shown
    return found


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
    span = _SPAN_V if probe.element < 0 else _SPAN_A
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
    if probe.element >= 0:
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


def strays_of(manner: str, shown: Figures) -> Figures:
    """How many of its usual errors a figure lies from nothing, each error as large as it is there. [-]

    Args:
        manner: `Probe.manner`.
        shown: what the instrument would show. [V, A]
    """
    least, frac = _SPREADS[manner]
    return np.asarray(np.sign(shown) * np.log1p(frac / least * np.abs(shown)) / frac)
