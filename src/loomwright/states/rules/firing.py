"""Can the engine fire with the key in run and in start (KEY-3)?

Asked with the key in run and the engine turning by itself, and with the key in start while it cranks or turns, the
selector in P or N. Every controller that drives injectors or ignition must be alive; every injector, coil and pump fed
and driven. Switches of other purpose (crash switch, isolator, a hidden switch) stay at rest for it: they are there to
stop the engine. Too few volts are SUP-1's.

    link     a hand's contact on which one of them rests is open, live on one side and dead on the other: that is the
             missing feed, and what is told is the branch that hangs on it
    feed     no such contact is open, and the feed is dead all the same
    drive    it is fed, its controller is alive, and it carries nothing
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.firing import Firing
from loomwright.states.paths.gate_ways import acting
from loomwright.states.paths.joined import Joined, places_between, wires_only
from loomwright.states.paths.tracing import Ways, names_of, ways_of
from loomwright.tables.constants import constant

__all__ = ["fire_watches"]

_FREE = ("key", "selector", "engine", "battery", "phase")
_HALF = 0.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Link:
    """A hand's contact on which things rest. side: the net on their side of it. node: its end there."""

    gate: int
    node: int
    side: int
    firing: tuple[Firing, ...]


def fire_watches(scene: Scene, joined: Joined, firing: tuple[Firing, ...]) -> list[Watch]:
    """The questions KEY-3 of a car; none without an engine's controller, coil, injector or pump."""
    links = _links(scene, joined, firing)
    ways = ways_of(scene)
    made = [_link_watch(scene, joined, link) for link in links]
    for group in _by_feed(firing):
        made.append(_feed_watch(scene, ways, group, links))
    made.extend(_drive_watch(scene, one, links) for one in firing if one.device < 0)
    return made


def _links(scene: Scene, joined: Joined, firing: Sequence[Firing]) -> list[_Link]:
    found = []
    for gate in sorted({gate for one in firing for gate in one.rests.gates}):
        if scene.element(gate).type != "switch":
            continue
        resting = tuple(one for one in firing if gate in one.rests.gates)
        a, b = scene.ends(gate)
        sides = resting[0].rests.before[gate]
        node = a if joined.net_of[a] in sides else b
        found.append(_Link(gate=gate, node=node, side=joined.net_of[node], firing=resting))
    return found


def _by_feed(firing: Sequence[Firing]) -> list[tuple[Firing, ...]]:
    groups: dict[tuple[str, int], list[Firing]] = {}
    for one in firing:
        groups.setdefault((one.part if one.device >= 0 else "", one.net), []).append(one)
    return [tuple(group) for group in groups.values()]


# when it is asked


def _asked(scene: Scene, answers: Answers, gates: Iterable[int]) -> type_bool:
    """Where the engine should fire: turning in run, cranking or turning in start, other switches at rest."""
    turns = answers.turning()
    if "key" in answers.compiled.variable_of:
        in_start = answers.at("key", "start") & (turns | answers.at("engine", "cranking"))
        if "selector" in answers.compiled.variable_of:
            in_start &= answers.at("selector", "P", "N")
        asked = (answers.at("key", "run") & turns) | in_start
    else:
        asked = turns | answers.at("engine", "cranking")
    for name in sorted(_cut_offs(scene, gates)):
        asked &= answers.at_rest(name)
    found: type_bool = asked & ~answers.collapsed()
    return found


def _plainest(answers: Answers) -> type_float:
    """Which state to tell of several: one that turns by itself, where every key position is possible."""
    return answers.turning().astype(float)


def _cut_offs(scene: Scene, gates: Iterable[int]) -> set[str]:
    """Variables of other switches on the way: they may stop the engine, that is what they are for."""
    variables = scene.compiled.network.variables
    found = set()
    for gate in gates:
        element = scene.element(gate)
        if element.type not in ("switch", "source"):
            continue
        for guard in element.guards:
            found |= {variables[k].name for k, _ in guard.holds if not variables[k].numeric}
    return found - set(_FREE)


def _is_open(scene: Scene, link: _Link, answers: Answers) -> type_bool:
    """Where the contact is open and has volts on one side only."""
    a, b = scene.ends(link.gate)
    volts = [np.nan_to_num(answers.volts(node), nan=0.0) for node in (a, b)]
    apart = np.abs(volts[0] - volts[1]) >= _HALF * scene.vehicle.system_v
    found: type_bool = apart & ~acting(answers, link.gate)
    return found


def _none_open(scene: Scene, links: Sequence[_Link], firing: Sequence[Firing], answers: Answers) -> type_bool:
    closed = np.ones(answers.count, bool)
    for link in links:
        if any(one in link.firing for one in firing):
            closed &= ~_is_open(scene, link, answers)
    return closed


# the three questions


def _link_watch(scene: Scene, joined: Joined, link: _Link) -> Watch:
    gates = frozenset().union(*(one.rests.gates for one in link.firing))

    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        hit = _asked(scene, answers, gates)
        if hit.any():
            hit &= _is_open(scene, link, answers)
        if hit.any():
            hit &= ~np.logical_and.reduce([one.works(answers) for one in link.firing])
        return hit, _plainest(answers)

    branches = _branches(scene, joined, link)
    first = branches[0] if branches else ()
    point = scene.name_of(link.node)
    guard = next((p for p in first if p in scene.parts and scene.kind(p).duty == "protection"), None)
    wires = wires_only(scene, first)
    towards = _wire_after(first, guard, scene) if guard else wires[-1:]
    contact = scene.element(link.gate).part
    names = _names(link.firing)
    hand = tuple(dict.fromkeys((*((guard,) if guard else ()), *towards, contact)))[:4]
    touched = dict.fromkeys((*(place for branch in branches for place in branch), *names, contact))
    return Watch(
        rule="KEY-3",
        severity="fault",
        at=hand,
        touches=tuple(place for place in touched if place not in hand),
        label=f"{hand[0]} (feed from {point})",
        wrong=f"dead when the engine should fire, since {point} is: {', '.join(names[:4])} cannot work",
        broken=broken,
        mend=f"Feed it from a contact that is live in run and in start, not from {point}",
        path=wires_only(scene, reversed(first)),
    )


def _branches(scene: Scene, joined: Joined, link: _Link) -> list[tuple[str, ...]]:
    """The ways inside the dead net from everything that rests on the contact to it, what the engine needs first."""
    arrays = scene.compiled.arrays
    nodes = [one.node for one in link.firing if one.net == link.side]
    for one in link.firing:
        for gate in one.rests.gates - {link.gate}:
            nodes.extend(node for node in scene.ends(gate) if joined.net_of[node] == link.side)
        for device in one.rests.devices:
            for sense in range(arrays.sense_ptr[device], arrays.sense_ptr[device + 1]):
                element = int(arrays.sense_element[sense])
                ends = scene.ends(element) if element >= 0 else (int(arrays.sense_a[sense]),)
                nodes.extend(node for node in ends if joined.net_of[node] == link.side)
    found = (places_between(scene, joined, node, {link.node}) for node in dict.fromkeys(nodes))
    return [branch for branch in found if branch]


def _wire_after(branch: Sequence[str], guard: str, scene: Scene) -> tuple[str, ...]:
    """The wire that leaves a fuse towards the contact."""
    after = branch[branch.index(guard) + 1 :]
    return wires_only(scene, after)[:1]


def _names(firing: Iterable[Firing]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(one.part for one in firing))


def _feed_watch(scene: Scene, ways: Ways, group: tuple[Firing, ...], links: Sequence[_Link]) -> Watch:
    gates = frozenset().union(*(one.rests.gates for one in group))
    one = group[0]
    controllers = {d for each in group for d in each.rests.devices if scene.compiled.network.devices[d].what == "alive"}

    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        hit = _asked(scene, answers, gates)
        if hit.any():
            hit &= ~np.logical_and.reduce([each.works(answers) for each in group]) & ~one.fed(answers)
        if hit.any():
            hit &= _none_open(scene, links, group, answers)
            for device in controllers - {one.device}:
                hit &= answers.on(device)
        return hit, _plainest(answers)

    names = _names(group)
    reach = names_of(scene, ways.region(one.node).elements())
    point = scene.name_of(one.node)
    wires = tuple(wire.id for wire in scene.wires_at.get(point, ()))
    return Watch(
        rule="KEY-3",
        severity="fault",
        at=tuple(dict.fromkeys((*wires[:1], *names)))[:4],
        touches=tuple(dict.fromkeys((*wires, *names, *reach, *_parts(scene, gates)))),
        label=f"{one.part} ({scene.title(one.part)})",
        wrong=f"has no feed at {point} when the engine should fire",
        broken=broken,
        mend=f"Look for the wire, fuse or relay that should feed {point}, and measure along it",
    )


def _drive_watch(scene: Scene, one: Firing, links: Sequence[_Link]) -> Watch:
    controllers = [d for d in one.rests.devices if scene.compiled.network.devices[d].what == "alive"]

    def broken(answers: Answers) -> tuple[type_bool, type_float]:
        hit = _asked(scene, answers, one.rests.gates)
        if hit.any():
            hit &= ~one.works(answers) & one.fed(answers)
        if hit.any():
            hit &= _none_open(scene, links, (one,), answers)
            for device in controllers:
                hit &= answers.on(device)
        return hit, np.abs(answers.batch.amps[:, list(one.elements)].sum(axis=1))

    a, b = scene.ends(one.elements[0])
    back = scene.name_of(b if one.node == a else a)
    wires = tuple(wire.id for wire in scene.wires_at.get(back, ()))
    return Watch(
        rule="KEY-3",
        severity="fault",
        at=tuple(dict.fromkeys((*wires[:1], one.part)))[:4],
        touches=tuple(dict.fromkeys((*wires, one.part, *_parts(scene, one.rests.gates)))),
        label=f"{one.part} ({scene.title(one.part)})",
        wrong="is fed and not driven when the engine should fire",
        broken=broken,
        allowed=constant("fires_frac") * one.rated_a,
        unit="A",
        mend=f"Follow {back} to its driver or its earth, and look at when the drive is on",
    )


def _parts(scene: Scene, gates: Iterable[int]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(scene.element(gate).part for gate in sorted(gates)))
