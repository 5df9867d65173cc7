"""Is a second battery joined to the first while nothing charges? SUP-4.

A relay that parts two batteries is there so that what hangs on the second cannot flatten the first, and so that the
starter draws on the first alone. It may be in only while the engine turns and its coil, on D+ or by the volts, sees
that something charges.

    asked    every state with the engine not turning by itself, and with every switch at rest that works the relay: one
             that somebody closes to start from both is meant
    broken   a row of relay contacts, one to three, between the live posts is closed
    severity a fault with the key at rest, else a warning

Batteries that only wires and fuses join are one battery to the car, and a hand's switch between them is the hand's
business: neither is asked.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from loomwright.findings import Severity
from loomwright.network.records import Law
from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.gate_ways import acting
from loomwright.states.paths.joined import Joined, joined_of
from loomwright.states.paths.supply_cells import live_post_of, string_cells
from loomwright.states.paths.tracing import Ways, ways_of
from loomwright.states.rules.bridges import first_four
from loomwright.states.rules.lamps import at_rest
from loomwright.states.rules.wrong_feeds import taken_off

__all__ = ["second_battery_watches"]

_MOST_CONTACTS = 3
_NOT_OWN = ("key", "engine", "selector", "battery", "phase", "unplugged")
_WITH_KEY_OFF = 1.0
"""The figure of a state with the key at rest, which is worse than one with it on [-]."""


def second_battery_watches(scene: Scene) -> Iterator[Watch]:
    """One question a row of contacts between the first battery and another."""
    first = live_post_of(scene)
    others = _other_posts(scene)
    if first < 0 or not others:
        return
    joined, ways = joined_of(scene), ways_of(scene)
    for part, node in others:
        for contacts in _rows(scene, joined, joined.net_of[node], joined.net_of[first]):
            yield _watch(ways, part, contacts)


def _other_posts(scene: Scene) -> list[tuple[str, int]]:
    """Batteries beside those that feed the car, with the node of their live post."""
    own = string_cells(scene)
    sign = scene.vehicle.live_sign
    return [
        (element.part, scene.ends(k)[0 if sign > 0 else 1])
        for k, element in enumerate(scene.compiled.network.elements)
        if element.law == Law.BATTERY and k not in own and element.part in scene.parts
    ]


def _rows(scene: Scene, joined: Joined, start: int, goal: int) -> Iterator[tuple[int, ...]]:
    """Rows of relay contacts from one net to another, shortest first."""
    rows: list[tuple[tuple[int, ...], tuple[int, ...]]] = [((start,), ())]
    if start == goal:
        return
    for nets, contacts in rows:
        for gate in joined.gates[nets[-1]]:
            is_contact = gate.other >= 0 and scene.element(gate.element).type == "contact"
            if not is_contact or gate.other in nets:
                continue
            if gate.other == goal:
                yield (*contacts, gate.element)
            elif len(contacts) + 1 < _MOST_CONTACTS and gate.other not in joined.live | joined.earth:
                rows.append(((*nets, gate.other), (*contacts, gate.element)))


def _watch(ways: Ways, part: str, contacts: tuple[int, ...]) -> Watch:
    scene = ways.scene
    relays = tuple(dict.fromkeys(scene.element(k).part for k in contacts))
    coil = _live_coil_end(ways, contacts)
    wires = () if coil is None else tuple(wire.id for wire in scene.wires_at.get(scene.name_of(coil), ()))
    first = scene.element(string_cells(scene)[-1]).part
    trial = None if coil is None else taken_off(ways, coil)
    variables = scene.compiled.network.variables
    own = tuple(
        k for k in sorted(scene.cones.of(contacts)) if variables[k].name not in _NOT_OWN and not variables[k].numeric
    )
    return Watch(
        rule="SUP-4",
        severity="fault",
        at=first_four((relays[0], *wires, part)),
        touches=tuple(dict.fromkeys((*relays, *wires, part, first))),
        label=f"{relays[0]} ({scene.title(relays[0])})",
        wrong="",
        wrong_of=partial(_words, part, first),
        severity_of=_severity,
        broken=partial(_joined, contacts, own),
        mend=_mend(scene, wires, contacts),
        source="common-practice",
        trial=trial,
        root=trial is not None,
        root_from=_WITH_KEY_OFF,
        worst=True,
    )


def _joined(contacts: tuple[int, ...], own: tuple[int, ...], answers: Answers) -> tuple[type_bool, type_float]:
    hit = ~answers.turning() & at_rest(own, answers)
    for contact in contacts:
        hit &= acting(answers, contact)
    return hit, np.where(answers.at_rest("key"), _WITH_KEY_OFF, 0.0)


def _severity(found: float) -> Severity:
    return "fault" if found >= _WITH_KEY_OFF else "warning"


def _words(second: str, first: str, found: float) -> str:
    if found >= _WITH_KEY_OFF:
        return f"joins {second} to {first} while nothing charges: what hangs on {second} flattens {first} too"
    return f"joins {second} to {first} before anything charges: the starter draws on both, over the cable between them"


def _live_coil_end(ways: Ways, contacts: tuple[int, ...]) -> int | None:
    """The end of the first relay's coil that leads to a supply."""
    scene = ways.scene
    for contact in contacts:
        for device, _ in scene.element(contact).needs:
            for sense in scene.compiled.network.devices[device].senses:
                ends = scene.ends(sense.element) if sense.element >= 0 else ()
                live = [node for node in ends if ways.side(node) in ("plus", "both")]
                if live:
                    return live[0]
    return None


def _mend(scene: Scene, wires: tuple[str, ...], contacts: tuple[int, ...]) -> str:
    """Where its coil belongs; of one that hangs there already, that it holds by what is left at that point."""
    ends, relay = _coil_ends(scene, contacts), scene.element(contacts[0]).part
    other = f"a relay_by_volts in place of {relay}"
    for part in scene.parts.values():
        for terminal in ("D+", "L") if part.kind == "alternator" else ():
            node = scene.compiled.node_of.get(f"{part.id}.{terminal}", -1)
            if node >= 0 and not ends.isdisjoint(_along_wires(scene, node)):
                at = f"{part.id}.{terminal}"
                return (
                    f"{relay} hangs on {at} and holds by the volts left there: fit one that lets go at more, or {other}"
                )
    return f"{_moved(wires)} {_charging_point(scene)}; or fit {other}"


def _coil_ends(scene: Scene, contacts: tuple[int, ...]) -> frozenset[int]:
    """Both ends of the coils that move some contacts."""
    devices = (scene.compiled.network.devices[device] for k in contacts for device, _ in scene.element(k).needs)
    senses = (sense.element for device in devices for sense in device.senses if sense.element >= 0)
    return frozenset(node for k in senses for node in scene.ends(k))


def _along_wires(scene: Scene, start: int) -> frozenset[int]:
    """The nodes that wires alone join to one."""
    found = [start]
    for node in found:
        for wire in scene.wires_at.get(scene.name_of(node), ()):
            for k in scene.compiled.elements_of.get(wire.id, ()):
                found += [other for other in scene.ends(k) if other not in found]
    return frozenset(found)


def _moved(wires: tuple[str, ...]) -> str:
    return f"Move {wires[0]}, which feeds its coil," if len(wires) == 1 else "Move the feed of its coil"


def _charging_point(scene: Scene) -> str:
    """Where a coil sees that something charges."""
    for part in scene.parts.values():
        for terminal in ("D+", "L"):
            if part.kind == "alternator" and f"{part.id}.{terminal}" in scene.wires_at:
                return f"to {part.id}.{terminal}, which is live while it charges"
    return "to a point that is live only while something charges"
