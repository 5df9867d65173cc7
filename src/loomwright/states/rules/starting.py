"""Does the starter turn only in park or neutral, and only when it is asked to (KEY-1)?

Broken where the solenoid is in (or a starter without one is fed) with the selector out of P and N. A manual gearbox has
no selector: there a part with the role `start_inhibit` must be closed while the solenoid is in; where no part has that
role nothing is asked.

To say where to put a hand, the ways that feed the solenoid, and through a start relay both ends of its coil, are walked
with the selector held in gear. A single wire without which it starts in P and N and no longer in gear is a bridge; else
the side of the coil on which the inhibiting contact still has a wire is where it is passed by.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np

from loomwright.network.records import Changes
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.gate_ways import Target, Way, acting, ways
from loomwright.states.paths.joined import Joined, joined_of, places_between, wires_only
from loomwright.states.paths.kept_on import kept_on

__all__ = ["gear_watches", "is_in", "starters_of", "unasked_watches"]

Asks = Callable[[Answers], tuple[type_bool, type_float]]

_SAFE = ("P", "N")
_NO_HAND = ("key", "engine", "selector", "battery", "phase", "unplugged")
"""Variables that no hand on another switch moves [-]."""
_TARGETS: tuple[Target, ...] = ("live", "earth")
_TURNS = 0.1
"""Share of its running amps from which a starter without a solenoid is taken as fed [-]."""


def _motor(scene: Scene, part: str) -> int | None:
    return next((k for k in scene.elements_of.get(part, ()) if scene.element(k).type == "starter_motor"), None)


def is_in(scene: Scene, part: str, answers: Answers) -> type_bool:
    """Where a starter's solenoid is in, or a starter without one is fed."""
    device = scene.compiled.device_of.get(f"{part}.hold")
    if device is not None:
        return answers.on(device)
    motors = [k for k in scene.elements_of[part] if scene.element(k).type == "starter_motor"]
    amps = np.abs(answers.batch.amps[:, motors].sum(axis=1))
    found: type_bool = amps >= _TURNS * (scene.element(motors[0]).rated_a or 0.0)
    return found


def starters_of(scene: Scene) -> tuple[str, ...]:
    """The parts that are starters."""
    return tuple(part for part in scene.parts if _motor(scene, part) is not None)


def unasked_watches(scene: Scene, joined: Joined, part: str) -> list[Watch]:
    """KEY-1 of one starter: is it in with the key out of start, and no other switch moved that could ask for it?"""
    variables = scene.compiled.network.variables
    key = scene.compiled.variable_of.get("key")
    if key is None or "start" not in variables[key].values:
        return []
    rest = {
        index: variable.values.index(variable.rest)
        for index, variable in enumerate(variables)
        if not variable.numeric and variable.name not in _NO_HAND
    }

    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        hit = is_in(scene, part, answers) & ~answers.at("key", "start")
        for index, value in rest.items():
            hit &= answers.batch.values[:, index] == value
        return hit, np.zeros(answers.count)

    wires = tuple(wire.id for name in ("50", "30") for wire in scene.wires_at.get(f"{part}.{name}", ()))
    start = scene.compiled.node_of.get(f"{part}.50", scene.compiled.node_of.get(f"{part}.M", -1))
    watch = Watch(
        rule="KEY-1",
        severity="fault",
        at=(part, *wires[:1]),
        touches=wires,
        label=f"{part} ({scene.title(part)})",
        wrong="turns by itself: the key is not in start and no other switch is moved",
        mend="Take its trigger off what is live there: it goes to terminal 50, over its relay and what inhibits it",
        broken=broken,
        # back through the relays to the wire that keeps it in
        path_of=(lambda answers, row: kept_on(scene, joined, answers, row, start).along) if start >= 0 else None,
    )
    return [watch]


def gear_watches(scene: Scene, joined: Joined, part: str) -> list[Watch]:
    """The questions KEY-1 of one starter."""
    index = scene.compiled.variable_of.get("selector")
    if index is not None and set(_SAFE) & set(scene.compiled.network.variables[index].values):
        return [_gear_watch(scene, joined, part)]
    made = []
    for inhibit in scene.role_of.get("start_inhibit", ()):
        contacts = [k for k in scene.elements_of.get(inhibit.id, ()) if scene.element(k).type == "switch"]
        if contacts:
            made.append(_inhibit_watch(scene, joined, part, inhibit.id, contacts))
    return made


def _gear_watch(scene: Scene, joined: Joined, part: str) -> Watch:
    index = scene.compiled.variable_of["selector"]
    gears = frozenset(k for k, v in enumerate(scene.compiled.network.variables[index].values) if v not in _SAFE)

    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        return is_in(scene, part, answers) & ~answers.at("selector", *_SAFE), np.zeros(answers.count)

    return _start_watch(
        scene,
        joined,
        part,
        broken=broken,
        holds={index: gears},
        wrong="goes in with the selector out of P and N: the car moves off as it starts",
    )


def _inhibit_watch(scene: Scene, joined: Joined, part: str, inhibit: str, contacts: list[int]) -> Watch:
    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        closed = np.logical_or.reduce([acting(answers, k) for k in contacts])
        return is_in(scene, part, answers) & ~closed, np.zeros(answers.count)

    holds: dict[int, frozenset[int]] = {}
    for guard in scene.element(contacts[0]).guards[:1]:
        for variable, values in guard.holds:
            every = frozenset(range(len(scene.compiled.network.variables[variable].values)))
            holds[variable] = every - values
    return _start_watch(
        scene,
        joined,
        part,
        broken=broken,
        holds=holds,
        wrong=f"goes in with {inhibit} ({scene.title(inhibit)}) open: the car moves off as it starts",
    )


def _start_watch(
    scene: Scene,
    joined: Joined,
    part: str,
    *,
    broken: Asks,
    holds: dict[int, frozenset[int]],
    wrong: str,
) -> Watch:
    relay, first_wire, along, path = _past_the_inhibit(scene, joined, part, holds)
    culprit = _link_wire(scene, part, holds, wires_only(scene, along))
    first = relay or part
    taken = culprit or first_wire
    movers = [mover for k in holds for mover in scene.compiled.network.variables[k].parts]
    hand = tuple(dict.fromkeys((first, *(place for place in (culprit, first_wire) if place), part)))[:4]
    return Watch(
        rule="KEY-1",
        severity="fault",
        at=hand,
        touches=tuple(dict.fromkeys(place for place in (*along, *movers) if place not in hand)),
        label=f"{first} ({scene.title(first)})" if relay is None else f"{first} ({scene.title(first)}, starter {part})",
        wrong=wrong,
        broken=broken,
        mend=_start_mend(culprit),
        trial=Changes(opened=(taken,)) if taken else None,
        root=taken is not None,
        path=wires_only(scene, path),
    )


def _start_mend(culprit: str | None) -> str:
    if culprit is not None:
        return f"Take off {culprit}: it bridges the contact that closes in P and N only"
    return "Lead the start relay's coil, or the start wire, through the contact that closes in P and N only"


def _past_the_inhibit(
    scene: Scene, joined: Joined, part: str, holds: dict[int, frozenset[int]]
) -> tuple[str | None, str | None, tuple[str, ...], tuple[str, ...]]:
    """The relay that feeds the solenoid, the wire past the inhibit, the places on the ways closed in gear, and the way
    its current takes: from the source through the relay's coil to earth, then from the source to the solenoid.
    """
    start = scene.compiled.node_of.get(f"{part}.50", scene.compiled.node_of.get(f"{part}.M", -1))
    if start < 0:
        return None, None, (), ()
    found: dict[str, None] = {}
    fed: dict[str, None] = {}
    worked: dict[str, None] = {}
    relay = first_wire = None
    for way in ways(scene, joined, joined.net_of[start], "live", holds)[:2]:
        places = _places(scene, joined, start, way)
        found.update(dict.fromkeys(places))
        fed.update(dict.fromkeys(reversed(places)))
        first_wire = first_wire or next(iter(wires_only(scene, places)), None)
        for device, on in way.needs.items():
            name = scene.compiled.network.devices[device].name.split(".")[0]
            if on and name != part and scene.compiled.network.devices[device].what == "relay":
                sides = _coil_places(scene, joined, device, holds)
                if relay is None and sides:
                    first_wire = next(iter(wires_only(scene, sides[0][1])), None)
                relay = relay or name
                found.update(dict.fromkeys(place for _, side in sides for place in side))
                worked.update(dict.fromkeys(p for target, side in sides if target == "live" for p in reversed(side)))
                worked.update(dict.fromkeys(p for target, side in sides if target == "earth" for p in side))
    return relay, first_wire, tuple(found), tuple(dict.fromkeys((*worked, *fed)))


def _coil_places(
    scene: Scene, joined: Joined, device: int, holds: dict[int, frozenset[int]]
) -> list[tuple[Target, list[str]]]:
    """The places on the ways of a coil that stay closed in gear, each with what it leads to.

    First the side on which the contact that should open still has a wire: that is where it is passed by; then the side
    with fewest contacts.
    """
    found: list[tuple[bool, int, Target, list[str]]] = []
    movers = {mover for k in holds for mover in scene.compiled.network.variables[k].parts}
    arrays = scene.compiled.arrays
    for sense in range(arrays.sense_ptr[device], arrays.sense_ptr[device + 1]):
        element = int(arrays.sense_element[sense])
        for node in scene.ends(element) if element >= 0 else ():
            net = joined.net_of[node]
            inhibit = not any(scene.name_of(other).split(".")[0] in movers for other in joined.nodes[net])
            for target in _TARGETS:
                for way in ways(scene, joined, net, target, holds)[:1]:
                    found.append((inhibit, len(way.gates), target, _places(scene, joined, node, way)))
    return [(target, places) for _, _, target, places in sorted(found, key=lambda one: one[:2])]


def _places(scene: Scene, joined: Joined, node: int, way: Way) -> list[str]:
    """Wires and parts along a way, from a node to its target."""
    found: list[str] = []
    here = node
    for gate, net in zip(way.gates, way.nets, strict=False):
        a, b = scene.ends(gate)
        near, far = (a, b) if joined.net_of[a] == net else (b, a)
        found.extend(places_between(scene, joined, here, {near}))
        found.append(scene.element(gate).part)
        here = far
    last = joined.net_of[here]
    posts = joined.posts if last in joined.live else (scene.compiled.arrays.nodes,)
    found.extend(places_between(scene, joined, here, posts))
    return found


def _link_wire(scene: Scene, part: str, holds: dict[int, frozenset[int]], wires: Iterable[str]) -> str | None:
    """The wire without which the starter still starts in P and N, and no longer in gear.

    None where nothing starts it in gear: a solenoid that only stays in is no bridge's doing.
    """
    if not _starts(scene, joined_of(scene), part, holds):
        return None
    for wire in wires:
        without = joined_of(scene, (wire,))
        if not _starts(scene, without, part, holds) and _starts(scene, without, part, {}):
            return wire
    return None


def _starts(scene: Scene, joined: Joined, part: str, holds: dict[int, frozenset[int]]) -> bool:
    start = scene.compiled.node_of.get(f"{part}.50", scene.compiled.node_of.get(f"{part}.M", -1))
    for way in ways(scene, joined, joined.net_of[start], "live", holds):
        coils = [d for d, on in way.needs.items() if on and scene.compiled.network.devices[d].what == "relay"]
        if all(_coil_fed(scene, joined, device, {**holds, **way.holds}) for device in coils):
            return True
    return False


def _coil_fed(scene: Scene, joined: Joined, device: int, holds: dict[int, frozenset[int]]) -> bool:
    sense = int(scene.compiled.arrays.sense_ptr[device])
    element = int(scene.compiled.arrays.sense_element[sense])
    a, b = (joined.net_of[node] for node in scene.ends(element))
    both = ((a, b), (b, a))
    return any(
        ways(scene, joined, one, "live", holds) and ways(scene, joined, two, "earth", holds) for one, two in both
    )
