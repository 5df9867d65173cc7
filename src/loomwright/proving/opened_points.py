"""What should come off the car, so that a reading tells apart what looks alike in one piece?

Wires that hang together without a fuse, a plug or a load between show the same, wherever one of them touches. A fuse
pulled, a relay or a plug out, a wire off its terminal, half of those that are suspected: each is put beside every fault
that is likely, solved in the states the hunt was read in, and weighed as any other reading is, its trouble taken off.
Where something touches metal or a live wire, the battery through a lamp makes the current one that a clamp can follow;
where a wire may burn without it, the lamp is in whatever else comes off.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import type_i
from loomwright.network.solve import Batch, rest_values
from loomwright.proving.bits_told import left_bits
from loomwright.proving.fault_bench import FaultBench, bench_of
from loomwright.proving.fault_table import before_all, fuses_open
from loomwright.proving.fitting import Probe
from loomwright.proving.live_shorts import FUSE_BITS, is_too_risky
from loomwright.proving.next_point import (
    AT_REST,
    MOST_NEXT,
    REACH_BITS,
    TURN_BITS,
    NextPoint,
    best_points,
    blocks_of,
    is_read,
    likeliest,
    places_of,
)
from loomwright.proving.put_off import LAMP, lifted_at, off_says, off_trouble, put_off
from loomwright.proving.suspects import TOUCHES, Suspect
from loomwright.proving.within_reach import WithinReach
from loomwright.states.asking.scene import Scene
from loomwright.tables.constants import constant

__all__ = ["ENOUGH_FRAC", "LEFT_ALONE", "lifted_ways", "opened_points"]

Figures = NDArray[np.float64]
ENOUGH_FRAC = 0.6
"""Where a plain reading tells so much of what is left, nothing is taken off [0..1]."""
_LEAST_BITS = 0.05
_MOST_LIKELY = 48
_LEFT_FRAC = 0.005
"""Odds of all the faults together that are left out; many unlikely ones may outweigh one that is not [0..1]."""
_MOST_STATES = 2
_MOST_PARTS, _MOST_LIFTED = 12, 8
"""Ways to pull fuses and plugs, and to take wires off, that are tried [-]."""
LEFT_ALONE = ("battery", "splice", "busbar", "earth_point", "starter")
"""Parts that are not unplugged for a reading."""
_NEVER_OFF = ("battery", "alternator", "starter")
"""Parts whose wires are not taken off for a reading: with the engine turning it would cost the alternator."""


def opened_points(
    scene: Scene,
    reach: WithinReach,
    suspects: Sequence[Suspect],
    odds: Figures,
    probes: Sequence[Probe],
    plain: float,
) -> list[NextPoint]:
    """Readings worth taking with something off the car.

    Args:
        reach: what can be read.
        suspects: the sound car first.
        odds: of each. [0..1]
        probes: what was read already; the car stands as it did for the last of them.
        plain: what the best reading of the whole car tells, in bits. [-]
    """
    likely, weights = likeliest(odds, _LEFT_FRAC, _MOST_LIKELY)
    some = [suspects[int(k)] for k in likely]
    places = places_of(some)
    left = left_bits(weights, places)
    if not probes or left < _LEAST_BITS or plain > ENOUGH_FRAC * left:
        return []
    meters = [
        (node, scene.compiled.arrays.nodes, constant("meter_volts_ohm")) for node in range(scene.compiled.arrays.nodes)
    ]
    bench = bench_of(scene, some, meters, along=True)
    found: list[NextPoint] = []
    lamp = _lamp_first(scene, bench, reach, [suspects[0], *some], weights, probes)
    ways = [tuple(dict.fromkeys((*lamp, *off))) for off in _ways(scene, some, weights)]
    for off in dict.fromkeys(ways):
        found += _with_off(scene, bench, reach, [suspects[0], *some], weights, places, probes, off)
    return [
        one
        for one in sorted(found, key=lambda one: (-round(one.worth, 6), one.off, one.point, one.to))
        if not is_read(one, probes)
    ][:MOST_NEXT]


def _lamp_first(
    scene: Scene,
    bench: FaultBench,
    reach: WithinReach,
    suspects: Sequence[Suspect],
    weights: Figures,
    probes: Sequence[Probe],
) -> tuple[str, ...]:
    """The lamp, where the car as it stands may burn a wire: then it is in whatever comes off."""
    states = _states(scene, probes, ())
    before = before_all(scene, states)
    batches = list(bench.solved(suspects, states, None if (before == states).all() else before))
    first, second = _flows(bench, reach, suspects, batches)
    most = np.maximum(np.abs(first), np.abs(second))
    return (LAMP,) if any(is_too_risky(most[:, s], reach.burns_a, weights) for s in range(len(states))) else ()


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
    flows = _flows(bench, reach, suspects, batches)
    trouble = off_trouble(scene, off, probes[-1].off)
    put = off_says(scene, off)
    burns = False
    for s, values in enumerate(states):
        amps, second = (side[:, s] for side in flows)
        if LAMP not in off and is_too_risky(np.maximum(np.abs(amps), np.abs(second)), reach.burns_a, weights):
            burns = True
            continue
        away = {
            one.name: one.values[int(k)]
            for one, k in zip(scene.compiled.network.variables, values, strict=True)
            if one.values[int(k)] != one.rest
        }
        now = probes[-1].state
        turns = TURN_BITS * sum(away.get(name) != now.get(name) for name in {*away, *now})
        blown = FUSE_BITS * float(
            weights[np.array([fuses_open(bench.compiled, batch)[s] for batch in batches[1:]])].sum()
        )
        volts = np.stack([batch.v[s] for batch in batches], axis=1)
        sides = (np.ascontiguousarray(amps.T), np.ascontiguousarray(second.T))
        for block in blocks_of(reach, volts, *sides, off):
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
                    worth=bits - trouble - turns - blown - (REACH_BITS if to or clamp else 0.0),
                    expected=expected,
                    unit="A" if clamp else "V",
                )
    if burns:
        yield from _with_off(scene, bench, reach, suspects, weights, places, probes, (LAMP, *off))


def _flows(
    bench: FaultBench, reach: WithinReach, suspects: Sequence[Suspect], batches: Sequence[Batch]
) -> tuple[Figures, Figures]:
    """Amps by fault, state and wire, at the first end and at the second. [A]"""
    first = np.array([batch.amps[:, reach.wires] for batch in batches])
    second = first.copy()
    column = {int(k): n for n, k in enumerate(reach.wires)}
    for n, (suspect, batch) in enumerate(zip(suspects, batches, strict=True)):
        for k, lost in bench.lost_a(suspect, batch):
            second[n, :, column[k]] += lost
    return first, second


def _states(scene: Scene, probes: Sequence[Probe], off: Sequence[str]) -> type_i:
    """The states the hunt was read in, the last and the first, and at rest. [-]

    The engine stands where it could not run: without its controller, or fed through a lamp.
    """
    rest = rest_values(scene.compiled)
    rows = [probes[-1].values.copy(), probes[0].values.copy(), rest]
    if any(_stands_for(scene, name) for name in off):
        variables, index = scene.compiled.network.variables, scene.compiled.variable_of
        for row in rows:
            if "engine" in index:
                row[index["engine"]] = rest[index["engine"]]
            if "key" in index and "run" in variables[index["key"]].values and row[index["key"]] != rest[index["key"]]:
                row[index["key"]] = variables[index["key"]].values.index("run")
    return np.array(list({tuple(int(k) for k in row): row for row in rows}.values())[:_MOST_STATES])


def _stands_for(scene: Scene, name: str) -> bool:
    """Whether the engine stands while this is off: the lamp is in, a controller is out, an earth hangs loose."""
    if name == LAMP:
        return True
    if name in scene.parts:
        return scene.kind(name).duty == "controller"
    part = scene.parts.get(lifted_at(scene, name)[2].split(".")[0])
    return part is not None and part.kind == "earth_point"


def _ways(scene: Scene, suspects: Sequence[Suspect], weights: Figures) -> list[tuple[str, ...]]:
    """What might come off: each fuse, relay and plug that a suspected wire ends at, the fuses by halves; suspected
    wires at either end, by halves and each, those first that part the odds most evenly; the lamp, where something may
    touch.
    """
    odds = _by_name(suspects, weights)
    wires = [name for name in odds if name in scene.wires]
    ends = [end.split(".")[0] for name in wires for end in (scene.wires[name].from_, scene.wires[name].to)]
    names = [name.partition(".")[0] for name in odds]
    parts = [name for name in dict.fromkeys([*names, *ends]) if name in scene.parts]
    parts = [name for name in parts if scene.parts[name].kind not in LEFT_ALONE]
    fuses = [name for name in parts if scene.kind(name).group == "protection" or "fuse" in scene.parts[name].kind]
    found: list[tuple[str, ...]] = [(name,) for name in parts]
    if len(fuses) > 2:
        found[:0] = [tuple(fuses[: len(fuses) // 2]), tuple(fuses[::2])]
    if any(one.kind in TOUCHES for suspect in suspects for one in suspect.singles):
        found.insert(0, (LAMP,))
    return list(dict.fromkeys([*found[:_MOST_PARTS], *lifted_ways(scene, suspects, weights)[:_MOST_LIFTED]]))


def lifted_ways(scene: Scene, suspects: Sequence[Suspect], weights: Figures) -> list[tuple[str, ...]]:
    """Suspected wires off at one end, by halves and each, those first that part the odds most evenly.

    Args:
        weights: of the faults. [0..1]
    """
    odds = _by_name(suspects, weights)
    return sorted(_lifted(scene, suspects, odds), key=lambda some: abs(0.5 - _odds_of(scene, some, odds)))


def _by_name(suspects: Sequence[Suspect], weights: Figures) -> dict[str, float]:
    """Wire, part or terminal -> the odds of all faults there. [0..1]"""
    odds: dict[str, float] = {}
    for one, weight in zip(suspects, weights, strict=True):
        for name in dict.fromkeys(name for single in one.singles for name in single.at):
            odds[name] = odds.get(name, 0.0) + float(weight)
    return odds


def _odds_of(scene: Scene, some: Sequence[str], odds: Mapping[str, float]) -> float:
    return sum(odds[lifted_at(scene, name)[0]] for name in some)


def _lifted(scene: Scene, suspects: Sequence[Suspect], odds: Mapping[str, float]) -> Iterator[tuple[str, ...]]:
    """Suspected wires off at their first end; off where they go to, if they may touch something along their length."""
    touching = {one.at[0] for suspect in suspects for one in suspect.singles if one.along >= 0}
    for second in (False, True):
        off: dict[str, list[str]] = {}
        for name in (name for name in odds if name in scene.wires and (name in touching or not second)):
            end = scene.wires[name].to if second else scene.wires[name].from_
            part = end.split(".")[0]
            if part in scene.parts and scene.parts[part].kind not in _NEVER_OFF:
                off.setdefault(end, []).append(f"{name}:{end}" if second else name)
        for some in off.values():
            some.sort(key=lambda name: -odds[lifted_at(scene, name)[0]])
            if len(some) > 2:
                yield tuple(some[::2])
            yield from ((name,) for name in some)
