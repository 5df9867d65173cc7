"""What should come off the car, so that a reading tells apart what looks alike in one piece?

Wires that hang together without a fuse, a plug or a load between show the same, wherever one of them touches. A fuse
pulled, a relay or a plug out, a wire off its terminal, half of those that are suspected: each is put beside every fault
that is likely, solved in the states the hunt was read in, and weighed as any other reading is, its trouble taken off.
Where something touches metal or a live wire, the battery through a lamp makes the current one that a clamp can follow;
where a wire may burn without it, the lamp is in whatever else comes off.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import type_i
from loomwright.network.solve import rest_values
from loomwright.proving.fault_bench import FaultBench, bench_of
from loomwright.proving.fault_table import before_all
from loomwright.proving.fitting import Probe
from loomwright.proving.live_shorts import is_too_risky
from loomwright.proving.next_point import (
    AT_REST,
    MOST_NEXT,
    REACH_BITS,
    TURN_BITS,
    NextPoint,
    best_points,
    blocks_of,
    is_read,
    left_bits,
    places_of,
)
from loomwright.proving.put_off import LAMP, off_says, off_trouble, put_off
from loomwright.proving.suspects import Suspect
from loomwright.proving.within_reach import WithinReach, within_reach
from loomwright.states.asking.scene import Scene
from loomwright.tables.constants import constant

__all__ = ["opened_points"]

Figures = NDArray[np.float64]
_ENOUGH_FRAC = 0.6
"""Where a plain reading tells so much of what is left, nothing is taken off [0..1]."""
_LEAST_BITS = 0.05
_MOST_LIKELY = 36
_KEPT_FRAC = 0.002
_MOST_STATES = 2
_MOST_WAYS = 18
_LEFT_ALONE = ("battery", "splice", "busbar", "earth_point", "starter")
_NEVER_OFF = ("battery", "alternator", "starter", "earth_point")
"""Parts whose wires are not taken off for a reading: with the engine turning it would cost the alternator."""
_TOUCHES = ("short to body", "short to live", "neighbour")


def opened_points(
    scene: Scene, suspects: Sequence[Suspect], odds: Figures, probes: Sequence[Probe], plain: float
) -> list[NextPoint]:
    """Readings worth taking with something off the car.

    Args:
        suspects: the sound car first.
        odds: of each. [0..1]
        probes: what was read already; the car stands as it did for the last of them.
        plain: what the best reading of the whole car tells, in bits. [-]
    """
    order = np.argsort(-odds, kind="stable")[:_MOST_LIKELY]
    likely = [int(k) for k in order if odds[k] > _KEPT_FRAC * odds[order[0]]]
    some, weights = [suspects[k] for k in likely], odds[likely] / odds[likely].sum()
    places = places_of(some)
    left = left_bits(weights, places)
    if not probes or left < _LEAST_BITS or plain > _ENOUGH_FRAC * left:
        return []
    meters = [
        (node, scene.compiled.arrays.nodes, constant("meter_volts_ohm")) for node in range(scene.compiled.arrays.nodes)
    ]
    bench, reach = bench_of(scene, some, meters), within_reach(scene)
    found: list[NextPoint] = []
    for off in _ways(scene, some):
        found += _with_off(scene, bench, reach, [suspects[0], *some], weights, places, probes, off)
    return [
        one
        for one in sorted(found, key=lambda one: (-round(one.worth, 6), one.off, one.point, one.to))
        if not is_read(one, probes)
    ][:MOST_NEXT]


def _with_off(
    scene: Scene,
    bench: FaultBench,
    reach: WithinReach,
    suspects: Sequence[Suspect],
    weights: Figures,
    places: type_i,
    probes: Sequence[Probe],
    off: tuple[str, ...],
) -> Iterator[NextPoint]:
    """The readings that tell most with this off, and with the lamp in besides where a wire may burn."""
    states = _states(scene, probes, off)
    before = before_all(scene, states)
    batches = list(
        bench.solved(suspects, states, None if (before == states).all() else before, put=put_off(scene, off))
    )
    trouble = off_trouble(scene, off, probes[-1].off)
    put = off_says(scene, off)
    burns = False
    for s, values in enumerate(states):
        amps = np.array([batch.amps[s, reach.wires] for batch in batches])
        if LAMP not in off and is_too_risky(amps, weights):
            burns = True
            continue
        away = {
            one.name: one.values[int(k)]
            for one, k in zip(scene.compiled.network.variables, values, strict=True)
            if one.values[int(k)] != one.rest
        }
        now = probes[-1].state
        turns = TURN_BITS * sum(away.get(name) != now.get(name) for name in {*away, *now})
        volts = np.array([batch.v[s] for batch in batches])[:, : scene.compiled.arrays.nodes + 1]
        for block in blocks_of(reach, volts, amps, off):
            for (point, to), bits, expected in best_points(block, weights, places):
                clamp = "clamp" in block.manner
                yield NextPoint(
                    point=point,
                    to=to,
                    measure="clamp" if clamp else "volts",
                    when=", ".join(f"{name}={value}" for name, value in away.items()) or AT_REST,
                    off=off,
                    put=put,
                    bits=bits,
                    worth=bits - trouble - turns - (REACH_BITS if to or clamp else 0.0),
                    expected=expected,
                    unit="A" if clamp else "V",
                )
    if burns:
        yield from _with_off(scene, bench, reach, suspects, weights, places, probes, (LAMP, *off))


def _states(scene: Scene, probes: Sequence[Probe], off: Sequence[str]) -> type_i:
    """The states the hunt was read in, the last and the first, and at rest. [-]

    The engine stands where it could not run: without its controller, or fed through a lamp.
    """
    rest = rest_values(scene.compiled)
    rows = [probes[-1].values.copy(), probes[0].values.copy(), rest]
    if any(name not in scene.parts or scene.kind(name).duty == "controller" for name in off if name not in scene.wires):
        variables, index = scene.compiled.network.variables, scene.compiled.variable_of
        for row in rows:
            if "engine" in index:
                row[index["engine"]] = rest[index["engine"]]
            if "key" in index and "run" in variables[index["key"]].values and row[index["key"]] != rest[index["key"]]:
                row[index["key"]] = variables[index["key"]].values.index("run")
    return np.array(list({tuple(int(k) for k in row): row for row in rows}.values())[:_MOST_STATES])


def _ways(scene: Scene, suspects: Sequence[Suspect]) -> list[tuple[str, ...]]:
    """What might come off: each fuse, relay and plug that a suspected wire ends at, the fuses by halves; suspected
    wires at their first end, by halves and each; the lamp, where something may touch.
    """
    named = list(dict.fromkeys(name for one in suspects for single in one.singles for name in single.at))
    wires = [name for name in named if name in scene.wires]
    ends = [end.split(".")[0] for name in wires for end in (scene.wires[name].from_, scene.wires[name].to)]
    parts = [name for name in dict.fromkeys([*named, *ends]) if name in scene.parts]
    parts = [name for name in parts if scene.parts[name].kind not in _LEFT_ALONE]
    fuses = [name for name in parts if scene.kind(name).group == "protection" or "fuse" in scene.parts[name].kind]
    found: list[tuple[str, ...]] = [(name,) for name in parts]
    if len(fuses) > 2:
        found[:0] = [tuple(fuses[: len(fuses) // 2]), tuple(fuses[::2])]
    if any(one.kind in _TOUCHES for suspect in suspects for one in suspect.singles):
        found.insert(0, (LAMP,))
    off: dict[str, list[str]] = {}
    for name in wires:
        part = scene.wires[name].from_.split(".")[0]
        if part in scene.parts and scene.parts[part].kind not in _NEVER_OFF:
            off.setdefault(part, []).append(name)
    for some in off.values():
        if len(some) > 2:
            found.append(tuple(some[: len(some) // 2]))
        found += [(name,) for name in some]
    return list(dict.fromkeys(found))[:_MOST_WAYS]
