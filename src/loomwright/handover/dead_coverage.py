"""Which faults would the dead tests catch?

The dead car is built with an ohmmeter at every test, each acting in a state of its own. Every single fault is put in
and every test it can touch is read. A test catches a fault where it passes on the sound car and would not with the
fault in it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from loomwright.handover.probing import ohmmeters_in
from loomwright.network.compiled import Compiled
from loomwright.network.solve import Batch
from loomwright.proving.coverage import FaultKey, fault_key
from loomwright.proving.fault_bench import FaultBench, bench_of
from loomwright.proving.plan import PlannedTest
from loomwright.proving.suspects import Suspect, suspects_of
from loomwright.states.asking.scene import Scene, scene_of
from loomwright.tables.constants import constant

__all__ = ["dead_caught"]

Tell = Callable[[int, int], None]
Figures = NDArray[np.float64]
_AT_ONCE = 500
"""Ohmmeters in one network. [-]"""
_NOTHING_FRAC = 1e-6
"""Below this share of the meter's current nothing flows. [0..1]"""
_INFINITE_OHM = 1e12
_NO_AMPS_FRAC, _NO_VOLTS_FRAC = 1e-4, 1e-5
"""Below these shares of the meter's current and volts a fault moves no reading by as much as a band is wide. [0..1]"""


def dead_caught(
    scene: Scene, tests: Sequence[PlannedTest], tell: Tell | None = None
) -> Mapping[FaultKey, tuple[str, ...]]:
    """Fault -> the dead tests that catch it.

    Args:
        scene: the whole car.
        tests: those made with an ohmmeter between two points; the others are left out.
        tell: called with faults done and to do; may raise Stopped.
    """
    asked = [one for one in tests if one.measure == "ohms" and one.to]
    caught: dict[FaultKey, list[str]] = {}
    for first in range(0, len(asked), _AT_ONCE):
        for key, names in _caught(scene, asked[first : first + _AT_ONCE], tell).items():
            caught.setdefault(key, []).extend(names)
    return {key: tuple(names) for key, names in caught.items()}


def _caught(scene: Scene, tests: Sequence[PlannedTest], tell: Tell | None) -> dict[FaultKey, list[str]]:
    dead = ohmmeters_in(scene.job, scene.kinds, scene.compiled, [(one.point, one.to) for one in tests])
    own = scene_of(scene.job, scene.kinds, dead.compiled)
    suspects = suspects_of(own)
    bench = bench_of(own, suspects)
    states = dead.states[1:]
    low = np.array([0.0 if one.low is None else one.low for one in tests])
    high = np.array([np.inf if one.high is None else one.high for one in tests])
    sound = bench.solved_once(suspects[0], states)
    passes = _passes(_ohms(dead.compiled, sound, np.arange(len(tests))), low, high)
    found: dict[FaultKey, list[str]] = {}
    for done, suspect in enumerate(suspects[1:], start=1):
        rows = np.flatnonzero(passes & _reached(bench, suspect, sound))
        if len(rows):
            batch = bench.solved_once(suspect, states[rows])
            away = rows[~_passes(_ohms(dead.compiled, batch, rows), low[rows], high[rows])]
            found[fault_key(suspect)] = [tests[int(k)].id for k in away]
        if tell is not None:
            tell(done, len(suspects) - 1)
    return found


def _passes(ohm: Figures, low: Figures, high: Figures) -> NDArray[np.bool_]:
    return np.asarray((ohm >= low) & (ohm <= high))


def _reached(bench: FaultBench, suspect: Suspect, sound: Batch) -> NDArray[np.bool_]:
    """The tests that a fault can touch at all: the meter's current is in what it opens, its volts across a short."""
    if suspect.swapped is not None or suspect.held is not None:
        return np.ones(len(sound.v), bool)
    if suspect.bridge is not None:
        one, other = suspect.bridge
        volts = np.abs(sound.v[:, one] - sound.v[:, other])
        return np.asarray(volts > _NO_VOLTS_FRAC * np.abs(sound.v).max(axis=1))
    changed = [*suspect.opened, *(k for k, _ in suspect.added_ohm)]
    amps = np.abs(sound.amps[:, changed]).max(axis=1, initial=0.0)
    return np.asarray(amps > _NO_AMPS_FRAC * constant("meter_ohms_a"))


def _ohms(compiled: Compiled, batch: Batch, tests: NDArray[np.int64]) -> Figures:
    """What the ohmmeters of some tests read, each in its own state, one row a test. [ohm]"""
    meters = np.array([compiled.elements_of[f"ohmmeter.{k + 1}"][0] for k in tests])
    rows = np.arange(len(tests))
    amps = -batch.amps[rows, meters]
    a, b = (np.asarray(side)[meters] for side in (compiled.arrays.a, compiled.arrays.b))
    volts = batch.v[rows, a] - batch.v[rows, b]
    is_open = (amps < constant("meter_ohms_a") * _NOTHING_FRAC) | batch.floating[rows, a] | batch.floating[rows, b]
    return np.where(is_open, _INFINITE_OHM, volts / np.where(is_open, 1.0, amps))
