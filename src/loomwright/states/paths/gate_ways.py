"""By which gates can a net meet the supply, or earth, and on what does a thing that works rest?

A *way* is a row of gates from a net to the battery's live post (or another source), or to earth, that can all be closed
in one state: what their positions and relays ask for must agree. What a thing *rests on* is every gate on any such way
of its two ends, with the ways of every relay coil, controller supply and key input those gates need.

Method: depth-first search over nets, a few gates deep; two gates that ask opposite things of one switch or relay never
stand in one way, so a wiper's park contact does not tie its feed to earth.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import islice
from typing import Literal

import numpy as np

from loomwright.states.asking.answers import Answers, type_bool
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.joined import SOURCE, Gate, Joined

__all__ = ["RestsOn", "Target", "Way", "acting", "is_earthed", "is_fed", "leads", "rests_on", "ways"]

Target = Literal["live", "earth"]
Holds = Mapping[int, frozenset[int]]

_MOST_WAYS = 48
_MOST_GATES = 8
_MINDED = ("relay", "alive", "key_input", "signal")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Way:
    """Gates (elements) from a net to its target in order, the nets passed, the variables and devices they need."""

    gates: tuple[int, ...]
    nets: tuple[int, ...]
    holds: Holds
    needs: Mapping[int, bool]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RestsOn:
    """What things that work rest on: the nets, the gates, and the devices, all by number.

    before: the nets a gate stands next to on the side of what rests on it.
    """

    nets: frozenset[int]
    gates: frozenset[int]
    devices: frozenset[int]
    before: Mapping[int, frozenset[int]]


def ways(scene: Scene, joined: Joined, net: int, target: Target, fixed: Holds | None = None) -> tuple[Way, ...]:
    """The ways from a net to the supply or to earth.

    Args:
        fixed: values some variables must keep.
    """
    return tuple(islice(_search(scene, joined, net, target, dict(fixed or {})), _MOST_WAYS))


def is_fed(scene: Scene, joined: Joined, net: int) -> bool:
    """Whether a net can be live through gates alone."""
    return bool(tuple(islice(_search(scene, joined, net, "live", {}), 1)))


def is_earthed(scene: Scene, joined: Joined, net: int) -> bool:
    """Whether a net can be at earth through gates alone."""
    return bool(tuple(islice(_search(scene, joined, net, "earth", {}), 1)))


def leads(scene: Scene, joined: Joined, net: int, gate: Gate, target: Target) -> bool:
    """Whether a way from a net to the target begins with this gate."""
    return bool(tuple(islice(_through(scene, joined, target, ((net,), ()), gate, {}, {}), 1)))


def rests_on(scene: Scene, joined: Joined, elements: Iterable[int], devices: Iterable[int] = ()) -> RestsOn:
    """What elements need to be fed, and what devices need to be on."""
    arrays = scene.compiled.arrays
    waiting = [net for element in elements for net in joined.nets(scene, element)]
    asked = list(devices)
    nets: set[int] = set()
    before: dict[int, set[int]] = {}
    known: set[int] = set()
    while waiting or asked:
        for device in asked:
            known.add(device)
            for sense in range(arrays.sense_ptr[device], arrays.sense_ptr[device + 1]):
                element = int(arrays.sense_element[sense])
                ends = scene.ends(element) if element >= 0 else (int(arrays.sense_a[sense]), int(arrays.sense_b[sense]))
                waiting.extend(joined.net_of[end] for end in ends)
        asked = []
        while waiting:
            net = waiting.pop()
            if net in nets:
                continue
            nets.add(net)
            for way in (*ways(scene, joined, net, "live"), *ways(scene, joined, net, "earth")):
                for gate, side in zip(way.gates, way.nets, strict=False):
                    before.setdefault(gate, set()).add(side)
                waiting.extend(way.nets)
                asked.extend(d for d in way.needs if d not in known and _is_minded(scene, d))
        asked = list(dict.fromkeys(asked))
    return RestsOn(
        nets=frozenset(nets),
        gates=frozenset(before),
        devices=frozenset(known),
        before={gate: frozenset(sides) for gate, sides in before.items()},
    )


def acting(answers: Answers, element: int) -> type_bool:
    """Where an element is there: one of its guards holds and its devices lie as it needs."""
    found = answers.compiled.network.elements[element]
    closed = np.ones(answers.count, bool)
    if found.guards:
        closed[:] = False
        for guard in found.guards:
            holds = np.ones(answers.count, bool)
            for variable, values in guard.holds:
                holds &= np.isin(answers.batch.values[:, variable], sorted(values))
            closed |= holds
    for device, on in found.needs:
        closed &= answers.on(device) == on
    return closed


def _is_minded(scene: Scene, device: int) -> bool:
    """Devices whose feed matters: not fuses and motors, nor the starter, whose contact is on only while it turns."""
    found = scene.compiled.network.devices[device]
    part = found.name.split(".")[0]
    is_starter = any(scene.element(k).type == "starter_motor" for k in scene.elements_of.get(part, ()))
    return found.what in _MINDED and not is_starter


def _search(scene: Scene, joined: Joined, net: int, target: Target, fixed: dict[int, frozenset[int]]) -> Iterator[Way]:
    yield from _onward(scene, joined, target, (net,), (), fixed, {})


def _onward(
    scene: Scene,
    joined: Joined,
    target: Target,
    nets: tuple[int, ...],
    gates: tuple[int, ...],
    holds: dict[int, frozenset[int]],
    needs: dict[int, bool],
) -> Iterator[Way]:
    net = nets[-1]
    if _is_target(joined, net, target):
        yield Way(gates=gates, nets=nets, holds=holds, needs=needs)
        return
    if len(gates) >= _MOST_GATES or net in joined.live or net in joined.earth or net in joined.stars:
        return
    for gate in joined.gates[net]:
        yield from _through(scene, joined, target, (nets, gates), gate, holds, needs)


def _through(
    scene: Scene,
    joined: Joined,
    target: Target,
    so_far: tuple[tuple[int, ...], tuple[int, ...]],
    gate: Gate,
    holds: dict[int, frozenset[int]],
    needs: dict[int, bool],
) -> Iterator[Way]:
    """The ways that go on through one gate. so_far: nets and gates passed."""
    nets, gates = so_far
    if gate.other in nets or not _passes(joined, gate, target):
        return
    for more_holds, more_needs in _agreeing(scene, gate.element, holds, needs):
        if gate.other != SOURCE:
            yield from _onward(
                scene, joined, target, (*nets, gate.other), (*gates, gate.element), more_holds, more_needs
            )
        elif target == "live":
            yield Way(gates=(*gates, gate.element), nets=nets, holds=more_holds, needs=more_needs)


def _is_target(joined: Joined, net: int, target: Target) -> bool:
    if target == "live":
        return net in joined.live
    return net in joined.earth or net in joined.stars


def _passes(joined: Joined, gate: Gate, target: Target) -> bool:
    if gate.inward is None:
        return True
    return gate.inward == ((target == "live") == (joined.polarity > 0))


def _agreeing(
    scene: Scene, element: int, holds: Mapping[int, frozenset[int]], needs: Mapping[int, bool]
) -> Iterator[tuple[dict[int, frozenset[int]], dict[int, bool]]]:
    """What must hold with the gate closed too, for each of its guards that agrees with what holds already."""
    found = scene.element(element)
    now = dict(needs)
    for device, on in found.needs:
        if now.get(device, on) != on:
            return
        now[device] = on
    for guard in found.guards or (None,):
        both = dict(holds)
        for variable, values in guard.holds if guard is not None else ():
            both[variable] = both.get(variable, values) & values
        if all(both.values()):
            yield both, now
