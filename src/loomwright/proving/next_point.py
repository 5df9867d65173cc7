"""Which reading would tell most of the faults that are left apart, for its trouble?

What a point shows in a state is counted in steps of 0.6 V, each fault weighing what it is likely: the entropy of that
is what a reading there tells. Every switch that has to be moved first takes 0.15 bit off.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.proving.fault_table import FaultTable
from loomwright.proving.fitting import Probe
from loomwright.states.asking.scene import Scene

__all__ = ["AT_REST", "NextPoint", "next_points"]

AT_REST = "everything at rest"
_KEPT_FRAC = 1e-6
_MOST_NEXT = 5
_STEPS_V, _FAR_V = 0.6, 60.0
_MOST_LIKELY = 400
_LEAST_BITS = 0.02
_TURN_BITS = 0.15
"""Trouble of one switch to be moved, against what a reading tells [bit]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NextPoint:
    """A reading worth taking. when: the state.

    bits: what it is expected to tell. [-]
    worth: the same less the trouble of what has to be turned or moved first. [-]   expect_v: with no fault. [V]
    """

    point: str
    when: str
    bits: float
    worth: float
    expect_v: float


def next_points(scene: Scene, table: FaultTable, odds: NDArray[np.float64], probes: Sequence[Probe]) -> list[NextPoint]:
    """The points whose volts tell most of the faults that are left apart, the less the car has to be changed for it.

    Args:
        odds: of each fault of the table. [0..1]
        probes: what was read already; the car stands as it did for the last of them.
    """
    read = {(probe.a, table.state_at(probe.state)) for probe in probes if probe.element < 0}
    now: Mapping[str, str] = probes[-1].state if probes else {}
    order = np.argsort(-odds)
    likely = order[: min(_MOST_LIKELY, int((odds > _KEPT_FRAC).sum()))]
    weights = odds[likely] / odds[likely].sum()
    names = {scene.compiled.node_of[name]: name for name in _reachable(scene)}
    nodes = np.array(sorted(names))
    found: list[NextPoint] = []
    for s in range(len(table.states)):
        away = table.away(s)
        bits = _bits(table.volts_of(likely, s, nodes), weights)
        sound_v = table.volts_of(np.array([0]), s, nodes)[0]
        trouble = _TURN_BITS * sum(away.get(name) != now.get(name) for name in {*away, *now})
        when = ", ".join(f"{name}={value}" for name, value in away.items()) or AT_REST
        for k in np.argsort(-bits)[:_MOST_NEXT]:
            node = int(nodes[k])
            if (node, s) not in read and bits[k] > _LEAST_BITS:
                told, expect_v = float(bits[k]), float(sound_v[k])
                found.append(
                    NextPoint(point=names[node], when=when, bits=told, worth=told - trouble, expect_v=expect_v)
                )
    return sorted(found, key=lambda one: (-one.worth, one.point))[:_MOST_NEXT]


def _bits(volts: NDArray[np.float64], weights: NDArray[np.float64]) -> NDArray[np.float64]:
    """How many bits each column tells: the entropy of the step it shows, the rows weighted. [bit]"""
    far = round(_FAR_V / _STEPS_V)
    step = np.clip(np.round(volts / _STEPS_V), -far, far).astype(np.int64) + far
    wide = 2 * far + 1
    place = step + wide * np.arange(volts.shape[1])
    shares = np.bincount(place.ravel(), np.repeat(weights, volts.shape[1]), wide * volts.shape[1])
    told = -shares * np.log2(np.where(shares > 0.0, shares, 1.0))
    return np.asarray(told.reshape(-1, wide).sum(axis=1))


def _reachable(scene: Scene) -> list[str]:
    """The points a person can put a probe to: terminals of parts, no splice inside the loom, no inside of a part."""
    hidden = {part for part, row in scene.parts.items() if row.kind == "splice"}
    names = [name for name in scene.compiled.node_of if "._" not in name and not name.startswith("~")]
    return [name for name in names if name.split(".")[0] not in hidden]
