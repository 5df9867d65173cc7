"""By which ways other than its own contact could a supply come alive?

A *supply* here is a net that a contact feeds and nothing earths: what hangs on terminal 15 of the key, behind the main
relay, on a controller's supply pins. Its own way is that contact. A *way in* is something at its border that uses
current elsewhere and could bring some here: a lamp to the alternator's D+, a relay coil whose other end is fed, the
diodes inside a controller's outputs; for a key switch's terminals, any other contact too.

A way in *rules* in a state where the supply's own contacts bring it nothing and it brings the most; the supply is
*awake* where it is live, or where a relay or a controller that hangs on it works. Volts that a cold lamp lets through
into a loaded supply wake nothing and are not told.

In: a `Scene` and its `Joined`. Out: `WayIn` records, which hold no answers. Method: every element at the border of the
net, less those that end at earth and those whose far side no source can ever reach.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.paths.gate_ways import acting, is_earthed, is_fed, leads
from loomwright.states.paths.joined import SOURCE, Gate, Joined, places_between
from loomwright.states.paths.way_in_places import way_in_places
from loomwright.tables.constants import constant

__all__ = ["WayIn", "ways_in"]

_LEAST_A = 1e-3
_PIN_WAYS = (".body_high", ".body", ".recirculation")
_NO_WAYS = ("capacitor", "battery")
_MINDED = ("relay", "alive", "key_input")
_KEY_TERMINALS = ("15", "50", "15x")

Flow = tuple[int, int]
"""An element and its sense: 1 where its current counts into the net as it stands, -1 where it is to be turned."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WayIn:
    """One way into a supply. net: the supply. node: where its volts are read. terminal: its name, as printed.

    own: its own contacts. flows: the way in. rivals: everything else that could bring current, its contacts apart.
    contacts: the flows of its contacts. devices: relays and controllers that hang on it.
    strict: no other contact may feed it either. part: what the way in leads through. at, touches: places, hand first.
    lamp: the way in is an alternator's charge lamp. far: nets beyond.
    """

    net: int
    node: int
    terminal: str
    own: tuple[int, ...]
    flows: tuple[Flow, ...]
    rivals: tuple[Flow, ...]
    contacts: tuple[Flow, ...]
    devices: tuple[int, ...]
    strict: bool
    part: str
    at: tuple[str, ...]
    touches: tuple[str, ...]
    lamp: bool
    live_v: float

    def amps(self, answers: Answers) -> type_float:
        """Current into the supply this way. [A]"""
        found: type_float = _inflow(answers, self.flows).sum(axis=0)
        return found

    def volts(self, answers: Answers) -> type_float:
        """Size of the supply's volts, nothing where it floats. [V]"""
        return np.nan_to_num(np.abs(answers.volts(self.node)), nan=0.0)

    def rules(self, answers: Answers) -> type_bool:
        """Where nothing else brings the supply more and its own contacts bring it nothing."""
        amps = self.amps(answers)
        hit = amps > _LEAST_A
        if not hit.any():
            return hit
        hit &= _inflow(answers, self.rivals).max(axis=0, initial=0.0) <= amps
        if self.strict:
            for contact in self.own:
                hit &= ~acting(answers, contact)
            return hit
        hit &= _inflow(answers, self.contacts).sum(axis=0) < amps
        return hit

    def awake(self, answers: Answers) -> type_bool:
        """Where the supply is live, or something that hangs on it works."""
        volts = self.volts(answers)
        on = volts >= self.live_v
        for device in self.devices:
            on |= answers.on(device) & (volts > constant("dead_v"))
        return on


def ways_in(scene: Scene, joined: Joined) -> tuple[WayIn, ...]:
    """Every way into every supply, in order of net."""
    found: list[WayIn] = []
    controllers = _supply_nets(scene, joined)
    lamps = _lamp_nets(scene, joined)
    for net in range(len(joined.nodes)):
        if net in joined.live or net in joined.earth or net in joined.stars:
            continue
        fed = is_fed(scene, joined, net) and not is_earthed(scene, joined, net)
        if fed or net in controllers:
            found.extend(_of_net(scene, joined, net, controllers, lamps))
    return tuple(found)


def _of_net(scene: Scene, joined: Joined, net: int, controllers: frozenset[int], lamps: frozenset[int]) -> list[WayIn]:
    gates = [gate for gate in joined.gates[net] if gate.other not in joined.earth]
    feeding = [gate for gate in gates if not gate.series and leads(scene, joined, net, gate, "live")]
    key = {gate.element for gate in feeding if _is_key(scene, gate)}
    contacts = [gate.element for gate in gates if not gate.series]
    if net not in controllers and all(scene.element(gate.element).type == "pin" for gate in feeding):
        return []
    groups: dict[str, list[int]] = {}
    for k in joined.border[net]:
        if _can_bring(scene, joined, net, k, key, {gate.element: gate for gate in gates}):
            groups.setdefault(scene.element(k).part, []).append(k)
    every = [k for many in groups.values() for k in many]
    found = []
    for part, elements in groups.items():
        own = tuple(sorted(key)) if key else tuple(gate.element for gate in feeding)
        found.append(_way_in(scene, joined, net, part, elements, own, every, contacts, bool(key), lamps))
    found.extend(_of_key(scene, joined, net, [gate for gate in feeding if gate.element in key], every, lamps))
    return found


def _of_key(
    scene: Scene, joined: Joined, net: int, gates: list[Gate], every: list[int], lamps: frozenset[int]
) -> list[WayIn]:
    """Two terminals of the key joined by wires: each is live by the other's contact."""
    by_terminal: dict[str, list[int]] = {}
    for gate in gates:
        by_terminal.setdefault(_terminal(scene, joined, gate.element, net), []).append(gate.element)
    found = []
    for terminal, own in by_terminal.items():
        others = [k for name, many in by_terminal.items() if name != terminal for k in many]
        if others and terminal.rsplit(".", 1)[-1] in _KEY_TERMINALS:
            part = scene.element(own[0]).part
            found.append(_way_in(scene, joined, net, part, others, tuple(own), every, [], True, lamps))
    return found


def _way_in(
    scene: Scene,
    joined: Joined,
    net: int,
    part: str,
    elements: list[int],
    own: tuple[int, ...],
    every: list[int],
    contacts: list[int],
    strict: bool,
    lamps: frozenset[int],
) -> WayIn:
    entry = _end_in(scene, joined, elements[0], net)
    ends = [_end_in(scene, joined, k, net) for k in own] or [entry]
    inside = places_between(scene, joined, entry, ends)
    at, touches = way_in_places(scene, joined, net, part, elements, inside)
    return WayIn(
        net=net,
        node=ends[0],
        terminal=scene.name_of(ends[0]),
        own=own,
        flows=_flows(scene, joined, net, elements),
        rivals=_flows(scene, joined, net, [k for k in every if k not in elements]),
        contacts=_flows(scene, joined, net, contacts),
        devices=_devices(scene, joined, net),
        strict=strict,
        part=part,
        at=at,
        touches=touches,
        lamp=any(far in lamps for k in elements for far in joined.nets(scene, k)),
        live_v=_least_v(scene, joined, net),
    )


def _can_bring(scene: Scene, joined: Joined, net: int, k: int, key: set[int], gates: Mapping[int, Gate]) -> bool:
    """Whether an element at the border could bring current that is not the supply's own."""
    element = scene.element(k)
    a, b = joined.nets(scene, k)
    far = b if a == net else a
    if k in key or far in joined.earth or element.type in _NO_WAYS:
        return False
    if (element.type == "diode" or element.name.endswith(_PIN_WAYS)) and (joined.polarity > 0) != (b == net):
        return False
    gate = gates.get(k)
    if gate is not None and gate.inward is None:
        # another contact may feed a relay's or a lamp switch's output, but never a terminal of the key
        return bool(key) and not gate.series and leads(scene, joined, net, gate, "live")
    if gate is not None and not key:
        return False
    if element.type == "pin" and (far in joined.stars or not element.name.endswith(_PIN_WAYS)):
        return False
    if element.type != "pin" and _is_starter(scene, element.part):
        return False
    return _can_be_live(scene, joined, far, net)


def _can_be_live(scene: Scene, joined: Joined, far: int, net: int) -> bool:
    """Whether any source could reach a net without passing the supply or earth."""
    closed = joined.earth | joined.stars | {net}
    seen = {far}
    waiting = deque(seen)
    while waiting:
        here = waiting.popleft()
        if here in joined.live:
            return True
        for k in joined.border[here]:
            element = scene.element(k)
            if element.type in ("alternator", "trio") or (element.type == "source" and element.part):
                return True
            if element.type == "pin" and not element.name.endswith((*_PIN_WAYS, ".drive")):
                continue
            a, b = joined.nets(scene, k)
            other = a if b == here else b
            if element.type == "diode" and (joined.polarity > 0) != (b == here):
                continue
            if other not in seen and other not in closed:
                seen.add(other)
                waiting.append(other)
    return False


def _is_starter(scene: Scene, part: str) -> bool:
    return any(scene.element(k).type == "starter_motor" for k in scene.elements_of.get(part, ()))


def _is_key(scene: Scene, gate: Gate) -> bool:
    element = scene.element(gate.element)
    if element.type != "switch" or gate.series or gate.other == SOURCE:
        return False
    return scene.kind(element.part).variable == "key"


def _end_in(scene: Scene, joined: Joined, k: int, net: int) -> int:
    a, b = scene.ends(k)
    return a if joined.net_of[a] == net else b


def _terminal(scene: Scene, joined: Joined, k: int, net: int) -> str:
    return scene.name_of(_end_in(scene, joined, k, net))


def _flows(scene: Scene, joined: Joined, net: int, elements: Iterable[int]) -> tuple[Flow, ...]:
    flows = []
    for k in elements:
        a, b = joined.nets(scene, k)
        if a != b:
            flows.append((k, joined.polarity if b == net else -joined.polarity))
    return tuple(flows)


def _inflow(answers: Answers, flows: tuple[Flow, ...]) -> type_float:
    """Current each flow brings, nothing where it takes. [A]"""
    if not flows:
        return np.zeros((1, answers.count))
    amps = answers.batch.amps[:, [k for k, _ in flows]] * np.array([sense for _, sense in flows], float)
    found: type_float = np.maximum(amps, 0.0).T
    return found


def _devices(scene: Scene, joined: Joined, net: int) -> tuple[int, ...]:
    """Relays whose coil and controllers whose pins hang on the net."""
    arrays = scene.compiled.arrays
    found = []
    for device, what in enumerate(scene.compiled.network.devices):
        if what.what not in _MINDED:
            continue
        for sense in range(arrays.sense_ptr[device], arrays.sense_ptr[device + 1]):
            element = int(arrays.sense_element[sense])
            ends = scene.ends(element) if element >= 0 else (int(arrays.sense_a[sense]), int(arrays.sense_b[sense]))
            if net in {joined.net_of[end] for end in ends} and device not in found:
                found.append(device)
    return tuple(found)


def _least_v(scene: Scene, joined: Joined, net: int) -> float:
    """Volts from which a supply is alive: live, or enough for a controller on it to go on working. [V]"""
    least = constant("live_frac") * scene.vehicle.system_v
    arrays, devices = scene.compiled.arrays, scene.compiled.network.devices
    for device in _devices(scene, joined, net):
        if devices[device].what == "alive":
            first = int(arrays.sense_ptr[device])
            if joined.net_of[int(arrays.sense_a[first])] == net:
                least = min(least, float(arrays.sense_off[first]))
    return least


def _supply_nets(scene: Scene, joined: Joined) -> frozenset[int]:
    elements = scene.compiled.network.elements
    pins = (k for k, e in enumerate(elements) if e.type == "pin" and e.name.endswith(".draw"))
    return frozenset(joined.net_of[scene.ends(k)[0]] for k in pins)


def _lamp_nets(scene: Scene, joined: Joined) -> frozenset[int]:
    """The nets of alternators' D+: what the trio feeds."""
    elements = scene.compiled.network.elements
    return frozenset(joined.net_of[scene.ends(k)[1]] for k, e in enumerate(elements) if e.type == "trio")
