"""Which ohms, the battery off, would tell most of where the fault is, or tell it without blowing another fuse?

Where volts tell little, and where a short is likely: a wire from end to end, a wire, a bar or a terminal to the body or
to what it may touch, an earth over its bolt, a fuse, a contact, a coil or a load across. Each with nothing else off,
with what plugs in at its two ends off, and with all off that hangs on the same net; a wire that may touch besides off
its terminal. A controller never stays plugged in on a net that is measured: what is inside it is no resistor.

Source: ohms to metal with the battery's lead off and the plugs out, practice of the trade: common practice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import type_i
from loomwright.network.solve import rest_values
from loomwright.proving.bits_told import left_bits
from loomwright.proving.fitting import Probe, decades, ohms_of_decades
from loomwright.proving.next_point import (
    AT_REST,
    MOST_NEXT,
    TURN_BITS,
    Block,
    NextPoint,
    best_points,
    is_read,
    likeliest,
    places_of,
)
from loomwright.proving.ohms_read import ohms_bench
from loomwright.proving.opened_points import ENOUGH_FRAC, LEFT_ALONE, lifted_ways
from loomwright.proving.put_off import off_says, off_trouble
from loomwright.proving.suspects import TOUCHES, Suspect
from loomwright.proving.within_reach import WithinReach
from loomwright.states.asking.scene import Scene

__all__ = ["OHMS_BITS", "OHMS_PUT", "OHMS_RANGE", "ohm_points"]

Figures = NDArray[np.float64]
Pair = tuple[str, str]
OHMS_BITS = 0.3
"""Trouble of the battery's lead off, or back on, against what a reading tells: ours [bit]."""
OHMS_PUT = "the battery's earth lead off its post"
OHMS_RANGE = (
    "ohms, 200 Ω, up a range while it shows over range; over range in the highest is open. "
    "Tips together first: what that shows comes off."
)
"""How the meter is set: common practice, no source."""
_LEAST_BITS = 0.05
_MOST_LIKELY, _LEFT_FRAC = 32, 0.005
_MAY_TOUCH_FRAC = 0.2
"""Odds of all that touches together from which ohms are looked at though volts tell enough: ours [0..1]."""
_MAY_SWITCH_FRAC = 0.05
"""The same of contacts, from which the switches are looked at as they lay for the last reading [0..1]."""
_MOST_PAIRS, _MOST_WAYS, _MOST_LIFTED = 12, 20, 4
_BODY = "body"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """Two points, and what is off meanwhile."""

    pair: Pair
    off: tuple[str, ...]


def ohm_points(
    scene: Scene,
    reach: WithinReach,
    suspects: Sequence[Suspect],
    odds: Figures,
    probes: Sequence[Probe],
    plain: float,
) -> list[NextPoint]:
    """Ohms worth reading.

    Args:
        reach: what can be read.
        suspects: the sound car first.
        odds: of each. [0..1]
        probes: what was read already, ohms among it.
        plain: what the best reading of the whole car tells, in bits. [-]
    """
    likely, weights = likeliest(odds, _LEFT_FRAC, _MOST_LIKELY)
    some = [suspects[int(k)] for k in likely]
    places = places_of(some)
    left = left_bits(weights, places)
    if not probes or left < _LEAST_BITS:
        return []
    if plain > ENOUGH_FRAC * left and _share(some, weights, TOUCHES) < _MAY_TOUCH_FRAC:
        return []
    node_of = dict(zip(reach.names, (int(node) for node in reach.nodes), strict=True))
    ways = _ways(scene, some, weights, node_of)
    pairs = list(dict.fromkeys(way.pair for way in ways))
    if not pairs:
        return []
    meters = ohms_bench(scene, some, [(node_of[a], node_of[b]) for a, b in pairs])
    by_off: dict[tuple[str, ...], list[Pair]] = {}
    for way in ways:
        by_off.setdefault(way.off, []).append(way.pair)
    found: list[NextPoint] = []
    last = probes[-1]
    for off, points in by_off.items():
        for values in _states(scene, last, _share(some, weights, ("contact",)) > _MAY_SWITCH_FRAC):
            shown = [meters.shown(pairs.index(pair), [suspects[0], *some], values, off) for pair in points]
            block = Block(manner="ohms", shown=decades(np.array(shown)), points=points)
            away = _away(scene, values)
            trouble = off_trouble(scene, off, last.off) + TURN_BITS * len(away) + (0.0 if last.is_ohms else OHMS_BITS)
            for (point, to), bits, expected in best_points(block, weights, places):
                found.append(
                    NextPoint(
                        point=point,
                        to=to,
                        measure="ohms",
                        when=", ".join(f"{name}={value}" for name, value in away.items()) or AT_REST,
                        off=off,
                        put="; ".join(filter(None, (OHMS_PUT, off_says(scene, off)))),
                        bits=bits,
                        worth=bits - trouble,
                        expected=ohms_of_decades(expected),
                        unit="ohm",
                    )
                )
    order = sorted(found, key=lambda one: (-round(one.worth, 6), one.off, one.point, one.to))
    return [one for one in order if not is_read(one, probes)][:MOST_NEXT]


def _share(suspects: Sequence[Suspect], weights: Figures, kinds: Sequence[str]) -> float:
    """Odds of the faults of some kinds together. [0..1]"""
    return float(sum(w for one, w in zip(suspects, weights, strict=True) if any(s.kind in kinds for s in one.singles)))


def _states(scene: Scene, last: Probe, switches: bool) -> list[type_i]:
    """All at rest, as the car stands when its battery comes off; and the switches as they lay for the last reading.

    The engine stands, and nobody holds the key at start.
    """
    rest = rest_values(scene.compiled)
    lay, index = last.values.copy(), scene.compiled.variable_of
    for name in ("engine", "battery"):
        if name in index:
            lay[index[name]] = rest[index[name]]
    if last.state.get("key") == "start" and "run" in scene.compiled.network.variables[index["key"]].values:
        lay[index["key"]] = scene.compiled.network.variables[index["key"]].values.index("run")
    return [rest, lay] if switches and (lay != rest).any() else [rest]


def _away(scene: Scene, values: type_i) -> Mapping[str, str]:
    return {
        one.name: one.values[int(k)]
        for one, k in zip(scene.compiled.network.variables, values, strict=True)
        if one.values[int(k)] != one.rest
    }


def _ways(scene: Scene, suspects: Sequence[Suspect], weights: Figures, node_of: Mapping[str, int]) -> list[_Way]:
    """Where the two tips may go and what is off meanwhile, by the odds of the faults they are put to."""
    odds: dict[Pair, float] = {}
    touched: dict[Pair, float] = {}
    for one, weight in zip(suspects, weights, strict=True):
        for single in one.singles:
            for pair in dict.fromkeys(_pairs(scene, single)):
                if pair[0] != pair[1] and all(name in node_of for name in pair):
                    odds[pair] = odds.get(pair, 0.0) + float(weight)
                    if single.kind in TOUCHES:
                        touched[pair] = touched.get(pair, 0.0) + float(weight)
    best = sorted(odds, key=lambda pair: -odds[pair])[:_MOST_PAIRS]
    found: dict[_Way, None] = {}
    for pair in best:
        for off in _offs(scene, pair):
            found[_Way(pair=pair, off=off)] = None
    lifted = lifted_ways(scene, suspects, weights)[:_MOST_LIFTED] if touched else []
    whole = {pair: _offs(scene, pair)[-1] for pair in best if pair in touched}
    for some in lifted:
        for pair, off in whole.items():
            found[_Way(pair=pair, off=tuple(dict.fromkeys((*off, *some))))] = None
    offs = list(dict.fromkeys(way.off for way in found))[:_MOST_WAYS]
    return [way for way in found if way.off in offs]


def _pairs(scene: Scene, fault: Suspect) -> Iterator[Pair]:
    """Two points between which a fault may show in ohms."""
    for name in (name for name in fault.at if name in scene.wires):
        one, other = _tips(scene, name)
        if fault.kind in ("open", "resistance", "swapped"):
            yield one, other
        elif fault.kind == "short to body":
            yield from ((one, _BODY), (other, _BODY))
    if fault.kind == "bare":
        point = fault.at[0]
        yield (point if "." in point else next(iter(_terminals(scene, point)), ""), _BODY)
    elif fault.bridge is not None and fault.along < 0:
        yield scene.name_of(fault.bridge[0]), scene.name_of(fault.bridge[1])
    elif fault.kind == "short to live" and fault.bridge is not None:
        yield _tips(scene, fault.at[0])[1], scene.name_of(fault.bridge[1])
    if fault.at and fault.at[0] not in scene.wires:
        for k in (*fault.opened, *(k for k, _ in fault.added_ohm)):
            a, b = scene.ends(k)
            yield scene.name_of(a), scene.name_of(b)


def _tips(scene: Scene, wire: str) -> Pair:
    """Where a tip may be put at either end of a wire; beyond a splice, where the next wire of it ends."""
    row = scene.wires[wire]
    one, other = (_beyond(scene, scene.point(end), wire) for end in (row.from_, row.to))
    return one, other


def _beyond(scene: Scene, point: str, wire: str) -> str:
    part = point.partition(".")[0]
    if part not in scene.parts or scene.parts[part].kind != "splice":
        return point
    ends = (
        end
        for there in _terminals(scene, part)
        for one in scene.wires_at[there]
        if one.id != wire
        for end in (scene.point(one.from_), scene.point(one.to))
    )
    return next((end for end in ends if end.partition(".")[0] != part), point)


def _terminals(scene: Scene, part: str) -> tuple[str, ...]:
    return tuple(point for point in scene.points_of.get(part, ()) if point in scene.wires_at)


def _offs(scene: Scene, pair: Pair) -> list[tuple[str, ...]]:
    """What may be off: nothing, what plugs in at the two points, all that hangs on their nets; controllers always."""
    across = pair[0].partition(".")[0] if pair[0].partition(".")[0] == pair[1].partition(".")[0] else ""
    hanging = [part for part in _hanging(scene, pair) if part != across]
    plugged = [part for part in hanging if scene.kind(part).duty == "controller"]
    ends = {point.partition(".")[0] for point in pair}
    near = [part for part in hanging if part in ends or part in plugged]
    return list(dict.fromkeys((tuple(plugged), tuple(near), tuple(hanging))))


def _hanging(scene: Scene, pair: Pair) -> list[str]:
    """The parts that come off by hand on the nets of two points: wires and what joins them, nothing else between."""
    seen, queue = set(pair) - {_BODY}, [point for point in pair if point != _BODY]
    while queue:
        point = queue.pop()
        part = point.partition(".")[0]
        reached = [scene.point(end) for one in scene.wires_at.get(point, ()) for end in (one.from_, one.to)]
        if part in scene.parts and scene.kind(part).duty == "join":
            reached += _terminals(scene, part)
        for other in reached:
            if other not in seen and "." in other:
                seen.add(other)
                queue.append(other)
    parts = dict.fromkeys(point.partition(".")[0] for point in sorted(seen))
    return [part for part in parts if part in scene.parts and scene.parts[part].kind not in LEFT_ALONE]
